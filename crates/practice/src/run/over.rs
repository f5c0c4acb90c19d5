//! The band over which runs are played.

use super::Rhythm;
use crate::jam::{Form, FormChord, FormError};
use layout::{Harp, PitchClass};
use serde::Serialize;
use theory::{Groove, Progression, ScaleInKey};

/// Ratio of the first of two eighths to the second from which the band plays a shuffle: half way between even and two
/// to one.
const SHUFFLES: f64 = 1.5;

/// A form under runs, and how a band plays it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Over {
    /// The chords, bar by bar; the form goes round for as long as a run lasts.
    pub form: Form,
    /// How the band plays it.
    pub feel: Groove,
    /// The bar of the form with which a run begins, counted from 0.
    pub from_bar: usize,
    /// Whether the band sounds; if not, runs go to the click.
    pub sounds: bool,
}

impl Over {
    /// A form under runs in a rhythm, with a band that sounds.
    ///
    /// # Errors
    /// If the progression is no form.
    pub fn new(
        progression: &Progression,
        (key, harp): (&ScaleInKey, &Harp),
        rhythm: &Rhythm,
    ) -> Result<Self, FormError> {
        let form = Form::new(progression, key, harp)?;
        Ok(Self { form, feel: feel(rhythm), from_bar: 0, sounds: true })
    }

    /// The name of the progression that has nothing but the chord of home and suits these notes: a minor chord where
    /// they have the minor third above home and not the major one, a seventh chord otherwise. The blues scale, told by
    /// its blue fifth, is played over a seventh chord all the same: its third is a blue note. Common practice, no
    /// source.
    pub fn home(tonic: PitchClass, notes: impl IntoIterator<Item = PitchClass>) -> &'static str {
        let mut has = [false; 12];
        for note in notes {
            has[usize::from(tonic.semitones_to(note)) % 12] = true;
        }
        let [minor_third, major_third, fifth, second] = [has[3], has[4], has[7], has[2]];
        let is_blues = has[6] && fifth && !second;
        if minor_third && !major_third && !is_blues { "one minor chord" } else { "one chord" }
    }

    /// The chords of a bar of the run, counted from 0.
    pub fn chords(&self, bar: usize) -> &[FormChord] {
        self.form.chords(self.from_bar + bar)
    }
}

/// The feel that suits a rhythm.
fn feel(rhythm: &Rhythm) -> Groove {
    match () {
        () if rhythm.metre.is_compound() => Groove::SlowTwelve,
        () if rhythm.metre.beats() == 3 => Groove::Waltz,
        () if rhythm.swing.ratio() >= SHUFFLES => Groove::Shuffle,
        () => Groove::Straight,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use theory::{Progressions, Scales};

    /// What a scale is usually played over: common practice, no source.
    #[test]
    fn the_chord_of_home_suits_the_notes() {
        let scales = Scales::ours();
        let home = |name: &str| {
            let key = ScaleInKey::new(scales.find(name).unwrap().clone(), "G".parse().unwrap());
            let notes: Vec<_> = key.notes().map(|note| note.name.pitch_class()).collect();
            Over::home(key.tonic().pitch_class(), notes)
        };
        for name in ["blues", "major", "mixolydian", "major pentatonic", "lydian"] {
            assert_eq!(home(name), "one chord", "{name}");
        }
        for name in ["dorian", "natural minor", "minor pentatonic", "phrygian", "harmonic minor", "locrian"] {
            assert_eq!(home(name), "one minor chord", "{name}");
        }
        // Where there is no third at all, nothing asks for a minor chord: home, fourth and fifth.
        let tonic = PitchClass::new(7);
        assert_eq!(Over::home(tonic, [0, 5, 7].map(|up| tonic.up(up))), "one chord");
        for name in ["one chord", "one minor chord"] {
            assert!(Progressions::ours().find(name).is_ok());
        }
    }
}
