//! The reading side of the ring.

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
    Samples(usize),
    Gap(u64),
}

/// Hands out what the callback put in, and tells gaps where they are.
pub(crate) struct Tap {
    samples: HeapCons<f32>,
    gaps: HeapCons<Gap>,
    next_gap: Option<Gap>,
    popped: u64,
}

impl Tap {
    pub(crate) fn new(samples: HeapCons<f32>, gaps: HeapCons<Gap>) -> Self {
        Self { samples, gaps, next_gap: None, popped: 0 }
    }

    /// Reads up to the length of `buf`, never across a gap.
    pub(crate) fn draw(&mut self, buf: &mut [f32]) -> Drawn {
        // The callback may announce a gap at any moment, always before the first sample that follows it. So the
        // samples are counted first: a gap that lies inside this count has been announced by then.
        let ready = self.samples.occupied_len() as u64;
        if self.next_gap.is_none() {
            self.next_gap = self.gaps.try_pop();
        }
        let until_gap = match self.next_gap {
            Some(gap) if gap.at == self.popped => {
                self.next_gap = None;
                return Drawn::Gap(gap.lost);
            }
            Some(gap) => gap.at - self.popped,
            None => u64::MAX,
        };
        let wanted = ready.min(until_gap).min(buf.len() as u64) as usize;
        let Some(buf) = buf.get_mut(..wanted) else { return Drawn::Nothing };
        let got = self.samples.pop_slice(buf);
        self.popped += got as u64;
        if got == 0 { Drawn::Nothing } else { Drawn::Samples(got) }
    }
}
