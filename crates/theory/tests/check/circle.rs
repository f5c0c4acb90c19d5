//! The circle of fifths, as printed in the key signature table of any theory handbook (written out from memory): the
//! fifteen standard key signatures, the major scale of each and the natural minor scale of its relative minor.

use crate::{joined, name, scale};
use layout::PitchClass;
use theory::NoteName;

/// Sharps (positive) or flats (negative) in the signature, the major scale, the natural minor scale.
const CIRCLE: [(i32, &str, &str); 15] = [
    (-7, "C♭ D♭ E♭ F♭ G♭ A♭ B♭", "A♭ B♭ C♭ D♭ E♭ F♭ G♭"),
    (-6, "G♭ A♭ B♭ C♭ D♭ E♭ F", "E♭ F G♭ A♭ B♭ C♭ D♭"),
    (-5, "D♭ E♭ F G♭ A♭ B♭ C", "B♭ C D♭ E♭ F G♭ A♭"),
    (-4, "A♭ B♭ C D♭ E♭ F G", "F G A♭ B♭ C D♭ E♭"),
    (-3, "E♭ F G A♭ B♭ C D", "C D E♭ F G A♭ B♭"),
    (-2, "B♭ C D E♭ F G A", "G A B♭ C D E♭ F"),
    (-1, "F G A B♭ C D E", "D E F G A B♭ C"),
    (0, "C D E F G A B", "A B C D E F G"),
    (1, "G A B C D E F♯", "E F♯ G A B C D"),
    (2, "D E F♯ G A B C♯", "B C♯ D E F♯ G A"),
    (3, "A B C♯ D E F♯ G♯", "F♯ G♯ A B C♯ D E"),
    (4, "E F♯ G♯ A B C♯ D♯", "C♯ D♯ E F♯ G♯ A B"),
    (5, "B C♯ D♯ E F♯ G♯ A♯", "G♯ A♯ B C♯ D♯ E F♯"),
    (6, "F♯ G♯ A♯ B C♯ D♯ E♯", "D♯ E♯ F♯ G♯ A♯ B C♯"),
    (7, "C♯ D♯ E♯ F♯ G♯ A♯ B♯", "A♯ B♯ C♯ D♯ E♯ F♯ G♯"),
];

fn tonic(notes: &str) -> NoteName {
    name(notes.split(' ').next().unwrap())
}

#[test]
fn major_and_natural_minor_are_spelled_as_on_the_circle() {
    for (_, major, minor) in CIRCLE {
        assert_eq!(joined(scale("major").spelled(tonic(major))), major);
        assert_eq!(joined(scale("natural minor").spelled(tonic(minor))), minor);
    }
}

#[test]
fn a_standard_key_is_left_as_the_player_writes_it() {
    for (_, major, minor) in CIRCLE {
        assert_eq!(scale("major").kept_tonic(tonic(major)), tonic(major));
        assert_eq!(scale("natural minor").kept_tonic(tonic(minor)), tonic(minor));
    }
}

/// The sharps or flats of the signature under which our choice of tonic falls.
fn signature(of: NoteName, column: fn(&(i32, &'static str, &'static str)) -> &'static str) -> i32 {
    CIRCLE.iter().find(|row| tonic(column(row)) == of).unwrap().0
}

#[test]
fn the_tonic_is_chosen_for_the_smaller_key_signature() {
    for class in (0..12).map(PitchClass::new) {
        let major = signature(scale("major").tonic_name(class), |row| row.1);
        let minor = signature(scale("natural minor").tonic_name(class), |row| row.2);
        assert!(major.abs() <= 6 && minor.abs() <= 6, "{class}: {major} {minor}");
    }
    let chosen = |scale_name, class| scale(scale_name).tonic_name(PitchClass::new(class)).to_string();
    assert_eq!(chosen("major", 1), "D♭");
    assert_eq!(chosen("natural minor", 1), "C♯");
    assert_eq!(chosen("natural minor", 8), "G♯");
    assert_eq!(chosen("major", 8), "A♭");
    assert_eq!(chosen("major", 11), "B");
    // Six sharps or six flats: as harps are labelled.
    assert_eq!(chosen("major", 6), "F♯");
    assert_eq!(chosen("natural minor", 3), "E♭");
    // The blues keeps the key of its minor scale, though the flat fifth above E♭ is B♭♭.
    assert_eq!(chosen("blues", 3), "E♭");
    assert_eq!(chosen("blues", 1), "C♯");
    assert_eq!(chosen("harmonic minor", 8), "G♯");
}
