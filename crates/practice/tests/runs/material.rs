//! What is played when.

use crate::{BLUES, blues, eighths, harp, ways};
use layout::{Harp, HarpKey, TabStyle};
use practice::run::{
    FormRun, Ladder, Material, MaterialError, Metre, Rhythm, ScaleRun, Shape, Swing, Tempi, Tempo, Value,
};
use theory::{Ability, FirstScale, Level, Position, ScaleInKey, Scales};

#[test]
fn notes_lie_on_the_beat() {
    let harp = harp("C");
    let asked = blues(&harp, 80.0).asked(&harp);
    // Eighths at 80 a minute are 0.375 s apart, and thirteen of them reach into the second bar.
    assert!(asked.iter().enumerate().all(|(i, note)| (note.onset_s - 0.375 * i as f64).abs() < 1e-9));
    assert_eq!((asked[7].bar, asked[8].bar), (0, 1));
    assert!((asked[12].length_s - 1.5).abs() < 1e-9, "the last note is held to the end of its bar");
    assert_eq!(blues(&harp, 80.0).bars(), 2);
}

#[test]
fn swung_eighths_divide_the_beat_as_said() {
    let rhythm = |ratio| {
        Rhythm::new(Tempo::new(60.0).unwrap(), Metre::COMMON, Value::EIGHTHS, Swing::new(ratio).unwrap())
            .unwrap()
    };
    // Two to one is a triplet's two thirds; a tick is a 24th of a beat.
    for (ratio, second) in [(1.0, 0.5), (2.0, 2.0 / 3.0), (3.0, 0.75)] {
        let rhythm = rhythm(ratio);
        assert!((rhythm.seconds(12) - second).abs() < 1e-9, "{ratio}");
        assert!((rhythm.seconds(24) - 1.0).abs() < 1e-9 && (rhythm.seconds(36) - 1.0 - second).abs() < 1e-9);
        // A sixteenth divides its eighth in the middle, the long one and the short one; triplets are as they are.
        assert!((rhythm.seconds(6) - second / 2.0).abs() < 1e-9, "{ratio}");
        assert!((rhythm.seconds(42) - 1.0 - f64::midpoint(1.0, second)).abs() < 1e-9, "{ratio}");
        assert!(
            (rhythm.seconds(8) - 1.0 / 3.0).abs() < 1e-9 && (rhythm.seconds(40) - 5.0 / 3.0).abs() < 1e-9
        );
    }
    let triplets: Value = "triplets".parse().unwrap();
    assert!(
        Rhythm::new(Tempo::new(60.0).unwrap(), Metre::COMMON, triplets, Swing::new(2.0).unwrap()).is_err()
    );
}

#[test]
fn a_compound_metre_has_dotted_beats() {
    let rhythm =
        Rhythm::new(Tempo::new(60.0).unwrap(), "12/8".parse().unwrap(), Value::EIGHTHS, Swing::STRAIGHT)
            .unwrap();
    // Three eighths a beat, four beats a bar.
    assert!((rhythm.bar_s() - 4.0).abs() < 1e-9 && (rhythm.seconds(36) - 1.0).abs() < 1e-9);
}

#[test]
fn what_is_none_is_refused_with_what_there_is() {
    for (mistake, part) in [
        ("29".parse::<Tempo>().unwrap_err().to_string(), "30 to 240"),
        ("NaN".parse::<Tempo>().unwrap_err().to_string(), "30 to 240"),
        ("x".parse::<Tempo>().unwrap_err().to_string(), "no number"),
        ("7/8".parse::<Metre>().unwrap_err().to_string(), "6/8"),
        ("crotchets".parse::<Value>().unwrap_err().to_string(), "quarters"),
        ("4:1".parse::<Swing>().unwrap_err().to_string(), "1 (straight) to 3"),
        ("sideways".parse::<Shape>().unwrap_err().to_string(), "thirds"),
    ] {
        assert!(mistake.contains(part), "{mistake}");
    }
    let harp = harp("C");
    let long: Vec<_> = ways(&harp, BLUES).into_iter().cycle().take(80_000).collect();
    assert_eq!(
        Material::of_ways(String::new(), &long, eighths(80.0)),
        Err(MaterialError::TooLong(10_000, 64))
    );
    assert_eq!(Material::of_ways(String::new(), &[], eighths(80.0)), Err(MaterialError::Nothing));
}

fn run(position: u8, scale: &str, shape: &str, level: Level) -> String {
    let harp = harp("C");
    let scale = Scales::ours().find(scale).unwrap().clone();
    let key = ScaleInKey::in_position(scale, &harp, Position::new(position).unwrap());
    let ability = Ability::new(level);
    let run = ScaleRun { key: &key, shape: shape.parse().unwrap(), range: None, ability: &ability, seed: 3 };
    let tab: Vec<String> = run.ways(&harp).iter().map(|way| TabStyle::default().print(*way)).collect();
    tab.join(" ")
}

/// Rows of the facts tables: the blues of the second position low, Mixolydian there, and the major scale of the middle
/// octave of the first, which needs nothing (computed from the layout; also common practice, no source).
#[test]
fn scales_run_through_the_octave_that_costs_least() {
    assert_eq!(run(2, "blues", "up-and-down", Level::DrawBends), BLUES);
    assert_eq!(run(1, "major", "up", Level::Plain), "4 -4 5 -5 6 -6 -7 7");
    assert_eq!(run(3, "Dorian", "down", Level::Plain), "-8 7 -7 -6 6 -5 5 -4");
    // Its low octave has one bend, -3'' ; the high one has none.
    assert_eq!(run(2, "major pentatonic", "up", Level::DrawBends), "6 -6 -7 -8 8 9");
}

#[test]
fn shapes_are_what_they_say() {
    assert_eq!(run(1, "major", "thirds", Level::Plain), "4 5 -4 -5 5 6 -5 -6 6 -7 -6 7 4");
    assert_eq!(run(1, "major", "broken chords", Level::Plain), "4 5 6 -4 -5 -6 5 6 -7 -5 -6 7 4");
    assert!(run(1, "major", "threes", Level::Plain).starts_with("4 -4 5 -4 5 -5 5 -5 6"));
    assert!(run(1, "major", "fours", Level::Plain).starts_with("4 -4 5 -5 -4 5 -5 6"));
    let walk = run(1, "major", "random walk", Level::Plain);
    assert_eq!(walk, run(1, "major", "random walk", Level::Plain), "the same seed walks the same way");
    assert_eq!((walk.split(' ').count(), walk.starts_with("4 "), walk.ends_with(" 4")), (32, true, true));
}

#[test]
fn a_melodic_minor_comes_down_by_its_own_notes() {
    let run = run(4, "melodic minor", "up-and-down", Level::Bends);
    let notes: Vec<&str> = run.split(' ').collect();
    // Up by the major sixth and seventh of A (F♯, G♯), down by the natural ones.
    assert_ne!(notes.iter().rev().copied().collect::<Vec<_>>(), notes, "{run}");
}

#[test]
fn the_ladder_goes_by_clean_runs() {
    let tempo = Tempo::new(80.0).unwrap();
    let mut ladder = Ladder::default();
    assert_eq!(ladder.next(tempo), tempo);
    ladder.note(tempo, true);
    assert_eq!((ladder.next(tempo), ladder.clean_bpm()), (tempo, None), "one clean run is no habit");
    ladder.note(tempo, true);
    assert_eq!((ladder.next(tempo).bpm(), ladder.clean_bpm()), (84.0, Some(80.0)));
    let faster = ladder.next(tempo);
    for clean in [false, false] {
        ladder.note(faster, clean);
    }
    assert_eq!((ladder.next(faster).bpm(), ladder.clean_bpm()), (80.0, Some(80.0)));
    assert!(!ladder.is_tired());
    for _ in 0..4 {
        ladder.note(faster, false);
    }
    assert!(ladder.is_tired());
    assert_eq!("in-turn".parse(), Ok(Tempi::InTurn));
    assert!("up".parse::<Tempi>().unwrap_err().to_string().contains("steps, in-turn"));
    assert_eq!(Tempo::new(238.0).unwrap().plus(4.0).bpm(), 240.0);
}

/// Worked out by hand: the longest step that divides both the beat and the note.
#[test]
fn every_beat_and_every_note_begins_a_step() {
    for (metre, value, steps_of_beat) in [
        ("4/4", "eighths", 2),
        ("4/4", "whole notes", 1),
        ("3/4", "halves", 1),
        ("4/4", "quarter triplets", 3),
        ("5/4", "sixteenth triplets", 6),
        ("6/8", "eighths", 3),
        ("6/8", "quarters", 3),
        ("12/8", "sixteenths", 6),
    ] {
        let tempo = Tempo::new(60.0).unwrap();
        let rhythm =
            Rhythm::new(tempo, metre.parse().unwrap(), value.parse().unwrap(), Swing::STRAIGHT).unwrap();
        assert_eq!(rhythm.steps_of_beat(), steps_of_beat, "{value} in {metre}");
        // At 60 beats a minute a beat lasts a second.
        assert!((rhythm.step_s(7 * steps_of_beat) - 7.0).abs() < 1e-9);
    }
}

/// The notes of the chords are those that every textbook gives: G7 is G B D F, C7 is C E G B♭, D7 is D F♯ A C.
#[test]
fn a_form_gives_each_bar_the_notes_of_its_chord() {
    let harp = harp("C");
    let scale = Scales::ours().find("mixolydian").unwrap().clone();
    let key = ScaleInKey::in_position(scale, &harp, Position::new(2).unwrap());
    let progressions = theory::Progressions::ours();
    let form = progressions.find("twelve-bar").unwrap();
    let ability = Ability::new(Level::DrawBends);
    let run = FormRun { key: &key, form, range: None, ability: &ability };
    let material = run.material(&harp, eighths(90.0)).unwrap();
    let name = &material.name;
    assert_eq!(name.title, "twelve-bar in G, chord by chord");
    assert_eq!(name.kept_as, "twelve-bar in 2nd position, chord by chord");
    assert_eq!((material.bars(), material.notes().len()), (12, 96));
    let tones = |symbol: &str| match symbol {
        "G7" => [7, 11, 2, 5],
        "C7" => [0, 4, 7, 10],
        "D7" => [2, 6, 9, 0],
        other => panic!("{other} is no chord of a twelve-bar form in G"),
    };
    let mut symbols = Vec::new();
    for bar in 0..12 {
        let chords: Vec<_> = material.chords_of_bar(bar).collect();
        assert_eq!(chords.len(), 1, "bar {bar}");
        let tones = tones(&chords[0].symbol);
        symbols.push(chords[0].numeral.clone());
        let asked = material.asked(&harp);
        let notes = asked.iter().filter(|note| note.bar == bar);
        let classes: Vec<u8> = notes.map(|note| note.note.midi() % 12).collect();
        assert_eq!(classes.len(), 8, "bar {bar}");
        assert!(classes.iter().all(|class| tones.contains(class)), "bar {bar}: {classes:?} of {tones:?}");
        // Broken, not repeated.
        assert!(classes.windows(2).all(|pair| pair[0] != pair[1]), "bar {bar}: {classes:?}");
        assert!(material.notes().iter().all(|note| ability.reaches(note.way)));
    }
    assert_eq!(symbols.join(" "), "I7 I7 I7 I7 IV7 IV7 I7 I7 V7 IV7 I7 V7");
    // From chord to chord the line takes the nearest note: never further than a third.
    let asked = material.asked(&harp);
    for (before, after) in asked.iter().zip(&asked[1..]).filter(|(before, after)| before.bar != after.bar) {
        let (before, after) = (before.note.midi(), after.note.midi());
        assert!(before.abs_diff(after) <= 4, "{before} to {after}");
    }
    let weak = material.only_bars(4..6).unwrap();
    assert_eq!(weak.chords_of_bar(0).next().unwrap().symbol, "C7");
}

#[test]
fn chords_share_a_bar_and_what_cannot_be_played_is_told_with_its_bar() {
    let harp = harp("C");
    let scale = Scales::ours().find("major").unwrap().clone();
    let key = ScaleInKey::in_position(scale, &harp, Position::new(1).unwrap());
    let form = theory::Progression::new("two", "I | IV V7").unwrap();
    let run = |level, range| {
        let ability = Ability::new(level);
        FormRun { key: &key, form: &form, range, ability: &ability }.material(&harp, eighths(90.0)).map(
            |material| material.asked(&harp).iter().map(|note| note.note.to_string()).collect::<Vec<_>>(),
        )
    };
    let notes = run(Level::Plain, None).unwrap().join(" ");
    let (first, second) = notes.split_at(notes.len() / 2);
    assert!(first.split_whitespace().all(|note| "CEG".contains(&note[..1])), "{notes}");
    let halves: Vec<&str> = second.split_whitespace().collect();
    assert!(halves[..4].iter().all(|note| "FAC".contains(&note[..1])), "{notes}");
    assert!(halves[4..].iter().all(|note| "GBDF".contains(&note[..1])), "{notes}");
    // From D4 to E4 there is a note of C major and none of F major.
    let range = Some(("D4".parse().unwrap(), "E4".parse().unwrap()));
    let error = run(Level::Plain, range).unwrap_err();
    assert_eq!(error, MaterialError::NoTone(2, "F".to_owned()), "{error}");
    assert!(error.to_string().starts_with("bar 2: no note of F"), "{error}");
    let long = theory::Progression::new("long", &vec!["I"; 10_000].join(" | ")).unwrap();
    let ability = Ability::new(Level::Plain);
    let run = FormRun { key: &key, form: &long, range: None, ability: &ability };
    assert_eq!(run.material(&harp, eighths(90.0)), Err(MaterialError::TooLong(10_000, 64)));
}

/// C major on a C harp, its chords by any theory primer: C is C E G, F is F A C.
fn over_chords(form: &str, (low, high): (&str, &str), metre: &str, value: &str) -> Material {
    let harp = harp("C");
    let key = ScaleInKey::in_position(
        Scales::ours().find("major").unwrap().clone(),
        &harp,
        Position::new(1).unwrap(),
    );
    let form = theory::Progression::new("x", form).unwrap();
    let range = Some((low.parse().unwrap(), high.parse().unwrap()));
    let rhythm = Rhythm::new(
        Tempo::new(60.0).unwrap(),
        metre.parse().unwrap(),
        value.parse().unwrap(),
        Swing::STRAIGHT,
    );
    let ability = Ability::new(Level::Plain);
    FormRun { key: &key, form: &form, range, ability: &ability }.material(&harp, rhythm.unwrap()).unwrap()
}

#[test]
fn a_line_over_chords_goes_to_the_nearest_note_of_the_new_chord_and_turns_for_it() {
    let notes = |range| {
        let material = over_chords("I | IV", range, "4/4", "quarters");
        let asked = material.asked(&harp("C"));
        asked.iter().map(|note| note.note.to_string()).collect::<Vec<_>>().join(" ")
    };
    // It has risen to C6. Of F major A5 lies three half steps below, F6 five above: it turns. At the end of the range
    // it turns again.
    assert_eq!(notes(("C5", "F6")), "C5 E5 G5 C6 A5 F5 C5 F5");
    // From G5 it is two half steps up to A5 and two down to F5: it goes on as it went.
    assert_eq!(notes(("G4", "C6")), "G4 C5 E5 G5 A5 C6 A5 F5");
    // Within a chord it goes on to the end of the range, although the note behind it is nearer.
    assert!(notes(("E5", "E6")).starts_with("E5 G5 C6 E6"));
}

#[test]
fn each_chord_stands_in_its_own_bar() {
    let material = over_chords("I IV | IV V | I", ("C5", "C6"), "4/4", "quarters");
    let symbols = |bar| material.chords_of_bar(bar).map(|chord| chord.symbol.clone()).collect::<Vec<_>>();
    assert_eq!((0..3).map(|bar| symbols(bar).join(" ")).collect::<Vec<_>>(), ["C F", "F G", "C"]);
    // The last two bars by themselves begin at once, and keep theirs.
    let last = material.only_bars(1..3).unwrap();
    let symbols = |bar| last.chords_of_bar(bar).map(|chord| chord.symbol.clone()).collect::<Vec<_>>();
    assert_eq!((0..3).map(|bar| symbols(bar).join(" ")).collect::<Vec<_>>(), ["F G", "C", ""]);
}

#[test]
fn a_note_ends_with_its_bar_at_the_latest() {
    // Halves in bars of three quarters: at 60 a minute two seconds and one.
    let material = over_chords("I | IV", ("C5", "C6"), "3/4", "halves");
    let asked = material.asked(&harp("C"));
    let times: Vec<(f64, f64)> = asked.iter().map(|note| (note.onset_s, note.length_s)).collect();
    assert_eq!(times, [(0.0, 2.0), (2.0, 1.0), (3.0, 2.0), (5.0, 1.0)]);
}

/// The first scale of each position that has one, on every key: an octave from home to home whose notes need no more
/// than is said: only the second position has bends, by a half step. The rows are computed from the layout; which scale
/// is the first is common practice, no source.
#[test]
fn the_first_scale_of_a_position_needs_few_bends() {
    let rows = [
        (1, "4 -4 5 -5 6 -6 -7 7", Level::Plain),
        (2, "-2 -3' 4 -4' -4 -5 6", Level::HalfSteps),
        (3, "-4 5 -5 6 -6 -7 7 -8", Level::Plain),
        (4, "-6 -7 7 -8 8 -9 9 -10", Level::Plain),
        (5, "5 6 -6 -7 -8 8", Level::Plain),
        (12, "-5 6 -6 7 -8 -9", Level::Plain),
    ];
    assert_eq!(FirstScale::all().count(), rows.len());
    for (first, (number, tab, needs)) in FirstScale::all().zip(rows) {
        assert_eq!(first.position().number(), number);
        for harp_key in HarpKey::all() {
            let harp = Harp::richter(harp_key);
            let scale = Scales::ours().find(first.scale).unwrap().clone();
            let key = ScaleInKey::in_position(scale, &harp, first.position());
            let (ability, range) = (Ability::new(needs), first.range(&harp));
            let run = ScaleRun { key: &key, shape: Shape::Up, range, ability: &ability, seed: 0 };
            let ways: Vec<String> =
                run.ways(&harp).iter().map(|way| TabStyle::default().print(*way)).collect();
            assert_eq!(ways.join(" "), tab, "{number} on {harp_key}");
        }
    }
    let solo = layout::Tunings::ours().find("solo").unwrap().tuning;
    let solo = Harp::new("C".parse().unwrap(), solo, layout::ConcertPitch::ISO);
    assert!(FirstScale::all().all(|first| first.range(&solo).is_none()));
    assert_eq!(FirstScale::of(Position::new(7).unwrap(), &harp("C")), None);
}

/// A tempo that is clean on one harp is clean on the others, so results are kept under a name without the key.
#[test]
fn runs_over_a_scale_are_kept_as_the_same_on_every_harp() {
    for (key, tonic) in [("C", "G"), ("Bb", "F"), ("D", "A")] {
        let harp = harp(key);
        let scale = Scales::ours().find("blues").unwrap().clone();
        let key = ScaleInKey::in_position(scale, &harp, Position::new(2).unwrap());
        let ability = Ability::new(Level::Everything);
        let run = ScaleRun { key: &key, shape: Shape::Both, range: None, ability: &ability, seed: 0 };
        let name = run.material(&harp, eighths(80.0)).unwrap().name;
        assert_eq!(name.title, format!("{tonic} blues, up and down"));
        assert_eq!(name.kept_as, "blues in 2nd position, up and down");
    }
}

#[test]
fn a_random_walk_goes_by_one_note_or_two_either_way_and_comes_home() {
    let harp = harp("C");
    let key = ScaleInKey::in_position(
        Scales::ours().find("blues").unwrap().clone(),
        &harp,
        Position::new(2).unwrap(),
    );
    let ability = Ability::new(Level::DrawBends);
    let walk = |shape: &str, seed| {
        let shape: Shape = shape.parse().unwrap();
        let run = ScaleRun { key: &key, shape, range: None, ability: &ability, seed };
        run.ways(&harp).into_iter().map(|way| harp.note(way).unwrap()).collect::<Vec<_>>()
    };
    let scale = walk("up", 0);
    let (mut up, mut down, mut by_two, mut by_home) = (0, 0, 0, 0);
    for seed in 0..20 {
        let places: Vec<usize> = walk("random walk", seed)
            .iter()
            .map(|note| scale.iter().position(|other| other == note).unwrap())
            .collect();
        assert_eq!((places.len(), places[0], *places.last().unwrap()), (32, 0, 0), "it ends where it began");
        by_home += usize::from(places[1..31].contains(&0));
        // The last step is the way home, however far that is.
        for pair in places[..31].windows(2) {
            assert!((1..=2).contains(&pair[0].abs_diff(pair[1])), "{places:?}");
            let inside = (2..scale.len() - 2).contains(&pair[0]);
            up += usize::from(inside && pair[1] > pair[0]);
            down += usize::from(inside && pair[1] < pair[0]);
            by_two += usize::from(inside && pair[0].abs_diff(pair[1]) == 2);
        }
    }
    // Up and down alike, and one note or two alike, where there is room for both.
    let all = (up + down) as f64;
    assert!(all > 200.0 && (0.4..0.6).contains(&(up as f64 / all)), "{up} {down}");
    assert!((0.4..0.6).contains(&(f64::from(by_two as u32) / all)), "{by_two} of {all}");
    assert!(by_home > 0, "the lowest note is not for the beginning and the end alone");
}

/// The tab of a run over the blues scale in G, from G4 up to a highest note.
fn within(shape: Shape, high: &str) -> Result<String, MaterialError> {
    let harp = harp("C");
    let scale = Scales::ours().find("blues").unwrap().clone();
    let key = ScaleInKey::in_position(scale, &harp, Position::new(2).unwrap());
    let range = Some(("G4".parse().unwrap(), high.parse().unwrap()));
    let ability = Ability::new(Level::DrawBends);
    let run =
        ScaleRun { key: &key, shape, range, ability: &ability, seed: 4 }.material(&harp, eighths(80.0))?;
    let tab: Vec<String> = run.notes().iter().map(|note| TabStyle::default().print(note.way)).collect();
    Ok(tab.join(" "))
}

#[test]
fn a_range_of_a_few_notes_is_walked_through_and_has_only_the_groups_that_fit() {
    // A walk turns at both ends; it has 32 notes, and comes by every note of the range.
    for (high, all) in [("A#4", &["-2", "-3'"][..]), ("C5", &["-2", "-3'", "4"])] {
        let walk = within(Shape::Walk, high).unwrap();
        let notes: Vec<&str> = walk.split(' ').collect();
        assert!(notes.len() == 32 && notes.iter().all(|note| all.contains(note)), "{walk}");
        assert!(all.iter().all(|note| notes.contains(note)), "{walk}");
    }
    // One note leads nowhere: home, and home again.
    assert_eq!(within(Shape::Walk, "G4").unwrap(), "-2 -2");
    // Three notes have one third, and two have none.
    assert_eq!(within(Shape::Thirds, "C5").unwrap(), "-2 4 -2");
    assert_eq!(within(Shape::Thirds, "A#4"), Err(MaterialError::Nothing));
}
