//! Written names: letters, octaves, keys that would be absurd.

use crate::{SCALES, harp, in_key, joined, name, note, scale};
use layout::{Breath, Harp, PitchClass};
use theory::{Chord, ChordGroup, Degree, NoteName, Position, ScaleInKey};

/// Every way to write a note with one sign at most.
fn written() -> impl Iterator<Item = String> {
    "CDEFGAB".chars().flat_map(|letter| ["", "♭", "♯"].map(|sign| format!("{letter}{sign}")))
}

#[test]
fn every_key_is_named_as_asked_and_takes_no_double_sign() {
    for tonic in written() {
        for scale in SCALES.iter() {
            let key = in_key(scale.name(), &tonic);
            assert_eq!(key.title(), format!("{tonic} {}", scale.name()));
            let all = (0..12).map(|class| key.name_of(PitchClass::new(class)));
            for name in key.notes().chain(key.falling_notes()).map(|note| note.name).chain(all) {
                assert!(name.alteration().abs() <= 1, "{name} in {}", key.title());
            }
        }
    }
}

/// The twelve positions of each usual harp: the notes of its own major scale by its letters (key signatures of any
/// theory handbook, written out from memory), the others by the names of keys that stand on harps (common practice, no
/// source).
const POSITIONS: [(&str, &str); 12] = [
    ("G", "G D A E B F♯ D♭ A♭ E♭ B♭ F C"),
    ("A♭", "A♭ E♭ B♭ F C G D A E B F♯ D♭"),
    ("A", "A E B F♯ C♯ G♯ E♭ B♭ F C G D"),
    ("B♭", "B♭ F C G D A E B F♯ D♭ A♭ E♭"),
    ("B", "B F♯ C♯ G♯ D♯ A♯ F C G D A E"),
    ("C", "C G D A E B F♯ D♭ A♭ E♭ B♭ F"),
    ("D♭", "D♭ A♭ E♭ B♭ F C G D A E B G♭"),
    ("D", "D A E B F♯ C♯ A♭ E♭ B♭ F C G"),
    ("E♭", "E♭ B♭ F C G D A E B F♯ D♭ A♭"),
    ("E", "E B F♯ C♯ G♯ D♯ B♭ F C G D A"),
    ("F", "F C G D A E B F♯ D♭ A♭ E♭ B♭"),
    ("F♯", "F♯ C♯ G♯ D♯ A♯ F C G D A E B"),
];

#[test]
fn twelve_harps_in_twelve_positions_are_named_by_their_own_letters() {
    let mut named = 0;
    for (key, tonics) in POSITIONS {
        let harp = harp(key);
        let chords: Vec<Chord> = ChordGroup::all(&harp).into_iter().flat_map(|group| group.names).collect();
        for (position, tonic) in Position::all().zip(tonics.split(' ')) {
            assert_eq!(position.tonic_name(&harp), name(tonic), "{position} of {key}");
            for scale in SCALES.iter() {
                let in_position = ScaleInKey::in_position(scale.clone(), &harp, position);
                assert_eq!(in_position, in_key(scale.name(), tonic), "{position} of {key}");
                check_chords(&chords, &in_position);
                named += 1;
            }
        }
    }
    assert_eq!(named, 144 * SCALES.iter().count());
}

/// No chord under the mouth takes a double sign.
fn check_chords(chords: &[Chord], key: &ScaleInKey) {
    for chord in chords {
        let (symbol, notes) = (chord.symbol(key), joined(chord.notes(key)));
        assert!(!symbol.contains("♭♭") && !symbol.contains("♯♯"), "{symbol} in {}", key.title());
        assert!(!notes.contains("♭♭") && !notes.contains("♯♯"), "{symbol} {notes} in {}", key.title());
    }
}

#[test]
fn the_flat_fifth_is_a_sharp_fourth_where_that_spares_a_double_flat() {
    let spelled = |scale: &str, tonic: &str| {
        joined(in_key(scale, tonic).notes().map(|note| format!("{}={}", note.step.degree, note.name)))
    };
    assert_eq!(spelled("blues", "G"), "1=G ♭3=B♭ 4=C ♭5=D♭ 5=D ♭7=F");
    assert_eq!(spelled("blues", "A♭"), "1=A♭ ♭3=C♭ 4=D♭ ♯4=D 5=E♭ ♭7=G♭");
    assert_eq!(spelled("blues", "E♭"), "1=E♭ ♭3=G♭ 4=A♭ ♯4=A 5=B♭ ♭7=D♭");
    assert_eq!(spelled("blues", "F♯"), "1=F♯ ♭3=A 4=B ♭5=C 5=C♯ ♭7=E");
    // The ♭6 of D♭ would be B♭♭ and has no second name in a minor scale: it is written A, as players read it.
    assert_eq!(spelled("natural minor", "D♭"), "1=D♭ 2=E♭ ♭3=F♭ 4=G♭ 5=A♭ ♭6=A ♭7=C♭");
}

#[test]
fn the_letters_of_a_scale_are_those_of_a_theory_primer() {
    // The raised seventh of G♯ minor is F♯♯ in any theory primer; for players it is G.
    assert_eq!(joined(scale("harmonic minor").spelled(name("G♯"))), "G♯ A♯ B C♯ D♯ E F♯♯");
    assert_eq!(joined(in_key("harmonic minor", "G♯").notes().map(|note| note.name)), "G♯ A♯ B C♯ D♯ E G");
}

#[test]
fn a_chord_is_named_by_the_letter_of_its_numeral() {
    let said = |scale: &str, tonic: &str, notes: [i32; 3]| {
        let key = in_key(scale, tonic);
        let chord = Chord::names(&notes.map(note))[0];
        format!("{} {} {}", chord.function(&key), chord.symbol(&key), joined(chord.notes(&key)))
    };
    // B D F in the twelfth position of a C harp: a diminished chord on the raised fourth leads to the fifth (any
    // harmony textbook).
    for scale in ["major", "blues", "Lydian", "Mixolydian"] {
        assert_eq!(said(scale, "F", [71, 74, 77]), "♯iv° B° B D F", "{scale}");
    }
    assert_eq!(said("natural minor", "B", [77, 80, 83]), "♯iv° E♯° E♯ G♯ B");
    assert_eq!(said("major", "A♭", [64, 67, 71]), "♭vi Em E G B");
    assert_eq!(said("natural minor", "A♭", [64, 68, 71]), "♭VI F♭ F♭ A♭ C♭");
}

#[test]
fn notes_on_a_harp_follow_the_letters_of_its_key() {
    let reeds = |harp: &Harp, breath| {
        joined((1..=7).map(|hole| NoteName::on(harp, harp.reed(hole, breath).unwrap().pitch_class())))
    };
    for (key, blow, draw) in [
        ("F♯", "F♯ A♯ C♯ F♯ A♯ C♯ F♯", "G♯ C♯ E♯ G♯ B D♯ E♯"),
        ("D♭", "D♭ F A♭ D♭ F A♭ D♭", "E♭ A♭ C E♭ G♭ B♭ C"),
        ("G", "G B D G B D G", "A D F♯ A C E F♯"),
        ("E", "E G♯ B E G♯ B E", "F♯ B D♯ F♯ A C♯ D♯"),
    ] {
        let harp = harp(key);
        assert_eq!((reeds(&harp, Breath::Blow), reeds(&harp, Breath::Draw)), (blow.into(), draw.into()));
    }
    // A bend that the key does not have: E on a D♭ harp, not F♭; B♭ on a C harp.
    let bend = |key: &str, class| NoteName::on(&harp(key), PitchClass::new(class)).to_string();
    assert_eq!((bend("D♭", 4), bend("C", 10), bend("F♯", 0)), ("E".into(), "B♭".into(), "C".into()));
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
