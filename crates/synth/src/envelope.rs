//! Loudness over a note: attack, held, release.

use crate::curve::Curve;

/// The amplitude of a note over its time, 0 to 1. Raised cosines at both ends (our choice): they begin and
/// end at exact times and splash little energy beside the partials.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Envelope {
    /// Seconds from silence to full.
    pub(crate) attack: f64,
    /// Seconds from the start until the release begins.
    pub(crate) held_until: f64,
    /// Seconds from full to silence.
    pub(crate) release: f64,
}

impl Envelope {
    /// Amplitude `t` seconds after the start.
    pub(crate) fn at(&self, t: f64) -> f64 {
        if (self.attack..self.held_until).contains(&t) {
            return 1.0;
        }
        Curve::Smooth.at(t / self.attack) * (1.0 - Curve::Smooth.at((t - self.held_until) / self.release))
    }
}

/// Seconds from full to silence at the end of every note (our choice).
pub(crate) const RELEASE_S: f64 = 0.04;

/// Attack of a reed of `hz`, seconds: 60 ms at 150 Hz and below, 20 ms at 1500 Hz and above (our choice; that
/// low reeds speak more slowly is common practice, no source).
pub(crate) fn attack_s(hz: f64) -> f64 {
    let octaves_up = (hz / 150.0).log10().clamp(0.0, 1.0);
    0.060 - 0.040 * octaves_up
}
