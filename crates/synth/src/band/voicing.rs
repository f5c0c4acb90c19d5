//! Which notes of a chord sound, and where.

use layout::Note;
use theory::Chord;

/// Lowest and highest floor of the chords, MIDI key numbers: A2 and E3. The chords lie in the octave from the floor up
/// and in two half steps below the floor. The floor is an octave below the harp's lowest note, so that the harp is
/// heard above the chords. It is no lower than A2, because close chords below are mud on any instrument, and no higher
/// than E3, so that a high harp does not make them shrill (common practice, no source).
const FLOOR: (i32, i32) = (45, 52);
/// The most notes of a chord that sound, beside the bass.
pub(super) const MOST: usize = 4;
/// The most notes of a chord that reaches into the harp's register; its other notes are left out.
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
            let too_high = voicing.notes().last().map_or(0, |top| (top - floor - 11).max(0));
            let from_centre = voicing.notes().iter().map(|note| 2 * note - centre).sum::<i32>().abs();
            let moved = before.map_or(0, |before| voicing.moved(before));
            // The register comes first, and the centre decides among those that are equally near.
            too_high * 10_000 + moved * 100 + from_centre
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

/// The pitch classes that sound, at most `most` of them: what says least of the chord is left out first, the root that
/// the bass has and then the fifth (common practice, no source).
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

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{HarpKey, PitchClass};
    use theory::ChordKind;

    #[test]
    fn chords_keep_below_the_harp_or_are_thin() {
        for lowest in HarpKey::all().map(HarpKey::blow_1) {
            for kind in ChordKind::ALL {
                let mut before = None;
                for root in PitchClass::all() {
                    let chord = Chord { root, kind, bass: root };
                    let voicing = Voicing::new(&chord, lowest, before.as_ref());
                    let (bottom, top) = (voicing.notes()[0], *voicing.notes().last().unwrap());
                    assert!(bottom >= FLOOR.0 - 2 && top <= FLOOR.1 + 14, "{kind:?} on {root}: {voicing:?}");
                    let above = top >= i32::from(lowest.midi());
                    assert!(!above || voicing.is_thin, "{kind:?} on {root} below {lowest}: {voicing:?}");
                    assert!(!voicing.is_thin || voicing.notes().len() <= THIN);
                    before = Some(voicing);
                }
            }
        }
    }

    #[test]
    fn the_nearest_inversion_follows() {
        let kind = ChordKind::ALL.iter().find(|kind| kind.symbol() == "7").unwrap();
        let chord = |root: i32| Chord { root: PitchClass::new(root), kind, bass: PitchClass::new(root) };
        // From A7 to D7 two notes stay or move by a half step, and the others move by a whole step: six half steps at
        // most.
        let a = Voicing::new(&chord(9), Note::MIDDLE_C, None);
        let d = Voicing::new(&chord(2), Note::MIDDLE_C, Some(&a));
        assert!(d.moved(&a) <= 6, "{a:?} {d:?}");
        let classes: Vec<i32> = d.notes().iter().map(|note| note % 12).collect();
        for class in [0, 2, 6, 9] {
            assert!(classes.contains(&class), "{d:?}");
        }
    }
}
