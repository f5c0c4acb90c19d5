//! Whether the player could be heard through what the program itself sounds, where single notes, chords and answers are
//! judged.

use crate::Timebase;
use scoring::timed::Masked;

/// A try of which at least this much in all was hidden is not called wrong, seconds: the length of a short note.
const HIDDEN_S: f64 = 0.1;
/// What was hidden up to this long before a try began counts as well, seconds: the note may have begun there, or the
/// note before may have ended there and gone on sounding. It is longer than the silence that ends a note
/// (`RELEASED_S`).
const BEFORE_S: f64 = 0.1;

/// The stretches in which the player may have been hidden, in samples of one stream.
#[derive(Clone, Debug, Default)]
pub(crate) struct Hidden {
    masked: Masked,
}

impl Hidden {
    /// Between these two samples the player could not be told from what the program sounds.
    pub(crate) fn add(&mut self, (from, until): (u64, u64), base: Timebase) {
        self.masked.add(from, until, base.rate);
    }

    /// Whether what was heard from this sample until now may be wrong only because the player was hidden.
    pub(crate) fn excuses(&self, from: u64, base: Timebase) -> bool {
        self.masked.lasts_s(from, base.rate) >= HIDDEN_S
    }

    /// Whether a try that began at this sample may be wrong only because the player was hidden.
    pub(crate) fn excuses_try(&self, began: u64, base: Timebase) -> bool {
        self.excuses(began.saturating_sub(base.samples(BEFORE_S)), base)
    }

    /// Whether anything after this sample is hidden: then the samples that are missing there were left out because of
    /// what the program sounds.
    pub(crate) fn goes_beyond(&self, sample: u64, base: Timebase) -> bool {
        self.masked.lasts_s(sample, base.rate) > 0.0
    }
}
