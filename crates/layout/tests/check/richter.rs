//! The Richter harp in C.

use crate::{harp, way};
use layout::{Breath, CannotPlay, Note, TabStyle, Technique};

fn midi(notes: impl IntoIterator<Item = Note>) -> Vec<u8> {
    notes.into_iter().map(Note::midi).collect()
}

/// OEIS A291810: semitones above blow 1, in the order blow 1, draw 1, blow 2, …
#[test]
fn the_reeds_are_oeis_a291810() {
    let a291810 = [0, 2, 4, 7, 7, 11, 12, 14, 16, 17, 19, 21, 24, 23, 28, 26, 31, 29, 36, 33];
    let harp = harp("C");
    let ours: Vec<i32> = (1..=10)
        .flat_map(|hole| [Breath::Blow, Breath::Draw].map(|breath| harp.reed(hole, breath).unwrap()))
        .map(|note| i32::from(note.midi()) - 60)
        .collect();
    assert_eq!(ours, a291810);
}

/// Every bend and overbend by hole, from the rule: bends from one semitone above the lower reed up (harmonica list
/// archive, 1994), overbends one semitone above the higher reed (common practice, no source).
#[test]
fn bends_and_overbends_by_hole() {
    let rows: [(u8, &str, &str); 10] = [
        (1, "-1'=61", "1o=63"),
        (2, "-2'=66 -2''=65", "2o=68"),
        (3, "-3'=70 -3''=69 -3'''=68", "3o=72"),
        (4, "-4'=73", "4o=75"),
        (5, "", "5o=78"),
        (6, "-6'=80", "6o=82"),
        (7, "", "-7o=85"),
        (8, "8'=87", "-8o=89"),
        (9, "9'=90", "-9o=92"),
        (10, "10'=95 10''=94", "-10o=97"),
    ];
    let (harp, style) = (harp("C"), TabStyle::default());
    for (hole, bends, overbend) in rows {
        let of = |wanted: fn(Technique) -> bool| {
            let ways = harp.ways_of_hole(hole).filter(move |way| wanted(way.technique));
            let row = ways.map(|way| format!("{}={}", style.print(way), harp.note(way).unwrap().midi()));
            row.collect::<Vec<_>>().join(" ")
        };
        assert_eq!(of(|technique| matches!(technique, Technique::Bend(_))), bends);
        assert_eq!(of(|technique| technique == Technique::Overbend), overbend);
    }
}

/// The chromatic table, every way to each note of a C harp, the simplest technique first: from the layout (OEIS
/// A291810) and the rules above.
#[test]
fn the_chromatic_table() {
    let table = [
        "1", "-1'", "-1", "1o", "2", "-2''", "-2'", "-2 3", "-3''' 2o", "-3''", "-3'", "-3", "4 3o", "-4'",
        "-4", "4o", "5", "-5", "5o", "6", "-6'", "-6", "6o", "-7", "7", "-7o", "-8", "8'", "8", "-9 -8o",
        "9'", "9", "-9o", "-10", "10''", "10'", "10", "-10o",
    ];
    let (harp, style) = (harp("C"), TabStyle::default());
    for (midi, tabs) in (60..).zip(table) {
        let ways = harp.ways_to(Note::new(midi).unwrap());
        let ours: Vec<String> = ways.into_iter().map(|way| style.print(way)).collect();
        assert_eq!(ours.join(" "), tabs, "MIDI {midi}");
    }
    assert!(harp.ways_to(Note::new(59).unwrap()).is_empty());
    assert!(harp.ways_to(Note::new(98).unwrap()).is_empty());
}

/// 19 distinct notes: encyclopaedia, Richter-tuned harmonica. 31 and 38: from the rules above.
#[test]
fn nineteen_notes_unbent_31_with_bends_38_with_overbends() {
    let harp = harp("C");
    assert_eq!(harp.notes(|technique| technique == Technique::Natural).len(), 19);
    assert_eq!(harp.notes(|technique| technique != Technique::Overbend).len(), 31);
    assert_eq!(midi(harp.notes(|_| true)), (60..=97).collect::<Vec<_>>());
}

/// The six gaps follow from the rules above; the list of overbends that add a note is also in the encyclopaedia's
/// article on the Richter-tuned harmonica.
#[test]
fn the_missing_notes_and_the_overbends_that_fill_them() {
    let harp = harp("C");
    assert_eq!(midi(harp.missing()), [63, 75, 78, 82, 85, 92]);
    let useful = ["1o", "4o", "5o", "6o", "-7o", "-9o", "-10o"].map(way);
    assert_eq!(harp.useful_overbends(), useful);
    for redundant in ["2o", "3o", "-8o"].map(way) {
        let note = harp.note(redundant).unwrap();
        assert!(harp.ways_to(note)[0].technique < Technique::Overbend, "{redundant}");
    }
}

#[test]
fn the_harp_says_why_it_cannot() {
    let harp = harp("C");
    let why = |tab: &str| harp.play(way(tab)).unwrap_err();
    assert_eq!(why("11"), CannotPlay::NoHole(11, 10));
    assert_eq!(why("0"), CannotPlay::NoHole(0, 10));
    assert_eq!(why("3'"), CannotPlay::BendsOn(3, Breath::Draw));
    assert_eq!(why("-8'"), CannotPlay::BendsOn(8, Breath::Blow));
    assert_eq!(why("-5'"), CannotPlay::NoBend(5, Breath::Draw));
    assert_eq!(why("7'"), CannotPlay::NoBend(7, Breath::Blow));
    assert_eq!(why("-1'''"), CannotPlay::TooDeep { way: way("-1"), asked: 3, deepest: 1 });
    assert_eq!(why("-6o"), CannotPlay::OverbendsOn(6, Breath::Blow));
    assert_eq!(why("7o"), CannotPlay::OverbendsOn(7, Breath::Draw));
    assert_eq!(why("-1'''").to_string(), "1 draw bends a half step at most, not one and a half steps");
    assert_eq!(why("-6o").to_string(), "hole 6 has an overblow, no overdraw");
}

/// A bend is judged against the note of equal temperament, not against the reed it starts from: on a reed 11.7 cents
/// low (5-limit, Ellis's cents) the half step of 3 draw is 88.3 cents away.
#[test]
fn a_bend_aims_at_the_note_whatever_the_reed() {
    let offsets = layout::ReedCents { draw: vec![0.0, 0.0, -11.7], ..Default::default() };
    let harp = harp("C").with_reed_cents(offsets);
    let (reed, bend) = (harp.hz(way("-3")).unwrap(), harp.hz(way("-3'")).unwrap());
    assert!((layout::cents_between(reed, bend) + 88.3).abs() < 1e-9);
}

#[test]
fn the_nearest_way_to_a_frequency() {
    let harp = harp("C");
    let nearest = |hz: f64| harp.nearest(hz).map(|near| (near.way, near.cents.round()));
    assert_eq!(nearest(440.0), Some((way("-3''"), 0.0)));
    assert_eq!(nearest(392.0), Some((way("-2"), 0.0)), "2 draw before 3 blow: the lower hole");
    assert_eq!(nearest(523.25), Some((way("4"), 0.0)), "4 blow before 3 overblow: the simpler technique");
    assert_eq!(nearest(100.0), Some((way("1"), -1665.0)));
    assert_eq!(nearest(f64::NAN), None);
    assert_eq!(nearest(0.0), None);
    assert_eq!(nearest(-1.0), None);
    let near: Vec<_> = harp.near(400.0, 70.0).into_iter().map(|near| near.way).collect();
    assert_eq!(near, ["-2", "3", "-3'''", "2o"].map(way), "35 cents above G, 65 below A♭");
    assert!(harp.near(400.0, 20.0).is_empty());
}
