//! How much each note of a song matters: home most, then what carries the chords, then what colours the scale.

use crate::song::SongChord;
use crate::{Degree, Feel, ScaleDegree, ScaleNote, Song};
use layout::Note;

// The weights are ours; the order that they follow is common practice, no source.

/// Every note of the scale.
const IN_SCALE: f64 = 1.0;
/// More for a note of a chord: times the share of the song that the chord fills, times [`chord_part`].
const IN_CHORD: f64 = 1.5;
/// More for home, where phrases begin and end.
const HOME: f64 = 2.0;
/// More for the notes that tell one mode from another, those beyond the pentatonic: a Lydian tune without a ready ♯4 is
/// a major one.
const COLOUR: f64 = 1.5;
/// A second note on one degree, such as the 7 beside the ♭7 of the bebop scale: it is passed through.
const PASSING: f64 = 0.25;

/// The notes of a pentatonic, semitones above the tonic.
const MAJOR_PENTATONIC: [u8; 5] = [0, 2, 4, 7, 9];
const MINOR_PENTATONIC: [u8; 5] = [0, 3, 5, 7, 10];
/// The notes of a blues that is not minor, semitones above the tonic: with both thirds, both fifths and the sixth (the
/// third of the IV chord).
const COMPOSITE_BLUES: [u8; 9] = [0, 2, 3, 4, 5, 6, 7, 9, 10];

/// The blue third and the blue fifth, semitones above the tonic. Each is meant to be bent down from the note above.
const BLUE_THIRD: u8 = 3;
const BLUE_FIFTH: u8 = 6;

/// A note of a song, in any octave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SongNote {
    /// Its degree and its name.
    pub is: ScaleNote,
    /// How much it matters, against the other notes of the song.
    pub weight: f64,
    /// Whether it is a blue note, wanted as a bend from the note a half step above.
    pub blue: bool,
}

impl Song {
    /// The notes by which harps are judged, from the tonic upwards: those of the scale, those of the chords, and for a
    /// blues that is no minor one those of the composite scale.
    pub fn notes(&self) -> Vec<SongNote> {
        let weights = self.weights();
        let key = self.scale.tonic().pitch_class();
        let blue_third = self.feel() != Feel::Minor;
        let is_blues = self.is_blues();
        let note = |step: u8| {
            let weight = weights[usize::from(step)];
            let class = key.up(i32::from(step));
            let in_scale = self.scale.notes().find(|note| note.step.semitones() == step);
            let is = in_scale.unwrap_or_else(|| ScaleNote {
                step: ScaleDegree { degree: Degree::usual(i32::from(step)), also: None },
                name: self.scale.name_of(class),
            });
            let blue = is_blues && (step == BLUE_FIFTH || step == BLUE_THIRD && blue_third);
            (weight > 0.0).then_some(SongNote { is, weight, blue })
        };
        (0..12).filter_map(note).collect()
    }

    /// The weight of each note, by semitones above the tonic; 0 for a note that the song has not.
    fn weights(&self) -> [f64; 12] {
        let mut weights = [0.0; 12];
        let is_blues = self.is_blues();
        for degree in self.scale.scale().degrees() {
            let step = degree.semitones();
            weights[usize::from(step)] = match () {
                () if is_blues => IN_SCALE,
                () if self.is_passing(*degree) => PASSING,
                () if self.is_colour(step) => IN_SCALE + COLOUR,
                () => IN_SCALE,
            };
        }
        if is_blues && self.feel() != Feel::Minor {
            for step in COMPOSITE_BLUES {
                weights[usize::from(step)] = IN_SCALE;
            }
        }
        for SongChord { function, share } in self.chords() {
            let root = function.degree.in_octave();
            for degree in function.kind.degrees() {
                let step = usize::from((root + degree.in_octave()) % 12);
                weights[step] += IN_CHORD * share * chord_part(degree);
            }
        }
        weights[0] += HOME;
        weights
    }

    /// Whether a note is one of those by which one mode differs from another.
    fn is_colour(&self, step: u8) -> bool {
        let pentatonic = if self.feel() == Feel::Minor { MINOR_PENTATONIC } else { MAJOR_PENTATONIC };
        !pentatonic.contains(&step)
    }

    /// Whether the chord of home has another note with the same degree number, and lacks this one.
    fn is_passing(&self, step: ScaleDegree) -> bool {
        let chord = self.tonic_chord().map_or(0, crate::song::tones);
        let in_chord = |step: ScaleDegree| chord & 1 << step.semitones() != 0;
        let mut others = self.scale.scale().degrees().iter();
        let is_beside = |other: &ScaleDegree| *other != step && other.degree.number() == step.degree.number();
        !in_chord(step) && others.any(|other| is_beside(other) && in_chord(*other))
    }

    /// The note of the song that sounds like `note`, if it has one.
    pub fn find(&self, note: Note) -> Option<SongNote> {
        self.notes().into_iter().find(|own| own.is.name.pitch_class() == note.pitch_class())
    }
}

/// How much of a chord a degree carries: the root and the third most, the seventh or sixth less, the fifth and what
/// stands above the octave least (common practice, no source).
fn chord_part(degree: Degree) -> f64 {
    match degree.number() {
        1..=4 => 1.0,
        6 | 7 => 0.75,
        _ => 0.5,
    }
}
