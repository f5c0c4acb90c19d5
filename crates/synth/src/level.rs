//! Decibels.

/// The root mean square of a signal at `dbfs` decibels relative to a full-scale sine (AES17: a sine that just
/// reaches full scale is at 0 dBFS, so its RMS of 1/√2 is).
pub(crate) fn rms(dbfs: f64) -> f64 {
    amplitude(dbfs) * std::f64::consts::FRAC_1_SQRT_2
}

/// The peak amplitude of a sine at `dbfs` decibels relative to full scale: `10^(dB/20)`.
pub fn amplitude(dbfs: f64) -> f64 {
    10f64.powf(dbfs / 20.0)
}

/// The level of some samples in decibels relative to a full-scale sine (AES17); −∞ for silence or for no
/// samples.
pub fn dbfs(samples: &[f32]) -> f64 {
    let power: f64 = samples.iter().map(|x| f64::from(*x).powi(2)).sum();
    10.0 * (2.0 * power / samples.len().max(1) as f64).log10()
}
