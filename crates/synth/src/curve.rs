//! How a pitch moves from one place to another.

/// The shape of a slide, in cents over time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Curve {
    /// The same number of cents in every moment.
    Linear,
    /// Starts and stops gently (raised cosine).
    #[default]
    Smooth,
}

impl Curve {
    /// How far along the slide is, 0 to 1, when the share `x` of its time (clamped to 0..1) has gone by.
    pub(crate) fn at(self, x: f64) -> f64 {
        let x = x.clamp(0.0, 1.0);
        match self {
            Self::Linear => x,
            Self::Smooth => (1.0 - (std::f64::consts::PI * x).cos()) / 2.0,
        }
    }
}
