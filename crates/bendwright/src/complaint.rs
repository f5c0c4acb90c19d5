//! When to complain about the level: a rest between notes is no reason, a whole phrase too soft is.

use sound::Loudness;

/// This much soft sound and none that is good means that the microphone is too far away, seconds. The tails of notes
/// and the breath between them do not add up to it.
const SOFT_S: f64 = 6.0;

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
}

/// Watches the level of a stream.
pub(crate) struct LevelWatch {
    sample_rate: f64,
    now: u64,
    /// The last time at which it clipped.
    clipped: Option<u64>,
    /// Samples of soft sound since the level was last good.
    soft: u64,
    said: Complaint,
}

impl LevelWatch {
    /// A watch for a stream of `sample_rate` samples a second.
    pub(crate) fn new(sample_rate: f64) -> Self {
        Self { sample_rate, now: 0, clipped: None, soft: 0, said: Complaint::None }
    }

    /// Takes the level after `samples` more samples; says what there is to complain about, if that has changed.
    pub(crate) fn see(&mut self, loudness: Loudness, samples: usize) -> Option<Complaint> {
        self.now += samples as u64;
        match loudness {
            Loudness::Silent => {}
            Loudness::TooQuiet => self.soft += samples as u64,
            Loudness::Good | Loudness::Loud => self.soft = 0,
            Loudness::Clipping => {
                self.soft = 0;
                self.clipped = Some(self.now);
            }
        }
        let complaint = self.complaint();
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

    /// Every change after stretches of (level, seconds), in steps of a tenth of a second.
    fn changes(stretches: &[(Loudness, u32)]) -> Vec<Complaint> {
        let mut watch = LevelWatch::new(1000.0);
        let steps =
            stretches.iter().flat_map(|(loudness, s)| std::iter::repeat_n(*loudness, *s as usize * 10));
        steps.filter_map(|loudness| watch.see(loudness, 100)).collect()
    }

    #[test]
    fn rests_between_notes_are_no_reason() {
        let phrase = [(Loudness::Good, 2), (Loudness::TooQuiet, 4)].repeat(10);
        assert_eq!(changes(&phrase), []);
        assert_eq!(changes(&[(Loudness::TooQuiet, 1), (Loudness::Silent, 60)]), []);
    }

    #[test]
    fn a_soft_phrase_and_a_clipped_one_are() {
        let soft = changes(&[
            (Loudness::TooQuiet, 4),
            (Loudness::Silent, 3),
            (Loudness::TooQuiet, 4),
            (Loudness::Good, 1),
        ]);
        assert_eq!(soft, [Complaint::TooQuiet, Complaint::None]);
        let clipped = changes(&[(Loudness::Clipping, 1), (Loudness::Good, 5)]);
        assert_eq!(clipped, [Complaint::Clipping, Complaint::None]);
    }
}
