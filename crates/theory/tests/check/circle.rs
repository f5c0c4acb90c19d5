//! The circle of fifths, as printed in the key signature table of any theory handbook (written out from memory): the
//! fifteen standard key signatures, the major scale of each and the natural minor scale of its relative minor.

use crate::{in_key, joined, name, scale};
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
fn a_standard_key_is_spelled_so_as_the_player_writes_it() {
    for (_, major, minor) in CIRCLE {
        for (scale, notes) in [("major", major), ("natural minor", minor)] {
            let key = in_key(scale, &tonic(notes).to_string());
            assert_eq!(joined(key.notes().map(|note| note.name)), notes);
            assert_eq!(key.title(), format!("{} {scale}", tonic(notes)));
        }
    }
}
