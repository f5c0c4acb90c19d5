//! Whether the player could be heard through what the program itself sounds, where single notes, chords and answers are judged.

use crate::Timebase;
use scoring::timed::Masked;

/// A try that was hidden for this long in all is not called wrong, seconds: a short note.
const HIDDEN_S: f64 = 0.1;
/// What was hidden so long before a try began counts as well, seconds: the note may have begun there, or the note before may have
/// ended there and gone on sounding. It is as long as a silence that ends a note.
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

    /// The same of a try that began at this sample.
    pub(crate) fn excuses_try(&self, began: u64, base: Timebase) -> bool {
        self.excuses(began.saturating_sub(base.samples(BEFORE_S)), base)
    }

    /// Whether what comes after this sample is hidden: then what is missing after it was left out because of what the program sounds.
    pub(crate) fn goes_beyond(&self, sample: u64, base: Timebase) -> bool {
        self.masked.lasts_s(sample, base.rate) > 0.0
    }
}
