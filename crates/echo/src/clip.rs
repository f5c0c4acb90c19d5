//! A loudspeaker that clips: what it makes of what it is handed.
//!
//! The way from a loudspeaker to a microphone is a filter `W`, but loud strokes drive many a loudspeaker beyond what it
//! can follow, and no filter makes what they then add. So what is handed to the loudspeaker goes through a curve before
//! the filter, and the curve is learnt beside the filter: an adaptive memoryless preprocessor (Stenger & Kellermann,
//! "Adaptation of a memoryless preprocessor for nonlinear acoustic echo cancelling", Signal Processing 80, 2000; from
//! memory). Theirs is a polynomial. A cubic goes astray at six times the RMS, where drums are, and wins 1 dB of the 16
//! dB that a loudspeaker driven to 0.3 of the RMS costs; the saturating curve `f(x) = x / sqrt(1 + q x²)` wins all but
//! 2 dB, though the loudspeakers of the bench follow another curve.
//!
//! Its one parameter `q` is found by recursive least squares. A `q` that is too small by `d` leaves `-d z`, where
//! `z = W * f(x)³ / 2`, because the derivative of `f(x)` by `q` is `-f(x)³ / 2`. `z` is compared with what is left bin
//! by bin, each weighted by the inverse of the variance that the filter expects, so that a bin in which the player is
//! heard counts little. The part of `z` along the echo `y` itself is not counted, since the filter has learnt that as
//! loudness; when `q` changes, the filter is made louder by as much.

use crate::transform::Transform;
use rustfft::num_complex::Complex;

/// Half-life of what was told of the curve, blocks: three seconds, because turning a volume knob changes the curve. One
/// second or ten make no difference in the bench.
const HALF: f32 = 48.0;
/// No loudspeaker squeezes what it is handed by more than this, as `q` times its mean square: 3 dB in the mean.
const MOST: f32 = 1.0;

/// The partitioned filter as the curve needs it: its weights, and the place of the newest partition in a ring of
/// spectra.
#[derive(Clone, Copy)]
pub(crate) struct Filter<'a> {
    pub(crate) weights: &'a [Complex<f32>],
    pub(crate) newest: usize,
}

/// What is left of a block: the spectrum, and the variance that was expected of each bin.
#[derive(Clone, Copy)]
pub(crate) struct Error<'a> {
    pub(crate) spectrum: &'a [Complex<f32>],
    pub(crate) variance: &'a [f32],
}

/// The curve, and what is known of it. Allocates nothing after `new`.
#[derive(Clone, Debug)]
pub(crate) struct Clip {
    block: usize,
    bins: usize,
    parts: usize,
    /// The parameter of the curve, 1 over the square of a sample: 0 for a loudspeaker that does not clip.
    q: f32,
    /// Spectra of half the cube of the curved reference, one for each partition.
    cubes: Vec<Complex<f32>>,
    samples: Vec<f32>,
    beyond: Vec<Complex<f32>>,
    echo: Vec<Complex<f32>>,
    /// Sums of late over the bins, each bin divided by its variance: |z|², Re z ȳ, |y|².
    sums: [f32; 3],
}

impl Clip {
    /// For a filter of `parts` partitions of `block` taps.
    pub(crate) fn new(block: usize, parts: usize) -> Self {
        let bins = block + 1;
        Self {
            block,
            bins,
            parts,
            q: 0.0,
            cubes: vec![Complex::default(); parts * bins],
            samples: vec![0.0; 2 * block],
            beyond: vec![Complex::default(); bins],
            echo: vec![Complex::default(); bins],
            sums: [0.0; 3],
        }
    }

    /// What the loudspeaker makes of a sample.
    pub(crate) fn curved(&self, x: f32) -> f32 {
        x / (1.0 + self.q * x * x).sqrt()
    }

    /// Forgets what was sounded before.
    pub(crate) fn pause(&mut self) {
        self.cubes.fill(Complex::default());
    }

    /// Learns from the newest two blocks of the curved reference, the echo that was expected in the newest, and what is
    /// left of it. `power` is that of a block that is sounded. Tells by what factor the weights of the filter change
    /// with the curve.
    pub(crate) fn learn(
        &mut self,
        transform: &mut Transform,
        filter: Filter<'_>,
        (reference, echo, power): (&[f32], &[f32], f32),
        error: Error<'_>,
    ) -> f32 {
        self.look_beyond(transform, filter, reference);
        transform.spectrum(self.block, echo, &mut self.echo);
        let keeps = 0.5_f32.powf(1.0 / HALF);
        self.sums = self.sums.map(|sum| keeps * sum);
        let (mut beyond_left, mut echo_left) = (0.0, 0.0);
        let told = self.beyond.iter().zip(&self.echo).zip(error.spectrum.iter().zip(error.variance));
        for ((z, y), (left, variance)) in told {
            let counts = variance.max(f32::MIN_POSITIVE).recip();
            let powers = [z.norm_sqr(), (z * y.conj()).re, y.norm_sqr()];
            for (sum, power) in self.sums.iter_mut().zip(powers) {
                *sum += counts * power;
            }
            beyond_left += counts * (z * left.conj()).re;
            echo_left += counts * (y * left.conj()).re;
        }
        let [beyond, both, straight] = self.sums;
        let along = both / straight;
        let step = (along * echo_left - beyond_left) / (beyond - along * both);
        if !step.is_finite() {
            return 1.0;
        }
        let before = self.q;
        self.q = (before + step).clamp(0.0, MOST * self.block as f32 / power);
        1.0 + along * (self.q - before)
    }

    /// The spectrum of `z` for the newest block: how much is left of it for each unit by which `q` is too large.
    fn look_beyond(&mut self, transform: &mut Transform, filter: Filter<'_>, reference: &[f32]) {
        for (cube, x) in self.samples.iter_mut().zip(reference) {
            *cube = 0.5 * x.powi(3);
        }
        let newest = &mut self.cubes[filter.newest * self.bins..][..self.bins];
        transform.spectrum(0, &self.samples, newest);
        self.beyond.fill(Complex::default());
        for (p, weights) in filter.weights.chunks(self.bins).enumerate() {
            let cubes = &self.cubes[(filter.newest + p) % self.parts * self.bins..][..self.bins];
            for ((sum, cube), weight) in self.beyond.iter_mut().zip(cubes).zip(weights) {
                *sum += cube * weight;
            }
        }
        transform.samples(&self.beyond, &mut self.samples);
        transform.spectrum(self.block, &self.samples[self.block..], &mut self.beyond);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use oorandom::Rand64;

    const BLOCK: usize = 256;
    const BLOCKS: usize = 500;

    /// The `q` that is learnt of a loudspeaker that makes `clips` of noise with the variance 1, through a way that is
    /// known.
    fn learnt(clips: impl Fn(f32) -> f32, player: f32) -> f32 {
        let mut random = Rand64::new(5);
        let mut noise = || (0..12).map(|_| random.rand_float() as f32).sum::<f32>() - 6.0;
        let sounded: Vec<f32> = (0..BLOCKS * BLOCK).map(|_| noise()).collect();
        let (mut clip, mut transform) = (Clip::new(BLOCK, 1), Transform::new(2 * BLOCK));
        let mut weights = vec![Complex::default(); BLOCK + 1];
        transform.spectrum(0, &[0.0, 0.0, 0.7], &mut weights);
        let (mut error, variance) = (weights.clone(), vec![1.0; BLOCK + 1]);
        for n in 1..BLOCKS {
            let frame = &sounded[(n - 1) * BLOCK..(n + 1) * BLOCK];
            let curved: Vec<f32> = frame.iter().map(|x| clip.curved(*x)).collect();
            let echo: Vec<f32> = curved[BLOCK - 2..2 * BLOCK - 2].iter().map(|x| 0.7 * x).collect();
            let own = 0.7 * player;
            let left: Vec<f32> = frame[BLOCK - 2..]
                .iter()
                .zip(&echo)
                .map(|(x, echo)| 0.7 * clips(*x) + own * noise() - echo)
                .collect();
            transform.spectrum(BLOCK, &left, &mut error);
            clip.learn(
                &mut transform,
                Filter { weights: &weights, newest: 0 },
                (&curved, &echo, BLOCK as f32),
                Error { spectrum: &error, variance: &variance },
            );
        }
        clip.q
    }

    #[test]
    fn the_curve_of_a_loudspeaker_is_found_beside_a_player() {
        // tanh(ax)/a begins as x - a²x³/3 (Abramowitz & Stegun 4.5.64), and the curve as x - q x³/2.
        let a = 0.1_f32;
        for player in [0.0, 0.1] {
            let q = learnt(|x| (a * x).tanh() / a, player);
            assert!((q / (2.0 / 3.0 * a * a) - 1.0).abs() < 0.1, "{q} beside {player}");
            assert!(learnt(|x| x, player) < 0.0005 + 0.01 * player);
        }
        // A curve of the same kind is found as it is.
        let q = learnt(|x| x / (1.0 + 0.2 * x * x).sqrt(), 0.0);
        assert!((q - 0.2).abs() < 0.002, "{q}");
    }
}
