//! Converts a source to another sample rate, such as a recording to the rate of the loudspeaker.

use crate::Generator;
use std::f64::consts::PI;

/// Zero crossings of the kernel on each side. With the window below what folds back lies 80 dB below the sound.
const CROSSINGS: f64 = 32.0;
/// Kaiser's β for 80 dB: 0.1102 · (80 − 8.7) (Kaiser 1974).
const BETA: f64 = 7.86;
/// Cut-off of the filter, as a share of the lower of the two Nyquist frequencies. The rest is left for the transition
/// band of a filter of this length.
const KEPT: f64 = 0.92;
/// Entries of the kernel's table from one zero crossing to the next; between entries it is interpolated linearly.
const PLACES: f64 = 512.0;
/// Samples that are asked of the source at once.
const PORTION: usize = 1_024;

/// A source whose samples are worked out for another rate, by a windowed sinc (Smith & Gossett, ICASSP 1984).
pub struct AtRate<G> {
    of: G,
    rate: f64,
    /// Samples of the source from one of ours to the next.
    step: f64,
    /// Table of half of the kernel, from its middle on, and the number of its entries per sample of the source.
    kernel: Vec<f64>,
    places: f64,
    /// Samples of the source that the kernel reaches to each side.
    half: usize,
    /// What has been read of the source, and where in it our next sample lies.
    read: Vec<f32>,
    at: f64,
    /// Samples of silence still to be added after the last sample of the source; `None` while the source goes on.
    left: Option<usize>,
}

impl<G: Generator> AtRate<G> {
    /// The source at `rate` samples per second. It begins with the source's first sample.
    pub fn new(of: G, rate: f64) -> Self {
        let step = of.sample_rate() / rate;
        let cut = KEPT * step.recip().min(1.0);
        let reach = CROSSINGS / cut;
        let half = reach.ceil() as usize;
        let places = PLACES * cut;
        let shape = |place: usize| {
            let x = place as f64 / places;
            let sinc = if place == 0 { 1.0 } else { (PI * cut * x).sin() / (PI * cut * x) };
            let share = (1.0 - (x / reach).powi(2)).max(0.0);
            cut * sinc * bessel(BETA * share.sqrt()) / bessel(BETA)
        };
        let kernel = (0..=((half + 1) as f64 * places) as usize + 1).map(shape).collect();
        // Silence before the source, for its first samples.
        Self { of, rate, step, kernel, places, half, read: vec![0.0; half], at: half as f64, left: None }
    }

    /// Reads until the kernel has all the samples that it reaches; false if the source is at its end, or waits.
    fn reach(&mut self) -> bool {
        let needed = self.at.floor() as usize + self.half + 1;
        while self.read.len() <= needed {
            if let Some(left) = &mut self.left {
                if *left == 0 {
                    return false;
                }
                *left -= 1;
                self.read.push(0.0);
                continue;
            }
            let mut portion = [0.0; PORTION];
            match self.of.fill(&mut portion) {
                0 if self.of.is_waiting() => return false,
                // Our last sample lies before the source's end; the kernel reaches so far beyond it.
                0 => self.left = Some(self.half + 1),
                made => self.read.extend_from_slice(&portion[..made]),
            }
        }
        true
    }

    fn next(&self) -> f64 {
        let first = self.at.floor() as usize - (self.half - 1);
        let taps = &self.read[first..first + 2 * self.half];
        let sum = taps.iter().enumerate().map(|(index, x)| {
            let place = (self.at - (first + index) as f64).abs() * self.places;
            let (whole, part) = (place as usize, place.fract());
            f64::from(*x) * (self.kernel[whole] * (1.0 - part) + self.kernel[whole + 1] * part)
        });
        sum.sum()
    }

    /// Forgets what the kernel has passed.
    fn forget(&mut self) {
        let passed = self.at.floor() as usize - self.half;
        if passed >= PORTION {
            self.read.drain(..passed);
            self.at -= passed as f64;
        }
    }
}

impl<G: Generator> Generator for AtRate<G> {
    fn sample_rate(&self) -> f64 {
        self.rate
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        if self.step == 1.0 {
            return self.of.fill(out);
        }
        for (made, sample) in out.iter_mut().enumerate() {
            if !self.reach() {
                return made;
            }
            *sample = self.next() as f32;
            self.at += self.step;
            self.forget();
        }
        out.len()
    }

    fn is_waiting(&self) -> bool {
        self.of.is_waiting()
    }

    fn take_warning(&mut self) -> Option<String> {
        self.of.take_warning()
    }
}

/// The modified Bessel function of the first kind and order 0, by its power series (Abramowitz & Stegun 9.6.12).
fn bessel(x: f64) -> f64 {
    let mut term = 1.0;
    let mut sum = 1.0;
    for k in 1..32 {
        term *= (x / 2.0 / f64::from(k)).powi(2);
        sum += term;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    struct Sine {
        hz: f64,
        rate: f64,
        samples: std::ops::Range<u64>,
    }

    impl Generator for Sine {
        fn sample_rate(&self) -> f64 {
            self.rate
        }

        fn fill(&mut self, out: &mut [f32]) -> usize {
            let made = out.len().min(300);
            let samples = self.samples.by_ref().take(made);
            let mut count = 0;
            for (place, n) in out.iter_mut().zip(samples) {
                *place = (TAU * self.hz * n as f64 / self.rate).sin() as f32;
                count += 1;
            }
            count
        }
    }

    fn rendered(hz: f64, (from, to): (f64, f64), block: usize) -> Vec<f32> {
        let mut sound = AtRate::new(Sine { hz, rate: from, samples: 0..(from * 0.5) as u64 }, to);
        assert_eq!(sound.sample_rate(), to);
        let (mut all, mut buffer) = (Vec::new(), vec![0.0; block]);
        loop {
            match sound.fill(&mut buffer) {
                0 => return all,
                made => all.extend_from_slice(&buffer[..made]),
            }
        }
    }

    #[test]
    fn a_sine_stays_the_same_sine() {
        for rates in [(44_100.0, 48_000.0), (48_000.0, 44_100.0), (96_000.0, 48_000.0), (8_000.0, 48_000.0)] {
            let lower = f64::min(rates.0, rates.1);
            for hz in [100.0, 0.1 * lower, 0.4 * lower] {
                let sound = rendered(hz, rates, 512);
                assert!((sound.len() as f64 - 0.5 * rates.1).abs() <= 2.0, "{rates:?}: {}", sound.len());
                // Only the middle is compared: at both ends the kernel reaches into silence.
                let middle = sound.len() / 10..sound.len() * 9 / 10;
                let off = middle.map(|n| f64::from(sound[n]) - (TAU * hz * n as f64 / rates.1).sin());
                let most = off.fold(0.0, |most: f64, off| most.max(off.abs()));
                assert!(most < 1e-3, "{rates:?} {hz}: {most}");
            }
        }
    }

    #[test]
    fn what_the_lower_rate_cannot_carry_is_left_out() {
        let sound = rendered(6_000.0, (48_000.0, 8_000.0), 512);
        let middle = &sound[sound.len() / 10..sound.len() * 9 / 10];
        assert!(middle.iter().all(|x| x.abs() < 1e-3));
    }

    #[test]
    fn blocks_make_no_difference() {
        let whole = rendered(440.0, (44_100.0, 48_000.0), 100_000);
        for block in [1, 37, 512] {
            assert_eq!(rendered(440.0, (44_100.0, 48_000.0), block), whole);
        }
        // The same rate changes nothing.
        assert_eq!(rendered(440.0, (48_000.0, 48_000.0), 512).len(), 24_000);
    }
}
