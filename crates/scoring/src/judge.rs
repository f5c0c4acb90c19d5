//! One try, from silence to verdict.

use crate::{Target, Tolerance, Verdict};
use layout::Harp;
use pitch::Reading;

/// Listens to one try. Feed every reading; the last one of the try returns the verdict.
#[derive(Clone, Debug)]
pub struct Judge {
    target: Target,
}

/// The state of a try while it goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Live {
    /// A note is sounding.
    pub sounding: bool,
    /// Cents from the target now; `None` in silence.
    pub cents_off: Option<f64>,
    /// Seconds held near one pitch so far.
    pub held_s: f64,
    /// Seconds from the first sound until the target was first reached; `None` until then.
    pub reached_s: Option<f64>,
}

impl Judge {
    /// A judge for one try; `None` where the harp cannot play the target.
    pub fn new(harp: &Harp, target: Target, tolerance: Tolerance, sample_rate: f64) -> Option<Self> {
        let _ = (harp.hz(target.way)?, tolerance, sample_rate);
        Some(Self { target })
    }

    /// The target.
    pub fn target(&self) -> Target {
        self.target
    }

    /// Takes one reading; gives the verdict when the try is over.
    pub fn hear(&mut self, reading: &Reading) -> Option<Verdict> {
        let _ = reading;
        None
    }

    /// Samples were lost: a try that had begun ends as not scored, one that had not begins afresh.
    pub fn gap(&mut self) -> Option<Verdict> {
        None
    }

    /// How the try stands.
    pub fn live(&self) -> Live {
        Live::default()
    }
}
