//! The newest stretch of a signal, in one piece.

/// Keeps the last `keep` samples contiguous, without allocating after it is made.
#[derive(Clone, Debug)]
pub(crate) struct History {
    buffer: Vec<f32>,
    keep: usize,
    end: usize,
}

impl History {
    /// A history of `keep` samples of silence.
    pub(crate) fn new(keep: usize) -> Self {
        Self { buffer: vec![0.0; 2 * keep], keep, end: keep }
    }

    /// Adds the newest sample.
    pub(crate) fn push(&mut self, sample: f32) {
        if self.end == self.buffer.len() {
            self.buffer.copy_within(self.end - self.keep.., 0);
            self.end = self.keep;
        }
        self.buffer[self.end] = sample;
        self.end += 1;
    }

    /// The last `count` samples, oldest first; at most as many as are kept.
    pub(crate) fn last(&self, count: usize) -> &[f32] {
        &self.buffer[self.end - count.min(self.keep)..self.end]
    }

    /// Back to silence.
    pub(crate) fn clear(&mut self) {
        self.buffer.fill(0.0);
        self.end = self.keep;
    }
}
