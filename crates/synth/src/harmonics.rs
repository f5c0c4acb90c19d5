//! A sum of harmonics, quickly.

/// The most harmonics in one sum.
pub(crate) const MAX_HARMONICS: usize = 40;

/// Harmonics summed side by side, so that the processor can work on several at once.
const LANES: usize = 4;

/// The strengths and phases of the harmonics of one tone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Harmonics {
    /// Amplitudes of the sines, the fundamental's first.
    sines: [f64; MAX_HARMONICS],
    /// Amplitudes of the cosines.
    cosines: [f64; MAX_HARMONICS],
    count: usize,
}

impl Harmonics {
    pub(crate) fn none() -> Self {
        Self { sines: [0.0; MAX_HARMONICS], cosines: [0.0; MAX_HARMONICS], count: 0 }
    }

    /// Adds the next harmonic, with its phase in radians. Beyond the most there can be, nothing is added.
    pub(crate) fn push(&mut self, amplitude: f64, phase: f64) {
        if self.count < MAX_HARMONICS {
            self.sines[self.count] = amplitude * phase.cos();
            self.cosines[self.count] = amplitude * phase.sin();
            self.count += 1;
        }
    }

    /// Mean power of the sum when each harmonic loses the factor `ratio` against the one below it.
    pub(crate) fn power(&self, ratio: f64) -> f64 {
        let amplitudes = self.sines.iter().zip(&self.cosines).map(|(a, b)| a * a + b * b);
        (1..).zip(amplitudes).map(|(k, square)| ratio.powi(2 * k) * square / 2.0).sum()
    }

    /// Multiplies every harmonic by the same gain.
    pub(crate) fn scale(&mut self, gain: f64) {
        for amplitude in self.sines.iter_mut().chain(&mut self.cosines) {
            *amplitude *= gain;
        }
    }

    /// The sum at a phase of the fundamental (radians), each harmonic losing the factor `ratio` against the
    /// one below it.
    pub(crate) fn sum(&self, phase: f64, ratio: f64) -> f64 {
        let (sin, cos) = phase.sin_cos();
        self.sum_of([ratio * cos, ratio * sin])
    }

    /// The sum where the fundamental stands at this complex number: its angle is the phase, its length the factor that
    /// each harmonic loses against the one below it.
    ///
    /// Harmonic k is the k-th power of that one number, so one sine and one cosine serve them all; four
    /// neighbouring powers are carried along, each stepping four harmonics at a time.
    pub(crate) fn sum_of(&self, one: [f64; 2]) -> f64 {
        let two = times(one, one);
        let (three, four) = (times(two, one), times(two, two));
        let mut re = [one[0], two[0], three[0], four[0]];
        let mut im = [one[1], two[1], three[1], four[1]];
        let mut sums = [0.0; LANES];
        let used = self.count.next_multiple_of(LANES);
        let rows =
            self.sines[..used].as_chunks::<LANES>().0.iter().zip(self.cosines[..used].as_chunks::<LANES>().0);
        for (sines, cosines) in rows {
            for lane in 0..LANES {
                sums[lane] += sines[lane] * im[lane] + cosines[lane] * re[lane];
                [re[lane], im[lane]] = times([re[lane], im[lane]], four);
            }
        }
        sums.iter().sum()
    }
}

/// Product of two complex numbers.
pub(crate) fn times(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}
