//! Measures a sine without the project's own pitch code: two windows are compared in phase.

use std::f64::consts::TAU;

/// Complex amplitude at `hz`, through a Hann window.
fn tone(samples: &[f32], hz: f64, rate: f64) -> (f64, f64) {
    let n = samples.len() as f64;
    samples.iter().enumerate().fold((0.0, 0.0), |(re, im), (k, &x)| {
        let k = k as f64;
        let w = f64::from(x) * (1.0 - (TAU * k / n).cos()) / n;
        let phase = TAU * hz * k / rate;
        (re + 2.0 * w * phase.cos(), im - 2.0 * w * phase.sin())
    })
}

/// Amplitude of a sine near `hz`.
pub(crate) fn amplitude(samples: &[f32], hz: f64, rate: f64) -> f64 {
    let (re, im) = tone(samples, hz, rate);
    re.hypot(im)
}

/// How many cents the sine in `samples` is from `hz`, from how its phase advances between two halves. Right within
/// ±1 / duration hertz.
pub(crate) fn cents_from(samples: &[f32], hz: f64, rate: f64) -> f64 {
    let half = samples.len() / 2;
    let phase = |part| {
        let (re, im) = tone(part, hz, rate);
        im.atan2(re)
    };
    let off = phase(&samples[half..2 * half]) - phase(&samples[..half]) - TAU * hz * half as f64 / rate;
    let off = (off + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
    1200.0 * (1.0 + off / TAU / (half as f64 / rate) / hz).log2()
}

/// The root mean square.
pub(crate) fn rms(samples: &[f32]) -> f64 {
    (samples.iter().map(|&x| f64::from(x).powi(2)).sum::<f64>() / samples.len() as f64).sqrt()
}
