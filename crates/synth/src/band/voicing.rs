//! Which notes of a chord sound, and where.

use layout::Note;
use theory::Chord;

/// The chords lie in the octave below the harp's lowest note, so that the harp is heard above them, but no lower than A2, below which
/// close chords are mud on any instrument, and no higher than E3, so that a high harp does not make them shrill (common practice, no
/// source). They are MIDI key numbers.
const FLOOR: (i32, i32) = (45, 52);
/// The most notes of a chord that sound, beside the bass.
pub(super) const MOST: usize = 4;
/// A chord that reaches into the harp's register leaves notes out, down to so many.
const THIN: usize = 3;

/// The notes of a chord as they sound, from the lowest up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Voicing {
    notes: [i32; MOST],
    count: usize,
    /// Whether it reaches into the register of the harp.
    pub(super) is_thin: bool,
}

impl Voicing {
    /// The notes of a chord nearest to those that sounded before.
    pub(super) fn new(chord: &Chord, lowest: Note, before: Option<&Self>) -> Self {
        let floor = (i32::from(lowest.midi()) - 12).clamp(FLOOR.0, FLOOR.1);
        let is_thin = floor + 11 >= i32::from(lowest.midi());
        let (classes, count) = sounding(chord, if is_thin { THIN } else { MOST });
        let candidates = (0..count).map(|first| Self::upwards(&classes[..count], first, floor, is_thin));
        let centre = floor * 2 + 11;
        let cost = |voicing: &Self| {
            let from_centre = voicing.notes().iter().map(|note| 2 * note - centre).sum::<i32>().abs();
            let moved = before.map_or(0, |before| voicing.moved(before));
            // The centre decides among those that are equally near.
            moved * 100 + from_centre
        };
        candidates.min_by_key(cost).unwrap_or(Self { notes: [floor; MOST], count: 0, is_thin })
    }

    /// The notes, MIDI key numbers.
    pub(super) fn notes(&self) -> &[i32] {
        &self.notes[..self.count]
    }

    /// Close position with this one of the pitch classes lowest.
    fn upwards(classes: &[i32], first: usize, floor: i32, is_thin: bool) -> Self {
        let lowest = floor + (classes[first] - floor).rem_euclid(12);
        // The window is two notes wider than the octave, so that there is a choice.
        let lowest = if lowest > floor + 9 { lowest - 12 } else { lowest };
        let mut notes = [lowest; MOST];
        for (note, class) in notes.iter_mut().zip(classes) {
            *note = lowest + (class - lowest).rem_euclid(12);
        }
        notes[..classes.len()].sort_unstable();
        Self { notes, count: classes.len(), is_thin }
    }

    /// Semitones that the notes move in all, each from its nearest one before.
    fn moved(&self, before: &Self) -> i32 {
        let nearest = |note: &i32| before.notes().iter().map(|old| (note - old).abs()).min().unwrap_or(0);
        self.notes().iter().map(nearest).sum()
    }
}

/// The pitch classes that sound, at most `most` of them: what says least of the chord is left out first, the root that the bass has
/// and then the fifth (common practice, no source).
fn sounding(chord: &Chord, most: usize) -> ([i32; MOST], usize) {
    let root = i32::from(chord.root.semitones());
    let mut above: Vec<i32> = chord.kind.degrees().map(|degree| i32::from(degree.in_octave())).collect();
    for spare in [0, 7] {
        if above.len() > most {
            above.retain(|semitones| *semitones != spare);
        }
    }
    above.truncate(most);
    let mut classes = [0; MOST];
    for (class, semitones) in classes.iter_mut().zip(&above) {
        *class = (root + semitones).rem_euclid(12);
    }
    (classes, above.len())
}
