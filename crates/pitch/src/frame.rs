//! What is known of one frame of a held note before its pitch is estimated.

use crate::consensus::Estimate;
use crate::refine::Fit;

/// One frame of a held note.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame<'a> {
    /// The newest samples.
    pub(crate) history: &'a [f32],
    /// The same at an even level, while the note begins.
    pub(crate) level: &'a [f32],
    /// The fit over the shortest window.
    pub(crate) short: Fit,
    /// The pitch at the last frame.
    pub(crate) before: Estimate,
    /// Frames since the note began.
    pub(crate) age: u32,
    /// Share of the sound that does not repeat.
    pub(crate) noise_share: f64,
    /// Something louder has come on top of the note.
    pub(crate) louder: bool,
}
