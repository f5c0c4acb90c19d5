//! Whether a song's chords lie under the mouth: three neighbouring holes on one breath.

use crate::song::{SongChord, tones};
use crate::{ChoiceChord, Degree};
use layout::{Breath, Harp, PitchClass};

/// Points for a chord of the song that no three neighbouring holes sound, in proportion to the part of the song that it
/// fills: the player goes without it. A fraction of a bend, because a melody needs no chords. Ours; common practice, no
/// source.
const NO_CHORD: f64 = 0.25;
/// Points for the chord on the tonic under the mouth with the wrong third, in the same proportion: it sounds as soon as
/// two holes too many are open, and is heard at once. As much as the shallowest bend on every second note. Ours; common
/// practice, no source.
const CLASH: f64 = 1.0;

/// How many neighbouring holes make a chord.
const HOLES: u8 = 3;

/// The chords of three neighbouring holes, each as bits, bit n for n semitones above the tonic.
pub(crate) struct UnderMouth(Vec<u16>);

impl UnderMouth {
    /// The chords of a harp.
    pub(crate) fn new(harp: &Harp, tonic: PitchClass) -> Self {
        let bit =
            |hole, breath| harp.reed(hole, breath).map(|reed| 1 << tonic.semitones_to(reed.pitch_class()));
        let from = |low: u8, breath| {
            (low..low + HOLES).map(|hole| bit(hole, breath)).try_fold(0_u16, |bits, reed| Some(bits | reed?))
        };
        let grips = [Breath::Blow, Breath::Draw]
            .into_iter()
            .flat_map(|breath| (1..harp.holes()).filter_map(move |low| from(low, breath)));
        Self(grips.collect())
    }

    /// Whether some holes sound the chord: nothing but its notes, its root and its third among them.
    fn sounds(&self, chord: &SongChord) -> bool {
        let tones = tones(chord.function);
        let root = chord.function.degree.in_octave();
        let third = third(chord).map_or(0, |third| 1 << ((root + third) % 12));
        let needed = 1 << root | third;
        self.0.iter().any(|grip| grip & !tones == 0 && grip & needed == needed)
    }

    /// Whether some holes sound the chord with the other third: major for minor, or minor for major.
    fn clashes(&self, chord: &SongChord) -> bool {
        let Some(third) = third(chord) else { return false };
        let root = chord.function.degree.in_octave();
        let other = [0, 7 - third, 7].into_iter().fold(0_u16, |bits, tone| bits | 1 << ((root + tone) % 12));
        self.0.iter().any(|grip| grip & other == other)
    }

    /// The chords of a song, each with whether it lies under the mouth.
    pub(crate) fn find(&self, chords: &[SongChord]) -> Vec<ChoiceChord> {
        let find = |chord: &SongChord| ChoiceChord {
            chord: *chord,
            sounds: self.sounds(chord),
            clashes: self.clashes(chord),
        };
        chords.iter().map(find).collect()
    }
}

/// What a chord of a song costs, points: nothing if it lies under the mouth.
pub(crate) fn cost(found: &ChoiceChord) -> f64 {
    let absent = if found.sounds { 0.0 } else { NO_CHORD };
    let clash = if found.chord.is_tonic() && found.clashes { CLASH } else { 0.0 };
    found.chord.share * (absent + clash)
}

/// The third of a chord, semitones above its root.
fn third(chord: &SongChord) -> Option<u8> {
    chord.function.kind.degrees().find(|degree| degree.number() == 3).map(Degree::in_octave)
}
