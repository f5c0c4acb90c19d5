//! The stream that both listeners share: cleaned samples, the newest of them in one piece, and a beat for readings.

use crate::front::Front;
use crate::history::History;

/// Takes samples in and says when a reading is due.
#[derive(Clone, Debug)]
pub(crate) struct Stream {
    front: Front,
    history: History,
    hop: usize,
    pending: usize,
    arrived: u64,
}

impl Stream {
    /// A stream behind `front` that keeps the last `keep` samples of the working rate and is read every `hop` of them.
    pub(crate) fn new(front: Front, keep: usize, hop: usize) -> Self {
        Self { front, history: History::new(keep), hop, pending: 0, arrived: 0 }
    }

    /// Input samples to one of the working rate.
    pub(crate) fn factor(&self) -> usize {
        self.front.factor()
    }

    /// Input samples taken in so far.
    pub(crate) fn arrived(&self) -> u64 {
        self.arrived
    }

    /// The samples that are kept, at the working rate, oldest first.
    pub(crate) fn newest(&self) -> &[f32] {
        self.history.all()
    }

    /// The input sample that lies `ago` samples of the working rate back.
    pub(crate) fn time(&self, ago: f64) -> u64 {
        let lag = ago * self.front.factor() as f64 + self.front.delay();
        self.arrived.saturating_sub(lag.round() as u64)
    }

    /// Takes one sample in, of which `clean` takes what is not to be heard; true if a reading is due.
    pub(crate) fn take(&mut self, sample: f32, clean: impl FnOnce(f32) -> f32) -> bool {
        self.arrived += 1;
        let Some(x) = self.front.push(sample) else { return false };
        self.history.push(clean(x));
        self.pending = (self.pending + 1) % self.hop;
        self.pending == 0
    }

    /// Forgets everything; the next sample is number 0 of a new stream.
    pub(crate) fn reset(&mut self) {
        self.front.reset();
        self.history.reset();
        (self.pending, self.arrived) = (0, 0);
    }
}
