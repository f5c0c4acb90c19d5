//! The real-time side of the speaker's ring: what the output callback does with a block.
//!
//! As in `intake`, nothing here allocates, locks, logs, sleeps or panics.
//!
//! The samples in the ring are numbered, and sample n is meant for frame n of the device. What comes too late for its
//! frame is thrown away, so that the rest stays in time: a gap is never turned into a shift.

#![deny(clippy::indexing_slicing, clippy::disallowed_methods, clippy::disallowed_macros)]

use crate::host_time::{Anchor, HostTime, NewestAnchor};
use crate::piece::{Piece, STAGE};
use cpal::{FromSample, Sample};
use ringbuf::traits::{Consumer, Producer};
use ringbuf::{HeapCons, HeapProd};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// What the callback counts; read by other threads at leisure.
#[derive(Default)]
pub(crate) struct Given {
    /// Times that the callback has run.
    pub(crate) calls: Arc<AtomicU64>,
    /// Frames that were handed out, and when.
    pub(crate) anchor: NewestAnchor,
    /// Samples that are still to come into the ring although their frames have passed.
    pub(crate) late: AtomicU64,
    /// Times that the ring ran dry.
    pub(crate) shortages: AtomicU64,
    /// Frames of silence that stood in for late samples.
    pub(crate) missing: AtomicU64,
    /// Whether the last block ended dry.
    pub(crate) short: AtomicBool,
}

/// Takes samples out of a ring and gives them to all channels of a device.
pub(crate) struct Outflow {
    samples: HeapCons<f32>,
    channels: usize,
    given: Arc<Given>,
    stage: [f32; STAGE],
    frames: u64,
    late: u64,
    /// Whether the ring has ever had enough. Before that the device waits for its first samples, and misses none.
    fed: bool,
    /// Receives a copy of what was handed out, if anybody wants it.
    told: Option<HeapProd<Piece>>,
}

impl Outflow {
    pub(crate) fn new(samples: HeapCons<f32>, channels: u16, given: Arc<Given>) -> Self {
        let channels = usize::from(channels.max(1));
        Self { samples, channels, given, stage: [0.0; STAGE], frames: 0, late: 0, fed: false, told: None }
    }

    /// Tells `told` what is handed out, piece by piece; what finds no room is left out.
    pub(crate) fn telling(self, told: HeapProd<Piece>) -> Self {
        Self { told: Some(told), ..self }
    }

    /// Fills a block of interleaved frames, which is handed out `at` this moment; silence where the ring has nothing.
    pub(crate) fn give<T>(&mut self, block: &mut [T], at: HostTime)
    where
        T: Sample + FromSample<f32>,
    {
        for part in block.chunks_mut(STAGE * self.channels) {
            let frames = part.len().div_ceil(self.channels);
            let Some(stage) = self.stage.get_mut(..frames) else { return };
            stage.fill(0.0);
            self.late -= self.samples.skip(self.late as usize) as u64;
            let got = self.samples.pop_slice(stage);
            for (frame, &x) in part.chunks_mut(self.channels).zip(stage.iter()) {
                frame.fill(T::from_sample(x));
            }
            if let Some(told) = &mut self.told {
                // If there is no room, nobody reads them.
                let _ = told.try_push(Piece::new(self.frames, stage));
            }
            self.frames += frames as u64;
            self.account(got, frames - got);
        }
        self.given.late.store(self.late, Ordering::Relaxed);
        self.given.calls.fetch_add(1, Ordering::Relaxed);
        self.given.anchor.store(Anchor { frame: self.frames, at });
    }

    /// Counts silence that nobody ordered. Pieces without any sample continue the shortage before them.
    fn account(&mut self, got: usize, missing: usize) {
        self.late += missing as u64;
        if !self.fed {
            self.fed = missing == 0;
            return;
        }
        let was_short = self.given.short.load(Ordering::Relaxed);
        if missing > 0 {
            self.given.shortages.fetch_add(u64::from(!was_short || got > 0), Ordering::Relaxed);
            self.given.missing.fetch_add(missing as u64, Ordering::Relaxed);
        }
        self.given.short.store(missing > 0, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests;
