//! Decibels.

/// The root mean square of a signal at `dbfs` decibels relative to a full-scale sine (AES17: a sine that just
/// reaches full scale is at 0 dBFS, so its RMS of 1/√2 is).
pub(crate) fn rms(dbfs: f64) -> f64 {
    amplitude(dbfs) * std::f64::consts::FRAC_1_SQRT_2
}

/// The peak amplitude of a sine at `dbfs` decibels relative to full scale: `10^(dB/20)`.
pub(crate) fn amplitude(dbfs: f64) -> f64 {
    10f64.powf(dbfs / 20.0)
}
