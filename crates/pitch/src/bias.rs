//! The bias of windows that are too short to resolve a second reed beside the note.
//!
//! Such a window gives a pitch that swings about the true pitch at the difference of the two. The variance of the swing is
//! added to the variance of the window. A note that moves leans to one side instead, for longer than a beat lasts.

/// Share of a new frame in the running mean and variance: a time constant of 28 ms.
const NEWS: f64 = 0.09;
/// The windows lean if the square of the mean exceeds this much of the variance. Measured: a swing of 14 Hz reaches 0.44,
/// and one of 8 Hz 1.6.
const LEAN: f64 = 0.6;

/// Running mean and variance of the distance of one kind of window from the note fitted along with its neighbour, cycles
/// per sample.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Bias {
    mean: f64,
    variance: f64,
}

impl Bias {
    /// Takes the distance of one more window into account; gives the standard deviation of the bias.
    pub(crate) fn see(&mut self, off: f64) -> f64 {
        self.mean += (off - self.mean) * NEWS;
        self.variance += ((off - self.mean).powi(2) - self.variance) * NEWS;
        self.variance.sqrt()
    }

    /// Whether the windows lean to one side: the note has moved on.
    pub(crate) fn leans(&self) -> bool {
        self.mean.powi(2) > LEAN * self.variance
    }
}
