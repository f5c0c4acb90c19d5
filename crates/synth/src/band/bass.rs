//! Where the bass plays.

use theory::Chord;

/// The lowest note of the bass, E1: that of a double bass with four strings. A MIDI key number.
const LOWEST: i32 = 28;

/// The bass note of a chord in the lowest octave of the instrument, a MIDI key number.
pub(super) fn root(chord: &Chord) -> i32 {
    LOWEST + (i32::from(chord.bass.semitones()) - LOWEST).rem_euclid(12)
}
