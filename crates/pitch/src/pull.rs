//! What a neighbour does to a window too short to part it from the note: it pulls the pitch to and fro about the true
//! one. A note that moves leans to one side instead, and for longer than a beat lasts.

/// Share of a new look in what is usual.
const NEWS: f64 = 0.09;
/// A mean whose square is this much of the variance about it is a lean: a swing of 14 Hz reaches 0.44, one of 8 Hz 1.6.
const LEAN: f64 = 0.6;

/// How one kind of window strays from the note as it is apart from its neighbour, cycles per sample.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Pull {
    mean: f64,
    variance: f64,
}

impl Pull {
    /// Takes one more window into account, by how far it strays; tells the deviation to reckon with.
    pub(crate) fn see(&mut self, off: f64) -> f64 {
        self.mean += (off - self.mean) * NEWS;
        self.variance += ((off - self.mean).powi(2) - self.variance) * NEWS;
        self.variance.sqrt()
    }

    /// Whether the windows stray to one side: the note has moved on.
    pub(crate) fn leans(&self) -> bool {
        self.mean.powi(2) > LEAN * self.variance
    }
}
