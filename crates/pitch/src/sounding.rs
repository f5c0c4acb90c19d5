//! Which reeds sound together.
//!
//! Estimate and cancel (Klapuri, IEEE Trans. Speech Audio Processing 11 (2003)): the reed that explains most of the
//! spectrum is taken first, a smooth version of its harmonics is taken out, and what is left is looked at again. With
//! a harp the search is among its reeds; without one it is among quarter tones and ends with the two strongest.

use crate::front::Front;
use crate::history::History;
use crate::magnitudes::Magnitudes;
use crate::{Settings, SettingsError};

/// The most reeds that are told apart: a mouth covers four holes.
pub const TOGETHER: usize = 4;
/// Time between two looks, seconds.
const HOP_S: f64 = 0.005;
/// Looks in a row that must agree before a new set is believed.
const AGREEING: u32 = 3;
/// How far a reed may be from its place, ratio (35 cents).
const OFF: f64 = 1.0204;
/// Two parts closer than this are one, ratio (70 cents).
const SAME: f64 = 1.041;
/// Harmonics that are taken out of the spectrum with a reed.
const HARMONICS: usize = 12;
/// A reed this much weaker than the strongest is not told (-23 dB), amplitude ratio.
const FAINTEST: f32 = 0.07;
/// A reed at a harmonic of another must stand out this much from its neighbours.
const STANDING_OUT: f32 = 2.5;
/// The least a fundamental has of its reed's next harmonics (-18 dB), amplitude ratio; with less it is no reed but a
/// common divisor of what sounds.
const WEAKEST_FUNDAMENTAL: f32 = 0.125;
/// Amplitude below which nothing sounds (-66 dB of a full-scale sine).
const SILENCE: f32 = 5.0e-4;

/// One reed of several.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Part {
    /// The reed of the harp, or without a harp the place of its peak, hertz.
    pub hz: f64,
    /// Its level, decibels relative to a full-scale sine.
    pub level_dbfs: f32,
}

/// What sounds together, strongest first.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Together {
    /// The number of samples that had arrived.
    pub known: u64,
    parts: [Part; TOGETHER],
    count: usize,
}

impl Together {
    /// The reeds that sound, strongest first; empty in silence.
    pub fn parts(&self) -> &[Part] {
        &self.parts[..self.count]
    }

    fn add(&mut self, part: Part) {
        self.parts[self.count] = part;
        self.count += 1;
    }

    fn same_reeds(&self, other: &Self) -> bool {
        let among =
            |part: &Part| other.parts().iter().any(|p| p.hz < part.hz * SAME && part.hz < p.hz * SAME);
        self.count == other.count && self.parts().iter().all(among)
    }
}

/// Tells reeds apart in a stream. After `new` it allocates nothing.
#[derive(Clone, Debug)]
pub struct Sounding {
    front: Front,
    history: History,
    magnitudes: Magnitudes,
    rate: f64,
    breaths: [Vec<f64>; 2],
    free: bool,
    most: usize,
    hop: usize,
    pending: usize,
    arrived: u64,
    now: Together,
    next: (Together, u32),
}

impl Sounding {
    /// For a sample rate in hertz and the fundamentals of the blow and of the draw reeds, hertz: a breath goes one way,
    /// so reeds of both never sound together. With neither, any two pitches of the usual range are told.
    ///
    /// # Errors
    /// If the sample rate or a fundamental cannot be listened to.
    pub fn new(sample_rate: f64, breaths: [Vec<f64>; 2]) -> Result<Self, SettingsError> {
        let settings = Settings::new(sample_rate).with_harp(breaths.concat());
        settings.check()?;
        let front = Front::new(settings.sample_rate);
        let rate = settings.sample_rate / front.factor() as f64;
        let magnitudes = Magnitudes::new(rate);
        let free = settings.harp.is_empty();
        let any = || [quarter_tones(settings.low_hz, settings.high_hz), Vec::new()];
        let breaths = if free { any() } else { breaths };
        Ok(Self {
            history: History::new(magnitudes.span()),
            magnitudes,
            rate,
            breaths,
            free,
            most: if free { 2 } else { TOGETHER },
            hop: (HOP_S * rate).round() as usize,
            pending: 0,
            arrived: 0,
            now: Together::default(),
            next: (Together::default(), 0),
            front,
        })
    }

    /// Input samples between two statements.
    pub fn hop(&self) -> usize {
        self.hop * self.front.factor()
    }

    /// Takes samples in (mono, full scale 1) and hands every statement that falls due to `sink`.
    pub fn push(&mut self, samples: &[f32], mut sink: impl FnMut(Together)) {
        for sample in samples {
            self.arrived += 1;
            let Some(x) = self.front.push(*sample) else { continue };
            self.history.push(x);
            self.pending += 1;
            if self.pending == self.hop {
                self.pending = 0;
                let seen = self.look();
                sink(self.settle(seen));
            }
        }
    }

    /// Believes a new set of reeds only when looks in a row agree on it; levels follow at once.
    fn settle(&mut self, seen: Together) -> Together {
        let (next, looks) = &mut self.next;
        *looks = if next.same_reeds(&seen) { *looks + 1 } else { 1 };
        *next = seen;
        if *looks >= AGREEING || self.now.same_reeds(&seen) {
            self.now = seen;
        }
        self.now.known = self.arrived;
        self.now
    }

    fn look(&mut self) -> Together {
        self.magnitudes.look(self.history.all());
        let mut seen = Together { known: self.arrived, ..Together::default() };
        let mut strongest = 0.0f32;
        while seen.count < self.most {
            let Some((hz, strength)) = self.best(&seen) else { break };
            strongest = strongest.max(strength);
            if strength < SILENCE || strength < FAINTEST * strongest {
                break;
            }
            let level_dbfs = 20.0 * strength.log10();
            self.cancel_into(&mut seen, Part { hz, level_dbfs });
        }
        seen
    }

    /// The reed with the most strength left that is not among those already seen.
    fn best(&self, seen: &Together) -> Option<(f64, f32)> {
        let taken = |hz: f64| seen.parts().iter().any(|p| p.hz < hz * SAME && hz < p.hz * SAME);
        let same_breath = |reeds: &&Vec<f64>| self.free || seen.parts().iter().all(|p| reeds.contains(&p.hz));
        let reeds = self.breaths.iter().filter(same_breath).flatten();
        let strengths = reeds.filter(|hz| !taken(**hz)).map(|hz| (*hz, self.strength(*hz, seen)));
        let best = strengths.fold(None, |best: Option<(f64, f32)>, this| match best {
            Some(best) if best.1 >= this.1 => Some(best),
            _ => Some(this),
        });
        best.filter(|(_, strength)| *strength > 0.0)
    }

    /// Amplitude of the first harmonics that are left of a reed; 0 where they are not there as a reed's would be.
    fn strength(&self, hz: f64, seen: &Together) -> f32 {
        let of = |number: f64| self.magnitudes.peak(number * hz / self.rate, OFF);
        let [first, second, third] = [of(1.0), of(2.0), of(3.0)];
        if first < WEAKEST_FUNDAMENTAL * second.max(third) {
            return 0.0;
        }
        let harmonic_of = |p: &Part| {
            let ratio = hz / p.hz;
            ratio > 1.5 && (ratio - ratio.round()).abs() < 0.02 * ratio
        };
        let strength = (first * first + second * second + third * third).sqrt();
        // What stands on another reed's harmonic may be just that harmonic, stronger than the smooth model of it.
        if seen.parts().iter().any(harmonic_of) {
            let whole = self.magnitudes.original(hz / self.rate, OFF);
            let stands_out = first * STANDING_OUT > whole * (STANDING_OUT - 1.0);
            return if stands_out { strength } else { 0.0 };
        }
        strength
    }

    /// Adds a part to those seen and cancels it. Without a harp the part lies where its fundamental was found.
    fn cancel_into(&mut self, seen: &mut Together, mut part: Part) {
        if self.free {
            let found = self.magnitudes.whereabouts(part.hz / self.rate, OFF);
            part.hz = found.map_or(part.hz, |frequency| frequency * self.rate);
        }
        seen.add(part);
        self.cancel(part.hz);
    }

    /// Takes a smooth version of a reed's harmonics out of the spectrum.
    fn cancel(&mut self, hz: f64) {
        let mut own = [0.0f32; HARMONICS];
        for (index, amplitude) in own.iter_mut().enumerate() {
            *amplitude = self.magnitudes.peak((index + 1) as f64 * hz / self.rate, OFF);
        }
        for index in 0..HARMONICS {
            let before = own[index.saturating_sub(1)];
            let after = own[(index + 1).min(HARMONICS - 1)];
            let smooth = STANDING_OUT * before.max(after).max(own[index] * 0.2);
            let amplitude = own[index].min(smooth);
            self.magnitudes.subtract((index + 1) as f64 * hz / self.rate, OFF, amplitude);
        }
    }
}

/// Fundamentals a quarter tone apart over a range, hertz.
fn quarter_tones(low_hz: f64, high_hz: f64) -> Vec<f64> {
    let steps = (24.0 * (high_hz / low_hz).log2()) as i32;
    (0..=steps).map(|step| low_hz * 2.0_f64.powf(f64::from(step) / 24.0)).collect()
}
