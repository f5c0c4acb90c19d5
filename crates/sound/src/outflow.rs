//! The real-time side of the speaker's ring: what the output callback does with a block.
//!
//! As in `intake`, nothing here allocates, locks, logs, sleeps or panics.

#![deny(clippy::indexing_slicing, clippy::disallowed_methods, clippy::disallowed_macros)]

use cpal::{FromSample, Sample};
use ringbuf::HeapCons;
use ringbuf::traits::Consumer;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Samples that are taken out of the ring in one piece.
const STAGE: usize = 256;

/// Takes samples out of a ring and gives them to all channels of a device.
pub(crate) struct Outflow {
    samples: HeapCons<f32>,
    channels: usize,
    calls: Arc<AtomicU64>,
    stage: [f32; STAGE],
}

impl Outflow {
    pub(crate) fn new(samples: HeapCons<f32>, channels: u16, calls: Arc<AtomicU64>) -> Self {
        Self { samples, channels: usize::from(channels.max(1)), calls, stage: [0.0; STAGE] }
    }

    /// Fills a block of interleaved frames; silence where the ring has nothing.
    pub(crate) fn give<T>(&mut self, block: &mut [T])
    where
        T: Sample + FromSample<f32>,
    {
        for part in block.chunks_mut(STAGE * self.channels) {
            let frames = part.len().div_ceil(self.channels);
            let Some(stage) = self.stage.get_mut(..frames) else { return };
            stage.fill(0.0);
            self.samples.pop_slice(stage);
            for (frame, &x) in part.chunks_mut(self.channels).zip(stage.iter()) {
                frame.fill(T::from_sample(x));
            }
        }
        self.calls.fetch_add(1, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests;
