//! A reed voice that plays what is to be practised, for the player's ears.

use crate::envelope::RELEASE_S;
use crate::{Gesture, SimulatedPlayer, Slur, SynthError, Timed};
use layout::{Harp, Technique};

/// The level of a held note, decibels relative to a full-scale sine. Our choice: the partials of a reed add up to a
/// peak 6 dB higher, which stays below −12 dBFS.
const LEVEL_DBFS: f64 = -22.0;
/// A bend is taken in this long, seconds; less where the note is short.
const BEND_S: f64 = 0.04;
/// A note sounds for this share of its length: the next one is heard to begin.
const SOUNDS: f64 = 0.92;
/// The least that a note is held, seconds.
const LEAST_S: f64 = 0.03;

/// A phrase or a scale as a good player plays it: in tune, in time, bends and joined notes as they are.
#[derive(Clone, Debug)]
pub struct Model {
    player: SimulatedPlayer,
}

impl Model {
    /// Notes in their order on this harp, the first beat `lead_s` seconds after the first sample.
    ///
    /// # Errors
    /// If the harp cannot play one, or it is too high for the sample rate.
    pub fn new(
        harp: &Harp,
        sample_rate: f64,
        notes: impl IntoIterator<Item = Timed>,
        lead_s: f64,
    ) -> Result<Self, SynthError> {
        let mut player = SimulatedPlayer::new(harp, sample_rate, 1).with_room(f64::NEG_INFINITY);
        let rate = player.sample_rate();
        for slur in Slur::all(notes) {
            let Some(first) = slur.first() else { continue };
            let bend_s = match first.way.technique {
                Technique::Natural => 0.0,
                Technique::Bend(_) | Technique::Overbend => BEND_S.min(0.2 * first.length_s),
            };
            let held_s = (SOUNDS * slur.length_s() - RELEASE_S - bend_s).max(LEAST_S);
            let gesture = Gesture::chord(&first.ways()).level(LEVEL_DBFS).seconds(held_s);
            let gesture = if bend_s > 0.0 { gesture.glide(bend_s) } else { gesture };
            player.play_at(&slur.onto(gesture), (lead_s + first.onset_s) * rate)?;
        }
        Ok(Self { player })
    }

    /// Samples per second.
    pub fn sample_rate(&self) -> f64 {
        self.player.sample_rate()
    }

    /// Renders the next samples; says how many, 0 when the last note has died away.
    pub fn fill(&mut self, out: &mut [f32]) -> usize {
        if self.player.is_idle() {
            return 0;
        }
        self.player.fill(out);
        out.len()
    }
}
