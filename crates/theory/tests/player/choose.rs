//! Choosing a harp and a position.

use crate::{SCALES, TUNINGS, harp, in_key, tuned, way};
use layout::{ConcertPitch, Harp, HarpKey, Note, PitchClass, TabStyle};
use proptest::prelude::*;
use theory::{
    Ability, Choice, Feel, Level, MISSING, Mastery, NoteName, Progressions, ScaleInKey, Song, TIE, choose,
    usual_harps,
};

/// The usual keys in the Richter tuning.
fn richter_harps() -> Vec<Harp> {
    HarpKey::usual_keys().map(Harp::richter).collect()
}

/// A mode costs least where it is the mode of the plain notes: modes of the positions, harmonica list archive, March
/// 2012, message 00904. For every song key.
#[test]
fn a_mode_is_cheapest_in_its_own_position() {
    for (mode, position) in [
        ("major", 1),
        ("Mixolydian", 2),
        ("Dorian", 3),
        ("natural minor", 4),
        ("Phrygian", 5),
        ("Locrian", 6),
        ("Lydian", 12),
    ] {
        for tonic in PitchClass::all() {
            let song = Song::new(ScaleInKey::new(SCALES.find(mode).unwrap().clone(), NoteName::usual(tonic)));
            for level in [Level::Plain, Level::DrawBends, Level::Everything] {
                let choices = choose(&song, &richter_harps(), &Ability::new(level));
                assert_eq!(choices[0].position.number(), position, "{mode} on {tonic}, {}", level.name());
                assert_eq!(choices[0].position.tonic(&choices[0].harp), tonic);
                assert_eq!(choices.len(), 12, "every harp has a place");
            }
        }
    }
}

#[test]
fn the_reasons_are_said_in_words() {
    let style = TabStyle::default();
    let reasons = |song: &Song, key: &str, ability: &Ability| {
        choose(song, &[harp(key)], ability)[0].reasons(&style).join("\n")
    };
    let ability = Ability::new(Level::DrawBends).with(way("-3'"), Mastery::Learning);
    let blues = Song { span: 12, ..Song::new(in_key("blues", "A")) };
    assert_eq!(
        reasons(&blues, "D", &ability),
        "7 of the 11 notes from B4 to B5 are natural notes\n\
         2 bends that the blues wants: -3' (♭3), -4' (♭5)\n\
         1 bend: -3'' (2)\n\
         still being learned: -3' (♭3)\n\
         out of reach: G♯5 (7)\n\
         the tonic is a natural note: -2 3 6 9\n\
         draw 1 to 4 sound I, which fits the chord of the tonic, I7\n\
         also under the mouth: IV on blow 1 to 10"
    );
    let plain = Ability::new(Level::Plain);
    for (song, key, ability, line) in [
        (
            &blues,
            "D",
            &plain,
            "the note above stands in for a blue note: -3 for C5 (♭3), -4 for E♭5 (♭5), -7 for C6 (♭3)",
        ),
        (&blues, "E♭", &Ability::new(Level::Everything), "the tonic has to be bent or overbent: -2' 5o 9'"),
        (&blues, "G", &plain, "draw 4 to 6 sound i, which clashes with the chord of the tonic, I7"),
        (
            &Song::new(in_key("natural minor", "A")),
            "G",
            &plain,
            "draw 4 to 6 sound i, which fits the chord of the tonic, i7",
        ),
        (
            &Song::new(in_key("natural minor", "A")),
            "D",
            &plain,
            "draw 1 to 4 sound I, which clashes with the chord of the tonic, i7",
        ),
        (
            &Song::new(in_key("natural minor", "A")),
            "C",
            &plain,
            "no neighbouring holes sound the chord of the tonic, i7",
        ),
        (&Song::new(in_key("natural minor", "A")), "G", &plain, "out of reach: F4 (♭6), F5 (♭6)"),
    ] {
        let reasons = reasons(song, key, ability);
        assert!(reasons.lines().any(|own| own == line), "{line}\n{reasons}");
    }
}

/// A choice says why it stands behind another, with what parts the two most as the first reason.
#[test]
fn a_choice_is_compared_with_another_in_words() {
    let style = TabStyle::default();
    let minor = choose(&Song::new(in_key("natural minor", "A")), &richter_harps(), &Ability::default());
    let second = minor.iter().find(|choice| choice.position.number() == 2).unwrap();
    let reasons = second.behind(&minor[0], &style);
    assert!(reasons[0].starts_with("its notes cost") && reasons[0].contains("♭6 (F)"), "{reasons:?}");
    assert_eq!(reasons[1], "draw 1 to 4 sound I, which clashes with the chord of the tonic, i7");
    assert!(minor[0].behind(second, &style).is_empty());
    let blues = choose(&Song::new(in_key("blues", "A")), &richter_harps(), &Ability::default());
    let first = blues.iter().find(|choice| choice.position.number() == 1).unwrap();
    let reasons = first.behind(&blues[0], &style).join("\n");
    assert!(reasons.contains("home lies worse: the tonic is a natural note: 1 4 7 10"), "{reasons}");
}

/// The harp that only custom puts first says so, and how near the other is.
#[test]
fn a_tie_is_said() {
    let first = |tuning: &str, song: &str, harps: Vec<Harp>| {
        let choices = choose(&Song::new(in_key(song, "A")), &harps, &Ability::default());
        let tie = choices[0].tie(&choices[1..]).map(|tie| (tie.by, tie.words(&choices[0])));
        assert_eq!(choices[0].harp.tuning().name(), tuning);
        tie
    };
    let in_every_key =
        |tuning: &'static str| HarpKey::usual_keys().map(move |key| tuned(&key.to_string(), tuning));
    // The augmented tuning repeats itself every four half steps, so three of its positions play alike.
    let (by, words) = first("augmented", "augmented", in_every_key("augmented").collect()).unwrap();
    assert!(by > 0.0 && by <= TIE, "{by}");
    assert!(
        words.contains(&format!("{by:.2} points behind the D♭ harp, augmented, 9th position;")),
        "{words}"
    );
    assert!(words.ends_with("and more players use the 1st position (common practice, no source)"), "{words}");
    assert_eq!(
        first("Richter", "blues", richter_harps()),
        None,
        "second position needs no custom for a blues"
    );
    let pentatonic =
        choose(&Song::new(in_key("major pentatonic", "A")), &richter_harps(), &Ability::default());
    let near: Vec<_> =
        pentatonic[0].nearly_tied(&pentatonic[1..]).map(|near| near.position.number()).collect();
    assert_eq!(near, [1], "the two positions of country music");
}

#[test]
fn other_tunings_are_weighed_too_and_richter_wins_a_tie() {
    let harps = usual_harps(&TUNINGS, ConcertPitch::ISO);
    assert_eq!(harps.len(), 12 * TUNINGS.iter().count());
    let ability = Ability::new(Level::DrawBends);
    let minor = choose(&Song::new(in_key("harmonic minor", "C")), &harps, &Ability::new(Level::Plain));
    assert_eq!(minor[0].title(), "C harp, harmonic minor, 1st position (straight)");
    // Country and major seventh differ from Richter in the 4 only, which the major pentatonic lacks.
    let pentatonic = Song::new(in_key("major pentatonic", "C"));
    let three = [tuned("C", "Richter"), tuned("C", "country"), tuned("C", "major seventh")];
    let choices = choose(&pentatonic, &three, &ability);
    let own = |choice: &Choice| choice.parts.notes + choice.parts.home + choice.parts.chords;
    assert!(choices.windows(2).all(|pair| own(&pair[0]) == own(&pair[1])));
    let order: Vec<&str> = choices.iter().map(|choice| choice.harp.tuning().name()).collect();
    assert_eq!(
        order,
        ["Richter", "country", "major seventh"],
        "what is sold in every key before what is made to order"
    );
    let reasons = choices[2].behind(&choices[0], &TabStyle::default());
    assert_eq!(reasons, ["most harps are tuned Richter, and major seventh has to be worth another harp"]);
}

#[test]
fn a_harp_too_short_for_the_song_misses_the_rest() {
    let mut tunings = layout::Tunings::default();
    tunings
        .add("name = \"four\"\nblow = [\"C4\", \"E4\", \"G4\", \"C5\"]\ndraw = [\"D4\", \"G4\", \"B4\", \"D5\"]")
        .unwrap();
    let four = Harp::new("C".parse().unwrap(), tunings.find("four").unwrap().tuning, ConcertPitch::ISO);
    let song = Song::new(in_key("major", "C"));
    let choices = choose(&song, &[four, harp("C")], &Ability::new(Level::DrawBends));
    assert_eq!(choices[0].harp.holes(), 10);
    assert!(choices[1].notes.iter().any(|note| note.way.is_none() && note.note > Note::new(74).unwrap()));
    assert_eq!(choose(&song, &[], &Ability::default()), []);
}

/// Programs read notes, names and degrees as they are printed.
#[test]
fn a_choice_can_be_written_as_json() {
    let song = Song::new(in_key("blues", "A"));
    let choices = choose(&song, &[harp("D")], &Ability::new(Level::DrawBends));
    let json = serde_json::to_value(&choices[0]).unwrap();
    assert_eq!(json["harp"]["key"], "D");
    assert_eq!(json["harp"]["tuning"]["name"], "Richter");
    assert_eq!(json["position"], 2);
    assert_eq!(json["scale"]["tonic"], "A");
    assert_eq!(
        json["chords"][0],
        serde_json::json!({
            "chord": {"function": "I7", "share": 7.0 / 12.0}, "sounds": true, "clashes": false
        })
    );
    let notes = json["notes"].as_array().unwrap();
    let flat_3 = notes.iter().find(|note| note["note"] == "C5").unwrap();
    assert_eq!(flat_3["is"]["step"]["degree"], "♭3");
    assert_eq!(flat_3["is"]["name"], "C");
    assert_eq!(flat_3["way"], serde_json::json!({"hole": 3, "breath": "draw", "technique": {"bend": 1}}));
    assert_eq!(flat_3["bent_from"], serde_json::json!({"hole": 3, "breath": "draw", "technique": "natural"}));
    let flat_3 =
        json["degrees"].as_array().unwrap().iter().find(|degree| degree["is"]["name"] == "C").unwrap();
    assert_eq!(flat_3["cost"], 0.0);
}

/// Songs of every scale, feel and progression that come with the program.
fn songs() -> impl Strategy<Value = Song> {
    let scales: Vec<_> = SCALES.iter().cloned().collect();
    let tonics: Vec<_> = PitchClass::all().collect();
    let feels = vec![None, Some(Feel::Major), Some(Feel::Dominant), Some(Feel::Minor)];
    let changes: Vec<_> = Progressions::ours().iter().cloned().map(Some).chain([None, None, None]).collect();
    let said = (prop::sample::select(feels), prop::sample::select(changes));
    (prop::sample::select(scales), prop::sample::select(tonics), 0_u8..=40, said).prop_map(
        |(scale, tonic, span, (feel, changes))| Song {
            span,
            feel,
            changes,
            ..Song::new(ScaleInKey::new(scale, NoteName::usual(tonic)))
        },
    )
}

fn levels() -> impl Strategy<Value = Level> {
    prop::sample::select(Level::ALL.to_vec())
}

/// A level and a few ways that depart from it.
fn abilities() -> impl Strategy<Value = Ability> {
    let commands = prop::sample::select(vec![Mastery::NotYet, Mastery::Learning, Mastery::Sure]);
    let ways: Vec<_> = harp("C").ways().collect();
    let single = prop::collection::vec((prop::sample::select(ways), commands), 0..6);
    (levels(), single).prop_map(|(level, single)| {
        single.into_iter().fold(Ability::new(level), |ability, (way, command)| ability.with(way, command))
    })
}

/// What must not depend on the key: tuning, position, cost and its parts, in the order of the ranking.
fn without_key(choices: &[Choice]) -> Vec<(String, u8, f64, theory::CostParts)> {
    let words = |choice: &Choice| {
        let tuning = choice.harp.tuning().name().to_owned();
        (tuning, choice.position.number(), choice.cost, choice.parts)
    };
    choices.iter().map(words).collect()
}

/// Whether `a` costs no more than `b` in any degree, less in one of them, and no more in the other parts together.
fn dominates(a: &Choice, b: &Choice) -> bool {
    let pairs = || a.degrees.iter().zip(&b.degrees);
    let rest =
        |choice: &Choice| choice.parts.home + choice.parts.chords + choice.parts.harp + choice.parts.custom;
    pairs().all(|(a, b)| a.cost <= b.cost) && pairs().any(|(a, b)| a.cost < b.cost) && rest(a) <= rest(b)
}

/// Sums of the same costs in another order may differ by their last digit.
const ROUNDING: f64 = 1e-9;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// No key is preferred: a song any number of half steps higher has the same ranking.
    #[test]
    fn results_do_not_change_under_transposition(song in songs(), up in 1..12, ability in abilities()) {
        let harps = usual_harps(&TUNINGS, ConcertPitch::ISO);
        let tonic = song.scale.tonic().pitch_class().up(up);
        let higher = Song { scale: ScaleInKey::new(song.scale.scale().clone(), NoteName::usual(tonic)), ..song.clone() };
        let here = without_key(&choose(&song, &harps, &ability));
        prop_assert_eq!(here, without_key(&choose(&higher, &harps, &ability)));
    }

    /// A player who commands more pays no more on any harp, be it by a higher level or by a single way.
    #[test]
    fn cost_never_rises_with_ability(song in songs(), weaker in abilities(), tuning in 0..11_usize, way in 0..200_usize) {
        let known = TUNINGS.iter().nth(tuning).unwrap();
        let harp = Harp::new("C".parse().unwrap(), known.tuning.clone(), ConcertPitch::ISO);
        let cost = |ability: &Ability| {
            let choice = choose(&song, std::slice::from_ref(&harp), ability).remove(0);
            (choice.cost, choice.cost_everywhere)
        };
        let costs = Level::ALL.map(|level| cost(&Ability::new(level)));
        prop_assert!(costs.is_sorted_by(|weaker, stronger| weaker.0 + ROUNDING >= stronger.0), "{:?}", costs);
        prop_assert!(costs.is_sorted_by(|weaker, stronger| weaker.1 + ROUNDING >= stronger.1), "{:?}", costs);
        let ways: Vec<_> = harp.ways().collect();
        let way = ways[way % ways.len()];
        let learning = match weaker.mastery(way) {
            Mastery::NotYet => weaker.clone().with(way, Mastery::Learning),
            _ => weaker.clone(),
        };
        let sure = weaker.clone().with(way, Mastery::Sure);
        let (weak, learns, knows) = (cost(&weaker).0, cost(&learning).0, cost(&sure).0);
        prop_assert!(weak + ROUNDING >= learns && learns + ROUNDING >= knows, "{}", way);
    }

    /// Home is what a song needs most, whatever its scale and its chords.
    #[test]
    fn home_weighs_most(song in songs()) {
        let notes = song.notes();
        prop_assert!(notes.is_sorted_by(|a, b| a.is.step.semitones() < b.is.step.semitones()));
        prop_assert_eq!(notes[0].is.name, song.scale.tonic());
        prop_assert!(notes[1..].iter().all(|note| 0.0 < note.weight && note.weight < notes[0].weight));
        for own in song.scale.notes() {
            prop_assert!(notes.iter().any(|note| note.is == own), "{:?}", own);
        }
    }

    /// One more harp changes neither the cost nor the order of the others, so the best can only become better.
    #[test]
    fn an_added_harp_never_worsens_the_best(song in songs(), ability in abilities(), owned in prop::collection::vec(0..132_usize, 1..8)) {
        let all = usual_harps(&TUNINGS, ConcertPitch::ISO);
        let some: Vec<Harp> = owned.iter().map(|index| all[index % all.len()].clone()).collect();
        let with_all = choose(&song, &some, &ability);
        let without = choose(&song, &some[1..], &ability);
        prop_assert!(without.first().is_none_or(|best| with_all[0].cost <= best.cost + ROUNDING));
        let added = with_all.iter().position(|choice| choice.harp == some[0]).unwrap();
        let mut rest = with_all;
        rest.remove(added);
        let costs = |choices: &[Choice]| choices.iter().map(|choice| choice.cost).collect::<Vec<_>>();
        prop_assert_eq!(costs(&rest), costs(&without));
    }

    /// Custom only changes the order of choices whose other costs differ by no more than a tie.
    #[test]
    fn custom_only_breaks_ties(song in songs(), level in levels()) {
        let choices = choose(&song, &usual_harps(&TUNINGS, ConcertPitch::ISO), &Ability::new(level));
        for (place, choice) in choices.iter().enumerate() {
            let behind = &choices[place + 1..];
            let own = choice.parts.without_custom();
            prop_assert!((0.0..=TIE).contains(&choice.parts.custom));
            prop_assert!(behind.iter().all(|other| own <= other.parts.without_custom() + TIE + 1e-9));
            match choice.tie(behind) {
                Some(tie) => prop_assert!(tie.by >= 0.0 && tie.by <= TIE + ROUNDING && tie.over.cost + ROUNDING >= choice.cost),
                None => prop_assert!(behind.iter().all(|other| own <= other.parts.without_custom() + 1e-9)),
            }
        }
    }

    #[test]
    fn no_harp_is_ranked_above_one_that_dominates_it(song in songs(), level in levels()) {
        let harps = usual_harps(&TUNINGS, ConcertPitch::ISO);
        let choices = choose(&song, &harps, &Ability::new(level));
        prop_assert_eq!(choices.len(), harps.len());
        for (i, above) in choices.iter().enumerate() {
            prop_assert_eq!(above.degrees.len(), song.notes().len());
            prop_assert!(choices[i..].iter().all(|below| !dominates(below, above)));
        }
    }

    /// What is said of a choice is true of its harp.
    #[test]
    fn every_way_of_a_choice_sounds_its_note(song in songs(), ability in abilities()) {
        for choice in choose(&song, &richter_harps(), &ability) {
            for note in &choice.notes {
                let own = song.find(note.note).unwrap();
                prop_assert_eq!(own.is, note.is);
                if let Some(way) = note.way {
                    prop_assert_eq!(choice.harp.note(way), Some(note.note));
                    prop_assert!(ability.reaches(way));
                    prop_assert_eq!(theory::cost(&choice.harp, way, &ability), Some(note.cost));
                } else {
                    prop_assert_eq!(note.cost, MISSING);
                    prop_assert!(!choice.harp.ways_to(note.note).iter().any(|way| ability.reaches(*way)));
                }
                if let Some(above) = note.bent_from {
                    prop_assert!(own.blue);
                    prop_assert_eq!(choice.harp.note(above), note.note.up(1));
                    prop_assert_eq!(above, above.natural());
                }
            }
            let weight: f64 = choice.degrees.iter().map(|degree| degree.weight).sum();
            let mean = choice.degrees.iter().map(|degree| degree.weight * degree.cost).sum::<f64>() / weight;
            prop_assert!((mean - choice.parts.notes).abs() < 1e-9);
            prop_assert!((choice.parts.sum() - choice.cost).abs() < 1e-9);
        }
    }
}
