//! The reading side of the ring.

use crate::host_time::{Anchor, HostTime};
use ringbuf::HeapCons;
use ringbuf::traits::{Consumer, Observer};

/// Samples that were lost, and after how many delivered ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Gap {
    pub(crate) at: u64,
    pub(crate) lost: u64,
}

/// What one reading from the ring brought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Drawn {
    Nothing,
    /// This many, and when they came.
    Samples(usize, Option<Arrival>),
    Gap(u64),
}

/// When a callback handed samples in, told as a distance from the first sample of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Arrival {
    /// Frames from the first sample of the reading to the end of the callback's block; negative if that callback came
    /// before the sample did.
    pub(crate) ahead: i64,
    pub(crate) at: HostTime,
}

/// Hands out what the callback put in, and tells gaps where they are.
pub(crate) struct Tap {
    samples: HeapCons<f32>,
    gaps: HeapCons<Gap>,
    anchors: HeapCons<Anchor>,
    next_gap: Option<Gap>,
    anchor: Option<Anchor>,
    popped: u64,
    /// Samples that were lost before the ones that come next.
    lost: u64,
}

impl Tap {
    pub(crate) fn new(samples: HeapCons<f32>, gaps: HeapCons<Gap>, anchors: HeapCons<Anchor>) -> Self {
        Self { samples, gaps, anchors, next_gap: None, anchor: None, popped: 0, lost: 0 }
    }

    /// Reads up to the length of `buf`, never across a gap.
    pub(crate) fn draw(&mut self, buf: &mut [f32]) -> Drawn {
        // The callback may announce a gap or an anchor at any moment, always before the first sample that it belongs
        // to. So the samples are counted first: what belongs to them has been announced by then.
        let ready = self.samples.occupied_len() as u64;
        if self.next_gap.is_none() {
            self.next_gap = self.gaps.try_pop();
        }
        let until_gap = match self.next_gap {
            Some(gap) if gap.at == self.popped => {
                self.next_gap = None;
                self.lost += gap.lost;
                return Drawn::Gap(gap.lost);
            }
            Some(gap) => gap.at - self.popped,
            None => u64::MAX,
        };
        let wanted = ready.min(until_gap).min(buf.len() as u64) as usize;
        let Some(buf) = buf.get_mut(..wanted) else { return Drawn::Nothing };
        let got = self.samples.pop_slice(buf);
        if got == 0 {
            return Drawn::Nothing;
        }
        let arrival = self.arrival(self.popped + self.lost);
        self.popped += got as u64;
        Drawn::Samples(got, arrival)
    }

    /// Looks up the callback that brought the frame `first`. Should its anchor have found no room, the nearest one
    /// serves.
    fn arrival(&mut self, first: u64) -> Option<Arrival> {
        while self.anchor.is_none_or(|anchor| anchor.frame <= first) {
            let Some(next) = self.anchors.try_pop() else { break };
            self.anchor = Some(next);
        }
        let distance = |anchor: Anchor| anchor.frame.wrapping_sub(first).cast_signed();
        self.anchor.map(|anchor| Arrival { ahead: distance(anchor), at: anchor.at })
    }
}
