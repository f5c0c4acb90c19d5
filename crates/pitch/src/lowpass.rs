//! The low pass before a decimation: the impulse response of a Chebyshev filter of the second kind, which has no ripple
//! where harmonics are used, and the least delay that its magnitude allows.

use rustfft::num_complex::Complex;
use std::f64::consts::PI;

/// Edge of the pass band: harmonics are used up to here, cycles per sample of the output rate.
pub(crate) const PASS: f64 = 0.40;
/// Attenuation from the folding edge on, decibels. A harmonic that folded, even to where no harmonic is used, would be
/// heard by the correlation as something that does not repeat: where the third of a high note is its strongest, that
/// hides it.
const STOP_DB: f64 = 66.0;
/// Poles of the filter. With this many it is 0.1 to 3 dB down at the edge of the pass band; with 10 of them up to 12 dB.
const ORDER: usize = 12;

/// The response to an impulse, for a decimation by `factor`: an analogue filter carried over by the bilinear transform,
/// which leaves the folding edge in its place (Oppenheim & Schafer, Discrete-Time Signal Processing, section 7.1 and
/// appendix B). What follows its last tap is too small to matter (below the stop band).
pub(crate) fn response(factor: usize) -> Vec<f64> {
    if factor == 1 {
        return vec![1.0];
    }
    let mut taps = vec![0.0; 4 * ORDER * factor];
    taps[0] = 1.0;
    let edge = (0.5 * PI / factor as f64).tan();
    let axis = 10.0_f64.powf(STOP_DB / 20.0).asinh() / ORDER as f64;
    for section in 0..ORDER / 2 {
        let angle = (section as f64 + 0.5) * PI / ORDER as f64;
        let analogue = edge / Complex::new(-axis.sinh() * angle.sin(), axis.cosh() * angle.cos());
        let pole = (1.0 + analogue) / (1.0 - analogue);
        let zeros = -2.0 * (2.0 * (edge / angle.cos()).atan()).cos();
        let poles = [-2.0 * pole.re, pole.norm_sqr()];
        let gain = (1.0 + poles[0] + poles[1]) / (2.0 + zeros);
        // Two poles, and two zeros on the unit circle, in the transposed direct form II.
        let mut state = [0.0; 2];
        for tap in &mut taps {
            let x = gain * *tap;
            *tap = x + state[0];
            state = [zeros * x - poles[0] * *tap + state[1], x - poles[1] * *tap];
        }
    }
    taps
}
