//! How much of the echo is left.

use crate::slip::Slip;
use crate::transform::Transform;
use crate::weighed::{ENOUGH, Weighed, median};
use rustfft::num_complex::Complex;
use std::f32::consts::PI;

/// A bin so far below the loudest one of late does not tell that removal got better (`TELLS`) or worse (`TELLS_WORSE`),
/// as a ratio of powers: rooms are not quiet, and a player leaks into bins beside his own.
const TELLS: f32 = 1e-4;
const TELLS_WORSE: f32 = 1e-3;
/// How much of the loudest bin is remembered per block: half in a second and a half.
const FADES: f32 = 0.97;
/// What we sound has changed in a bin that is so much louder or softer than in the block before, as a ratio of powers:
/// a player who holds a note has not changed with it. A steady tone that beats in its room stays below.
const CHANGES: f32 = 2.0;
/// How much a block counts that is better than was known, and one that is worse. Worse is to be noticed within a
/// second, in which there may be as few as six blocks with a change; better has time.
const BETTER: f32 = 0.15;
const WORSE: f32 = 0.5;
/// How much a worse block counts where what is left has nothing in common with the estimate: as a rule it is worse
/// because of a player.
const WORSE_BY_PLAYER: f32 = 0.02;
/// What is left has something in common with the estimate beyond this, as a share of it: a microphone that was moved
/// leaves about -0.8, a knob that was turned by 6 dB 1 or -0.5, a loudspeaker that clips up to -0.3 where it is
/// loudest; a player strays by 0.1 about 0.
const IN_COMMON: f32 = 0.35;
/// How much a block counts in the mean of this share, and the most that the share of a single bin may be.
const COMMON: f32 = 0.3;
const COMMON_MOST: f32 = 1.5;
/// How much later the echo comes is told while at most so much of it is left, decibels.
const TELLS_SLIP_DB: f32 = -6.0;
/// What is left has to be this far below the echo for removal to be good, decibels.
pub(crate) const GOOD_DB: f32 = -12.0;
/// Below this an estimate is silent, as the power of a bin.
const SILENT: f32 = 1e-9;
/// The least that is told, as a ratio of powers.
const LEAST: f32 = 1e-9;

/// Compares what is left with what was taken out.
#[derive(Clone, Debug)]
pub(crate) struct Left {
    transform: Transform,
    window: Vec<f32>,
    windowed: Vec<f32>,
    output: Vec<Complex<f32>>,
    echo: Vec<Complex<f32>>,
    /// Powers of the echo's bins in the block before.
    before: Vec<f32>,
    /// The power of the loudest of late.
    loudest: f32,
    /// Room for the ratios of all bins that tell, and of those of them that have changed.
    all: Vec<Weighed>,
    changed: Vec<Weighed>,
    slip: Slip,
    db: f32,
    /// What is left along the estimate, as a share of it, of late.
    common: f32,
    /// How many blocks with a change in what we sound were well predicted; each that was not halves the count.
    confirmed: u32,
}

impl Left {
    /// For blocks of so many samples. Nothing is known yet: all is left.
    pub(crate) fn new(block: usize) -> Self {
        let hann = |n: usize| 0.5 - 0.5 * (2.0 * PI * (n as f32 + 0.5) / block as f32).cos();
        let bins = block / 2 + 1;
        Self {
            transform: Transform::new(block),
            window: (0..block).map(hann).collect(),
            windowed: vec![0.0; block],
            output: vec![Complex::default(); bins],
            echo: vec![Complex::default(); bins],
            before: vec![0.0; bins],
            all: vec![(0.0, 0.0); bins],
            loudest: 0.0,
            changed: vec![(0.0, 0.0); bins],
            slip: Slip::new(bins),
            db: 0.0,
            common: 0.0,
            confirmed: 0,
        }
    }

    /// What is left of the echo against the echo, decibels.
    pub(crate) fn db(&self) -> f32 {
        self.db
    }

    /// How often what newly sounded was predicted well: what a steady tone teaches says nothing of other tones.
    pub(crate) fn confirmed(&self) -> u32 {
        self.confirmed
    }

    /// Nothing is known any more.
    pub(crate) fn forget(&mut self) {
        (self.db, self.common, self.confirmed) = (0.0, 0.0, 0);
    }

    /// Takes a block of output, and the echo that was taken out of it; tells by how many samples the echo came later
    /// than when it was learnt, where that can be told.
    pub(crate) fn compare(&mut self, output: &[f32], echo: &[f32]) -> Option<f32> {
        for (samples, bins) in [(output, &mut self.output), (echo, &mut self.echo)] {
            for ((out, x), w) in self.windowed.iter_mut().zip(samples).zip(&self.window) {
                *out = x * w;
            }
            self.transform.spectrum(0, &self.windowed, bins);
        }
        self.loudest = self.echo.iter().map(Complex::norm_sqr).fold(FADES * self.loudest, f32::max);
        if self.loudest < SILENT {
            return None;
        }
        let (mut tell, mut change) = (0, 0);
        let (mut along, mut weight) = (0.0, 0.0);
        for ((output, echo), before) in self.output.iter().zip(&self.echo).zip(&mut self.before) {
            let power = echo.norm_sqr();
            if power > TELLS * self.loudest {
                let weighed = (output.norm_sqr() / power, power.sqrt());
                self.all[tell] = weighed;
                tell += 1;
                if (power > CHANGES * *before || *before > CHANGES * power)
                    && power > TELLS_WORSE * self.loudest
                {
                    self.changed[change] = weighed;
                    change += 1;
                    let share = (output * echo.conj()).re / power;
                    along += share.clamp(-COMMON_MOST, COMMON_MOST) * power.sqrt();
                    weight += power.sqrt();
                }
            }
            *before = power;
        }
        let slip =
            self.slip.compare((&self.output, &self.echo), TELLS_WORSE * self.loudest, change >= ENOUGH);
        let all = if tell == 0 { self.db } else { median_db(&mut self.all[..tell]) };
        let changed = if change < ENOUGH { self.db } else { median_db(&mut self.changed[..change]) };
        if change >= ENOUGH {
            self.common += COMMON * (along / weight - self.common);
            self.confirmed =
                if changed <= GOOD_DB { self.confirmed.saturating_add(1) } else { self.confirmed / 2 };
        }
        if all < self.db {
            self.db += BETTER * (all - self.db);
        } else if changed > self.db {
            let worse = if self.common.abs() > IN_COMMON { WORSE } else { WORSE_BY_PLAYER };
            self.db += worse * (changed - self.db);
        }
        slip.filter(|_| self.db <= TELLS_SLIP_DB)
    }
}

/// The ratio at which half of the weight lies below, decibels.
fn median_db(ratios: &mut [Weighed]) -> f32 {
    10.0 * median(ratios).max(LEAST).log10()
}
