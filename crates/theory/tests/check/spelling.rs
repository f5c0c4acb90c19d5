//! Written names: letters, octaves, keys that would be absurd.

use crate::{in_key, joined, name, note, scale};
use layout::PitchClass;
use theory::{Degree, NoteName};

#[test]
fn a_tonic_that_forces_double_accidentals_is_respelled() {
    assert_eq!(in_key("major", "G♯").title(), "A♭ major");
    assert_eq!(in_key("major", "D♯").title(), "E♭ major");
    assert_eq!(in_key("natural minor", "Db").title(), "C♯ natural minor");
    assert_eq!(in_key("natural minor", "Gb").title(), "F♯ natural minor");
    assert_eq!(in_key("natural minor", "G#").title(), "G♯ natural minor");
}

#[test]
fn double_accidentals_stand_only_where_the_letters_demand_them() {
    // The raised seventh of G♯ minor is F♯♯ in any theory primer; the signature of A♭ minor is no smaller.
    assert_eq!(joined(scale("harmonic minor").spelled(name("G♯"))), "G♯ A♯ B C♯ D♯ E F♯♯");
    assert_eq!(in_key("harmonic minor", "G♯").tonic(), name("G♯"));
    assert_eq!(in_key("harmonic minor", "D♯").tonic(), name("E♭"));
}

#[test]
fn octaves_are_counted_by_the_letter() {
    assert_eq!(name("Cb").with_octave(note(71)), "C♭5");
    assert_eq!(name("B").with_octave(note(71)), "B4");
    assert_eq!(name("B♯").with_octave(note(72)), "B♯4");
    assert_eq!(name("C").with_octave(note(60)), "C4");
    assert_eq!(name("G♭♭").with_octave(note(65)), "G♭♭4");
}

#[test]
fn names_read_back_and_mistakes_are_refused() {
    for text in ["C", "G♭", "F♯", "B♭♭", "F♯♯"] {
        assert_eq!(name(text).to_string(), text);
    }
    for text in ["", "H", "Cbbb", "C4", "♭C", "C#b#x"] {
        assert!(text.parse::<NoteName>().is_err(), "{text}");
    }
}

#[test]
fn notes_outside_the_scale_get_plain_names() {
    let key = in_key("major", "G♭");
    // ♭3 above G♭ would be B♭♭.
    assert_eq!(key.name_of(PitchClass::new(9)), name("A"));
    assert_eq!(key.name_of(PitchClass::new(11)), name("C♭"));
    assert_eq!(key.degree_of(PitchClass::new(9)), Degree::new(3, -1).unwrap());
    assert_eq!(in_key("Lydian", "F").degree_of(PitchClass::new(11)), Degree::new(4, 1).unwrap());
    assert_eq!(in_key("blues", "F").degree_of(PitchClass::new(11)), Degree::new(5, -1).unwrap());
}

#[test]
fn usual_names_are_those_on_harps() {
    // Facts of the trade: the columns of the key table, common practice, no source.
    let names = joined((0..12).map(|class| NoteName::usual(PitchClass::new(class))));
    assert_eq!(names, "C D♭ D E♭ E F F♯ G A♭ A B♭ B");
}
