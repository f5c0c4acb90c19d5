//! When to complain about the level: a rest between notes is no reason, a whole phrase too soft is.

use sound::{LevelReading, Loudness};

/// This much soft sound and none that is good means that the microphone is too far away, seconds. The tails of notes
/// and the breath between them do not add up to it.
const SOFT_S: f64 = 6.0;

/// What stands no further than this above the quietest of late is the room, not somebody who plays, dB.
const ABOVE_THE_ROOM_DB: f32 = 6.0;

/// A room may become louder; this is how fast that is believed, dB a second.
const ROOM_RISES_DB_PER_S: f32 = 0.5;

/// A complaint about clipping stands this long after the last clipped sample, seconds.
const CLIPPED_S: f64 = 2.0;

/// What is wrong with the level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Complaint {
    /// Nothing.
    None,
    /// All sound of late was too weak to judge.
    TooQuiet,
    /// Samples are cut off.
    Clipping,
    /// The player cannot be heard through what the loudspeaker sounds.
    BandTooLoud,
}

/// Watches the level of a stream.
pub(crate) struct LevelWatch {
    sample_rate: f64,
    now: u64,
    /// The last time at which it clipped.
    clipped: Option<u64>,
    /// Samples of soft sound since the level was last good.
    soft: u64,
    /// The level of the room, dBFS: the quietest of late.
    room_dbfs: f32,
    said: Complaint,
}

impl LevelWatch {
    /// A watch for a stream of `sample_rate` samples a second.
    pub(crate) fn new(sample_rate: f64) -> Self {
        Self { sample_rate, now: 0, clipped: None, soft: 0, room_dbfs: 0.0, said: Complaint::None }
    }

    /// Takes the level after `samples` more samples, and whether the player cannot be heard through what we sound; says
    /// what there is to complain about, if that has changed.
    pub(crate) fn see(
        &mut self,
        (level, hides_player): (LevelReading, bool),
        samples: usize,
    ) -> Option<Complaint> {
        self.now += samples as u64;
        let rise_db = ROOM_RISES_DB_PER_S * (samples as f64 / self.sample_rate) as f32;
        self.room_dbfs = level.rms_dbfs.min(self.room_dbfs + rise_db);
        let played = level.rms_dbfs > self.room_dbfs + ABOVE_THE_ROOM_DB;
        match level.loudness {
            Loudness::Silent => {}
            Loudness::TooQuiet => self.soft += if played { samples as u64 } else { 0 },
            Loudness::Good | Loudness::Loud => self.soft = 0,
            Loudness::Clipping => {
                self.soft = 0;
                self.clipped = Some(self.now);
            }
        }
        // Where nothing can be heard of the player, the level is the band's.
        let complaint = if hides_player { Complaint::BandTooLoud } else { self.complaint() };
        let changed = complaint != self.said;
        self.said = complaint;
        changed.then_some(complaint)
    }

    fn complaint(&self) -> Complaint {
        let seconds = |samples: u64| samples as f64 / self.sample_rate;
        if self.clipped.is_some_and(|then| seconds(self.now - then) < CLIPPED_S) {
            Complaint::Clipping
        } else if seconds(self.soft) > SOFT_S {
            Complaint::TooQuiet
        } else {
            Complaint::None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: (Loudness, f32) = (Loudness::TooQuiet, -62.0);
    const SOFT: (Loudness, f32) = (Loudness::TooQuiet, -50.0);
    const GOOD: (Loudness, f32) = (Loudness::Good, -20.0);
    const CUT_OFF: (Loudness, f32) = (Loudness::Clipping, -3.0);

    /// Every change after stretches of (level, seconds), in steps of a tenth of a second.
    fn changes(stretches: &[((Loudness, f32), u32)]) -> Vec<Complaint> {
        let mut watch = LevelWatch::new(1000.0);
        let steps = stretches.iter().flat_map(|(level, s)| std::iter::repeat_n(*level, *s as usize * 10));
        let level = |(loudness, rms_dbfs)| LevelReading { peak_dbfs: rms_dbfs + 3.0, rms_dbfs, loudness };
        steps.filter_map(|step| watch.see((level(step), false), 100)).collect()
    }

    #[test]
    fn rests_between_notes_are_no_reason() {
        let phrase = [(ROOM, 2), (GOOD, 2), (SOFT, 4)].repeat(10);
        assert_eq!(changes(&phrase), []);
    }

    #[test]
    fn the_noise_of_a_room_is_no_reason() {
        assert_eq!(changes(&[(ROOM, 60)]), []);
        let silent = (Loudness::Silent, -90.0);
        assert_eq!(changes(&[(silent, 10), (ROOM, 4), (silent, 60)]), [], "a door for a while");
    }

    #[test]
    fn a_soft_phrase_and_a_clipped_one_are() {
        let soft = changes(&[(ROOM, 1), (SOFT, 4), (ROOM, 3), (SOFT, 4), (GOOD, 1)]);
        assert_eq!(soft, [Complaint::TooQuiet, Complaint::None]);
        let clipped = changes(&[(CUT_OFF, 1), (GOOD, 5)]);
        assert_eq!(clipped, [Complaint::Clipping, Complaint::None]);
    }
}
