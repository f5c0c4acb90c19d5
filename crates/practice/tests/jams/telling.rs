//! What is told of each note. The notes of the chords are those of any theory primer, written out by hand.

use crate::{Played, plan, played};
use layout::TabStyle;
use practice::jam::{Clash, Is, JamPlan};
use practice::run::StartAt;
use theory::{Ability, Groove, Level};

const A7: [(&str, &str); 4] = [("A", "1"), ("C♯", "3"), ("E", "5"), ("G", "♭7")];
const D7: [(&str, &str); 4] = [("D", "1"), ("F♯", "3"), ("A", "5"), ("C", "♭7")];
const E7: [(&str, &str); 4] = [("E", "1"), ("G♯", "3"), ("B", "5"), ("D", "♭7")];
/// The twelve bars, written out.
const TWELVE: [(&str, [(&str, &str); 4]); 12] = [
    ("A7", A7),
    ("A7", A7),
    ("A7", A7),
    ("A7", A7),
    ("D7", D7),
    ("D7", D7),
    ("A7", A7),
    ("A7", A7),
    ("E7", E7),
    ("D7", D7),
    ("A7", A7),
    ("E7", E7),
];
const A_BLUES: [&str; 6] = ["A", "C", "D", "E♭", "E", "G"];
/// The sharp and the flat name of each of the twelve notes.
const CHROMATIC: [(&str, &str); 12] = [
    ("C", "C"),
    ("C♯", "D♭"),
    ("D", "D"),
    ("D♯", "E♭"),
    ("E", "E"),
    ("F", "F"),
    ("F♯", "G♭"),
    ("G", "G"),
    ("G♯", "A♭"),
    ("A", "A"),
    ("A♯", "B♭"),
    ("B", "B"),
];

/// Whether a note by its place among the twelve is called so.
fn is(note: usize, name: &str) -> bool {
    CHROMATIC[note].0 == name || CHROMATIC[note].1 == name
}

/// A note on every beat of twelve bars, through all twelve notes in steps of a fifth, every twelfth step a half step
/// wider: 48 notes, of which each is of the chord, of the scale or outside as the table has it.
#[test]
fn every_note_of_a_chorus_is_told_as_what_it_is_and_where() {
    let names: Vec<(usize, String)> = (0..48)
        .map(|beat| (beat * 7 + beat / 12) % 12)
        .map(|note| (note, format!("{}5", CHROMATIC[note].1.replace('♭', "b"))))
        .collect();
    let notes: Vec<Played<'_>> =
        names.iter().enumerate().map(|(beat, (_, name))| (name.as_str(), 6.0, beat as f64, 0.7)).collect();
    let stage = played(plan("twelve-bar", Groove::Shuffle, 1), &notes);
    let told = stage.notes();
    assert_eq!(told.len(), 48);
    let (mut of_chord, mut others) = (0, 0);
    for (beat, (note, (which, name))) in told.iter().zip(&names).enumerate() {
        let (symbol, tones) = TWELVE[beat / 4];
        assert_eq!((note.bar, note.chord.as_deref()), (beat / 4, Some(symbol)), "{name}: {note:?}");
        assert!((note.beat - (beat % 4 + 1) as f64).abs() < 0.05, "{name}: {note:?}");
        let degree = tones.iter().find(|(tone, _)| is(*which, tone)).map(|(_, degree)| *degree);
        let in_scale = A_BLUES.iter().any(|tone| is(*which, tone));
        match note.is {
            Is::OfChord(told) => assert_eq!(Some(told.to_string().as_str()), degree, "{name}: {note:?}"),
            Is::OfScale => assert!(degree.is_none() && in_scale, "{name}: {note:?}"),
            Is::Outside => assert!(degree.is_none() && !in_scale, "{name}: {note:?}"),
            Is::CannotTell => panic!("{name}: {note:?}"),
        }
        assert_eq!(note.in_scale, Some(in_scale), "{name}: {note:?}");
        assert_eq!(note.clash, None, "no note is held for longer than a beat");
        if degree.is_some() { of_chord += 1 } else { others += 1 }
    }
    // The test has enough of both.
    assert!(of_chord >= 15 && others >= 20, "{of_chord} {others}");
    let tally = &stage.over().tally;
    assert_eq!((tally.notes, tally.of_chord), (48, of_chord));
}

/// One note held over one chord of a bar, and how it rubbed.
fn clash(form: &str, name: &str, beats: f64) -> Option<(Clash, String)> {
    let stage = played(plan(form, Groove::Straight, 1), &[(name, 0.0, 0.0, beats)]);
    assert_eq!(stage.notes().len(), 1, "{name}");
    stage.notes()[0].clash.clone()
}

/// Twenty notes that clash, twenty that are blue or a colour or of the chord, each held for longer than a beat over one
/// chord in A and then for less. Which is which is common practice, without a source: the notes a half step above one
/// of the chord are those that are avoided; the flat third, fifth and seventh of the key, and the flat third and fifth
/// of the chord, are the style of the blues.
#[test]
fn what_is_held_a_half_step_above_the_chord_clashes_and_blue_notes_are_the_style() {
    let clashes = [
        // The fourth, the flat second, the flat sixth, the major seventh over a flat one.
        ("I7", "D5 D6 Bb5 F5 F6 Ab4 Ab5"),
        ("IV7", "Db5 Db6"),
        ("V7", "F5 A5 A4"),
        ("i7", "F5 Db5 Bb4 Ab5"),
        ("I", "D5 F5 Bb5"),
        ("Imaj7", "D5"),
    ];
    let blue = [("I7", "C5 Eb5"), ("I", "C6 Eb6"), ("i7", "Eb5"), ("IV7", "F5 G5 Eb5"), ("V7", "G5 C5")];
    let neither = [
        ("I7", "A5 C#5 E5 G5 B5 F#5"),
        ("IV7", "D5 F#5 A5 C5 E5 B4"),
        ("V7", "E5 G#5 B5 D5 F#5"),
        ("i7", "C5 B4"),
        ("I", "G#5 F#5 B4"),
        ("Imaj7", "G#5 F#5"),
    ];
    let mut counted = [0; 3];
    let kinds = [(&clashes[..], Some(Clash::Clash)), (&blue, Some(Clash::BlueNote)), (&neither, None)];
    for (kind, (forms, expected)) in kinds.into_iter().enumerate() {
        for (form, names) in forms {
            for name in names.split(' ') {
                assert_eq!(clash(form, name, 1.5).map(|(clash, _)| clash), expected, "{form} {name}");
                assert_eq!(clash(form, name, 0.9), None, "{form} {name} passes");
                counted[kind] += 1;
            }
        }
    }
    assert!(counted[0] >= 20 && counted[1] + counted[2] >= 20, "{counted:?}");
}

/// A note that is held into a chord to which it is foreign is held against that chord from the change on.
#[test]
fn a_note_held_over_a_change_is_held_against_each_chord_by_itself() {
    // A is the root of A7 and the fourth of E7, a half step above its third.
    let held = |until: f64| {
        let stage = played(plan("I7 | V7", Groove::Straight, 1), &[("A4", 0.0, 2.0, until - 2.0)]);
        let note = stage.notes()[0].clone();
        assert_eq!((note.bar, note.chord.as_deref()), (0, Some("A7")));
        note.clash
    };
    assert_eq!(held(4.9), None);
    assert_eq!(held(5.5), Some((Clash::Clash, "E7".to_owned())));
}

/// Where nobody knows how late the microphone is, up to 0.15 s are open, at 120 a minute three tenths of a beat. A note
/// that a change cuts in two clashes only if its part is longer than a beat even without them. The length of a note
/// that no change cuts is known.
#[test]
fn a_note_that_a_change_cuts_clashes_only_if_it_does_in_any_case() {
    let measured = || plan("I7 | V7", Groove::Straight, 1);
    let unmeasured = || JamPlan { delay_s: None, ..measured() };
    let clash = |plan: JamPlan, name, on, until: f64| {
        let stage = played(plan, &[(name, 0.0, on, until - on)]);
        stage.notes()[0].clash.clone()
    };
    let is = |chord: &str| Some((Clash::Clash, chord.to_owned()));
    // A is the root of A7 and a half step above the third of E7; D the fourth of A7 and the seventh of E7.
    for (name, on, until, known, unknown) in [
        ("A4", 2.0, 5.2, is("E7"), None),
        ("A4", 2.0, 5.5, is("E7"), is("E7")),
        ("D5", 2.8, 6.0, is("A7"), None),
        ("D5", 2.5, 6.0, is("A7"), is("A7")),
        ("D5", 0.0, 1.2, is("A7"), is("A7")),
    ] {
        assert_eq!(clash(measured(), name, on, until), known, "{name} from {on} to {until}");
        assert_eq!(clash(unmeasured(), name, on, until), unknown, "{name} from {on} to {until}, unmeasured");
    }
}

#[test]
fn a_note_lasts_as_long_as_it_sounds() {
    let notes = [("A4", 0.0, 0.0, 1.5), ("D5", 0.0, 2.0, 0.5), ("A4", 0.0, 5.0, 2.25)];
    let stage = played(plan("I7 | IV7", Groove::Straight, 1), &notes);
    for (told, (name, .., beats)) in stage.notes().iter().zip(notes) {
        assert!((told.beats - beats).abs() < 0.05, "{name} for {beats}: {told:?}");
    }
    assert_eq!(stage.notes().len(), 3);
}

/// The last eighth of a bar, tied over, belongs to the chord that comes; one that is let go at the bar line does not.
#[test]
fn a_note_may_anticipate_its_chord() {
    for (name, on, length, chord) in [
        ("G#5", 3.5, 1.5, "E7"),
        ("G#5", 3.5, 0.4, "A7"),
        ("G#5", 3.97, 0.4, "E7"),
        ("C#5", 3.0, 1.2, "A7"),
        ("C#5", 2.0, 2.5, "A7"),
    ] {
        let stage = played(plan("I7 | V7", Groove::Straight, 1), &[(name, 0.0, on, length)]);
        let note = stage.notes()[0];
        assert_eq!(note.chord.as_deref(), Some(chord), "{name} at {on} for {length}");
    }
}

#[test]
fn what_cannot_be_told_is_not_told() {
    // Halfway between C and C♯ over A7: neither the third nor the flat third.
    let stage = played(plan("I7", Groove::Straight, 1), &[("C5", 50.0, 1.0, 0.8)]);
    let note = stage.notes()[0];
    assert_eq!((note.is, note.in_scale, note.degree, note.clash.clone()), (Is::CannotTell, None, None, None));
    // Where nobody has measured how late the microphone is, a short note just behind a change may have come before it.
    let unmeasured = || JamPlan { delay_s: None, ..plan("I7 | V7", Groove::Straight, 1) };
    for (on, chord) in [(4.05, None), (4.6, Some("E7")), (2.0, Some("A7"))] {
        let stage = played(unmeasured(), &[("B5", 0.0, on, 0.25)]);
        let note = stage.notes()[0];
        assert_eq!(note.chord.as_deref(), chord, "at {on}");
        assert_eq!(note.is == Is::CannotTell, chord.is_none(), "at {on}");
        // The pitch is known all the same.
        assert_eq!(note.degree.unwrap().to_string(), "2");
    }
    // A recording whose first beat is given is held against just that.
    let given = JamPlan { start: StartAt::At(0.0), ..unmeasured() };
    let stage = played(given, &[("B5", 0.0, 4.05, 0.25)]);
    assert_eq!(stage.notes()[0].chord.as_deref(), Some("E7"));
}

/// On a D harp B♭4 is 3 draw bent by three half steps or 2 overblown, and D5 is 4 blow or 3 overblown (an overblow
/// sounds a half step above the draw reed of its hole).
#[test]
fn a_note_was_played_in_a_way_that_the_player_commands() {
    let ways = |level, name| {
        let ability = Ability::new(level);
        let plan = JamPlan { ability, ..plan("I7", Groove::Straight, 1) };
        let stage = played(plan, &[(name, 0.0, 0.0, 0.8)]);
        let tab: Vec<String> =
            stage.notes()[0].ways.iter().map(|way| TabStyle::default().print(*way)).collect();
        tab.join(" or ")
    };
    assert_eq!([ways(Level::DrawBends, "Bb4"), ways(Level::DrawBends, "D5")], ["-3'''", "4"]);
    assert_eq!([ways(Level::Everything, "Bb4"), ways(Level::Everything, "D5")], ["-3''' or 2o", "4 or 3o"]);
    // Who commands no way played the simplest one all the same.
    assert_eq!(ways(Level::Plain, "Bb4"), "-3'''");
}

/// The bass of a band, two octaves below a D harp, was not played on it.
#[test]
fn what_the_harp_cannot_sound_is_not_the_players() {
    let stage = played(
        plan("I7", Groove::Straight, 1),
        &[("A2", 0.0, 0.0, 0.8), ("A4", 0.0, 1.0, 0.8), ("E2", 0.0, 2.0, 0.8)],
    );
    let notes: Vec<String> = stage.notes().iter().map(|note| note.played.note.to_string()).collect();
    assert_eq!(notes, ["A4"]);
}

#[test]
fn bars_of_every_feel_have_their_beats() {
    for feel in Groove::ALL {
        let beats = f64::from(feel.beats());
        let stage = played(plan("I7 | V7", feel, 1), &[("A4", 0.0, 0.0, 0.7), ("E5", 0.0, beats + 1.0, 0.7)]);
        let places: Vec<(usize, f64)> =
            stage.notes().iter().map(|note| (note.bar, note.beat.round())).collect();
        assert_eq!(places, [(0, 1.0), (1, 2.0)], "{feel}");
        assert_eq!(feel.name().parse::<Groove>(), Ok(feel));
    }
    let error = "bossa".parse::<Groove>().unwrap_err().to_string();
    assert!(error.contains("bossa") && error.contains("slow 12/8"), "{error}");
}
