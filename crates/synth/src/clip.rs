//! An overdriven input.

/// Cuts every sample off at ±`limit`, as a converter does that is fed too much.
///
/// For "so many decibels of clipping" let the limit lie that far below the highest peak.
pub fn clip(samples: &mut [f32], limit: f32) {
    let limit = limit.abs();
    for sample in samples {
        *sample = sample.clamp(-limit, limit);
    }
}
