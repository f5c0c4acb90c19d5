//! Frames that were handed to a loudspeaker in one go, as the callback tells them.

#![deny(clippy::indexing_slicing, clippy::disallowed_methods, clippy::disallowed_macros)]

/// The most frames of a piece: as many as the callback takes out of its ring at once.
pub(crate) const STAGE: usize = 256;

/// A few frames and their place; a copy of it allocates nothing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    /// The number of the first one.
    pub(crate) first: u64,
    len: usize,
    samples: [f32; STAGE],
}

impl Piece {
    /// These frames, of which no more than `STAGE` count.
    pub(crate) fn new(first: u64, frames: &[f32]) -> Self {
        let mut samples = [0.0; STAGE];
        for (place, x) in samples.iter_mut().zip(frames) {
            *place = *x;
        }
        Self { first, len: frames.len().min(STAGE), samples }
    }

    /// The frames.
    pub(crate) fn frames(&self) -> &[f32] {
        self.samples.get(..self.len).unwrap_or_default()
    }
}
