//! The newest stretch of the signal, in one piece.

/// Keeps at least the last `keep` samples contiguous, without ever allocating after it is made.
#[derive(Clone, Debug)]
pub struct History {
    buffer: Vec<f32>,
    keep: usize,
    end: usize,
}

impl History {
    /// A history of `keep` samples of silence.
    pub fn new(keep: usize) -> Self {
        Self { buffer: vec![0.0; 4 * keep], keep, end: keep }
    }

    /// Adds the newest sample.
    pub fn push(&mut self, sample: f32) {
        if self.end == self.buffer.len() {
            self.buffer.copy_within(self.end - self.keep.., 0);
            self.end = self.keep;
        }
        self.buffer[self.end] = sample;
        self.end += 1;
    }

    /// The last `keep` samples, oldest first.
    pub fn all(&self) -> &[f32] {
        self.last(self.keep)
    }

    /// The last `count` samples, oldest first; at most as many as are kept.
    pub fn last(&self, count: usize) -> &[f32] {
        &self.buffer[self.end - count.min(self.keep)..self.end]
    }

    /// Back to silence.
    pub fn reset(&mut self) {
        self.buffer.fill(0.0);
        self.end = self.keep;
    }
}
