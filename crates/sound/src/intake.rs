//! The real-time side of the ring: what a device's callback does with a block.
//!
//! Nothing here allocates, locks, logs, sleeps or panics; a test under `assert_no_alloc` and the lints of this crate's
//! `.clippy.toml` hold it to that.

#![deny(clippy::indexing_slicing, clippy::disallowed_methods, clippy::disallowed_macros)]

use crate::host_time::{Anchor, HostTime};
use crate::picker::Picker;
use crate::tap::{Gap, Tap};
use cpal::{FromSample, Sample};
use ringbuf::traits::{Observer, Producer, Split};
use ringbuf::{HeapProd, HeapRb};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// Seconds of sound that the ring holds before samples are lost.
const RING_SECONDS: f64 = 2.0;
/// Once samples have been lost, all that come are thrown away until no more than this is left to be read, seconds.
/// After a standstill of the process a sound server hands in all at once what it has kept, and a reader who fetches it
/// piece by piece would otherwise meet a gap after every piece.
const CAUGHT_UP_SECONDS: f64 = 0.1;
/// Gaps that can wait to be told. While all are taken, a gap grows instead.
const GAPS: usize = 64;
/// Anchors that can wait: a full ring of blocks of 5 ms, as PulseAudio sends them, and some more. While all are taken,
/// the ones that come are left out: a block is dated by its neighbour just as well.
const ANCHORS: usize = 512;
/// Samples that are gathered before they go into the ring in one piece.
const STAGE: usize = 256;

/// What the callback counts; read by other threads at leisure.
#[derive(Default)]
pub(crate) struct Tally {
    /// Times that the callback has run.
    pub(crate) calls: Arc<AtomicU64>,
    /// Frames that have arrived.
    pub(crate) frames: AtomicU64,
    /// Samples of the chosen channel that found the ring full.
    pub(crate) dropped: AtomicU64,
    /// Samples that were NaN or infinite.
    pub(crate) non_finite: AtomicU64,
    /// Whether any sample has been other than zero.
    pub(crate) sounded: AtomicBool,
}

/// Takes blocks in and puts the chosen channel into the ring.
pub(crate) struct Intake {
    samples: HeapProd<f32>,
    gaps: HeapProd<Gap>,
    anchors: HeapProd<Anchor>,
    picker: Picker,
    tally: Arc<Tally>,
    stage: [f32; STAGE],
    frames: u64,
    pushed: u64,
    /// Samples lost since the last one that went in.
    lost: u64,
    /// Free places in the ring from which on samples go in again after a loss.
    caught_up: usize,
}

impl Intake {
    /// A ring for `rate` samples a second and its other end.
    pub(crate) fn new(picker: Picker, rate: f64) -> (Self, Tap) {
        let capacity = ((rate * RING_SECONDS).ceil() as usize).max(STAGE);
        let (samples, out) = HeapRb::new(capacity).split();
        let (gaps, told) = HeapRb::new(GAPS).split();
        let (anchors, dated) = HeapRb::new(ANCHORS).split();
        let tap = Tap::new(out, told, dated);
        let intake = Self {
            samples,
            gaps,
            anchors,
            picker,
            tally: Arc::new(Tally::default()),
            stage: [0.0; STAGE],
            frames: 0,
            pushed: 0,
            lost: 0,
            caught_up: capacity - (rate * CAUGHT_UP_SECONDS) as usize,
        };
        (intake, tap)
    }

    pub(crate) fn tally(&self) -> Arc<Tally> {
        Arc::clone(&self.tally)
    }

    /// Samples in a frame.
    pub(crate) fn channels(&self) -> usize {
        self.picker.channels()
    }

    /// Samples that fit into the ring now.
    pub(crate) fn vacant(&self) -> usize {
        self.samples.vacant_len()
    }

    /// Takes a block of interleaved frames of any length, which was handed in `at` this moment; a frame that is not
    /// whole is left out.
    pub(crate) fn take<T>(&mut self, block: &[T], at: HostTime)
    where
        T: Sample,
        f32: FromSample<T>,
    {
        let channels = self.picker.channels();
        self.frames += (block.len() / channels) as u64;
        // The anchor goes ahead of its samples; it is left out if there is no room.
        let _ = self.anchors.try_push(Anchor { frame: self.frames, at });
        let mut sounded = false;
        for part in block.chunks(STAGE * channels) {
            let mut staged = 0;
            for (slot, frame) in self.stage.iter_mut().zip(part.chunks_exact(channels)) {
                *slot = self.picker.pick(frame);
                sounded |= *slot != 0.0;
                staged += 1;
            }
            self.push(staged);
        }
        self.tally.calls.fetch_add(1, Ordering::Relaxed);
        self.tally.frames.store(self.frames, Ordering::Relaxed);
        self.tally.non_finite.store(self.picker.non_finite(), Ordering::Relaxed);
        if sounded {
            self.tally.sounded.store(true, Ordering::Relaxed);
        }
    }

    /// Sends the staged samples off. A gap is announced before the sample that follows it, so that the reader can
    /// never meet that sample without knowing.
    fn push(&mut self, staged: usize) {
        let vacant = self.samples.vacant_len();
        let wanted = if self.lost > 0 { self.caught_up } else { 1 };
        let open = vacant >= wanted && self.announce_gap();
        let Some(staged) = self.stage.get(..staged) else { return };
        let mut taken = 0;
        if open {
            self.lost = 0;
            taken = self.samples.push_slice(staged);
        }
        let dropped = (staged.len() - taken) as u64;
        self.pushed += taken as u64;
        self.lost += dropped;
        self.tally.dropped.fetch_add(dropped, Ordering::Relaxed);
    }

    /// False when the gap has to wait, and the samples behind it with it.
    fn announce_gap(&mut self) -> bool {
        self.lost == 0 || self.gaps.try_push(Gap { at: self.pushed, lost: self.lost }).is_ok()
    }
}

#[cfg(test)]
mod tests;
