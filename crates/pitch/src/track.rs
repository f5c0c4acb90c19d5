//! From looks to notes: what sounds now, given what sounded a moment ago.

use crate::Settings;
use crate::candidates::{Candidate, Candidates};
use crate::consensus::{Consensus, Estimate};
use crate::refine::{Fit, Refiner};
use crate::smooth::{MOST, Smoother, longest_that_agrees};
use crate::spectrum::Spectrum;
use crate::voicing;
use std::ops::RangeInclusive;

/// Times of the tracker in seconds; all else is a ratio.
mod limits {
    /// The shortest window a pitch is read from, and the usual one.
    pub(super) const SHORT_S: f64 = 0.0035;
    pub(super) const USUAL_S: f64 = 0.020;
    /// A repetition must last this long to be believed at once.
    pub(super) const LASTING_S: f64 = 0.002;
    /// Correlation that a note may fall short of the strongest by, for a second reed takes its share.
    pub(super) const SHARE: f32 = 0.14;
    /// Clarity below which a note is not heard at this look, and looks in a row that end it.
    pub(super) const END: f64 = 0.45;
    pub(super) const MISSES: u32 = 4;
    /// The same while the sound is as loud as before: something covers the note.
    pub(super) const COVERED: u32 = 12;
    /// Two pitches closer than this are one note, ratio (70 cents).
    pub(super) const SAME: f64 = 1.041;
    /// How much better another octave must explain the spectrum, and for how many looks.
    pub(super) const BETTER: f32 = 1.15;
    pub(super) const CONVINCED: u32 = 3;
    /// The share of noise that a new note is credited with until it is known.
    pub(super) const FIRST_NOISE: f64 = 0.02;
    /// Share of a new look in the usual noise of a note.
    pub(super) const NEWS: f64 = 0.06;
    /// Half the width of a confidence interval, standard deviations.
    pub(super) const WIDTH: f64 = 4.0;
    /// Over a few periods only, harmonics lean on each other and seem to agree more than they do.
    pub(super) const CAUTION: f64 = 1.6;
    /// A note whose power falls to this share of its peak (-11 dB) and comes back to that one has been struck again.
    pub(super) const DIP: f64 = 0.08;
    pub(super) const BACK: f64 = 0.4;
    /// Looks after which a movement lies behind the windows that are joined.
    pub(super) const BEHIND: u32 = 10;
    /// What an estimated deviation is of the true one, over all kinds of disturbance (measured).
    pub(super) const HONEST: f64 = 0.6;
    /// A deviation that no longer window need improve, ratio (0.02 cents).
    pub(super) const ENOUGH: f64 = 1.2e-5;
    /// Harmonics that are used lie below this, cycles per sample.
    pub(super) const HIGHEST: f64 = 0.40;
}

/// What the tracker makes of one look.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Heard {
    /// The note's pitch, or `None` while no note sounds.
    pub(crate) pitch: Option<Estimate>,
    /// How periodic the sound is, note or not.
    pub(crate) clarity: f64,
    /// A new note begins.
    pub(crate) onset: bool,
}

#[derive(Clone, Copy, Debug, Default)]
struct Note {
    pitch: Estimate,
    age: u32,
    misses: u32,
    /// Its usual mean square, and the most that it has been.
    power: f64,
    peak: f64,
    /// Its level has fallen well below its peak.
    dipped: bool,
    /// The frequency that the spectrum prefers, and for how many looks it has.
    preferred: (f64, u32),
}

impl Note {
    /// How many looks more than in silence a rival must win to follow this note. A louder sound may just be a click
    /// on top of it; a pitch with a simple ratio to it may be the same note misheard.
    fn tenacity(&self, rival: f64, power: f64) -> u32 {
        let ratio = (rival / self.pitch.frequency).max(self.pitch.frequency / rival);
        let kin = (ratio - ratio.round()).abs() < 0.02 * ratio;
        1 + if kin { 6 } else { 0 } + if self.louder(power) { 5 } else { 0 }
    }

    /// Whether the same note has just been struck again: its level fell well below its peak and came back.
    fn struck_again(&mut self, power: f64) -> bool {
        self.dipped |= power < limits::DIP * self.peak;
        let back = self.dipped && power > limits::BACK * self.peak;
        self.dipped &= !back;
        back
    }

    /// Whether something has come on top of the held note.
    fn louder(&self, power: f64) -> bool {
        let fading = self.power < 0.2 * self.peak;
        power > 1.4 * self.power && !fading && self.age > 12
    }
}

#[derive(Clone, Copy, Debug, Default)]
struct Rival {
    frequency: f64,
    looks: u32,
}

/// Follows one note through the looks.
#[derive(Clone, Debug)]
pub(crate) struct Tracker {
    candidates: Candidates,
    refiner: Refiner,
    spectrum: Spectrum,
    smoother: Smoother,
    consensus: [Consensus; 2],
    noise: f64,
    /// Looks until the last movement lies behind.
    moved: u32,
    rate: f64,
    hop: f64,
    range: RangeInclusive<f64>,
    harp: Vec<f64>,
    note: Option<Note>,
    rival: Rival,
    looks: u64,
}

impl Tracker {
    /// For a working rate (hertz) and a hop (samples).
    pub(crate) fn new(rate: f64, hop: usize, settings: &Settings) -> Self {
        let (low_hz, high_hz) = (settings.low_hz, settings.high_hz.min(0.45 * rate));
        let longest = (2.2 / low_hz).max(limits::USUAL_S) * rate;
        Self {
            candidates: Candidates::new(rate, low_hz, high_hz),
            refiner: Refiner::new(longest.ceil() as usize, limits::HIGHEST),
            spectrum: Spectrum::new(rate, limits::HIGHEST),
            smoother: Smoother::new(hop as f64),
            consensus: [Consensus::default(); 2],
            noise: limits::FIRST_NOISE,
            moved: 0,
            rate,
            hop: hop as f64,
            range: low_hz / rate..=high_hz / rate,
            harp: settings.harp.iter().map(|hz| hz / rate).collect(),
            note: None,
            rival: Rival::default(),
            looks: 0,
        }
    }

    /// The working rate, hertz.
    pub(crate) fn rate(&self) -> f64 {
        self.rate
    }

    /// Samples of history it needs.
    pub(crate) fn span(&self) -> usize {
        self.candidates.span().max(self.spectrum.span())
    }

    /// Forgets the stream.
    pub(crate) fn reset(&mut self) {
        self.end();
        self.looks = 0;
    }

    fn end(&mut self) {
        self.note = None;
        self.rival = Rival::default();
        self.smoother.clear();
        self.consensus = [Consensus::default(); 2];
        self.noise = limits::FIRST_NOISE;
        self.moved = 0;
    }

    /// Looks at the end of the history; `power` is its newest mean square.
    pub(crate) fn look(&mut self, history: &[f32], power: f64) -> Heard {
        self.looks += 1;
        if power < voicing::SILENCE {
            self.end();
            return Heard::default();
        }
        let candidates = self.candidates.look(history);
        let best = choose(candidates).map(|best| rule_out(&self.harp, best));
        let held = self.note.is_some_and(|note| still_there(candidates, note.pitch.frequency));
        let lasting = best.map_or(0.0, |best| {
            voicing::lasting_strength(candidates, best.period, limits::LASTING_S * self.rate)
        });
        let begins = match best {
            Some(best) if !held => self.challenge(history, best, lasting, power),
            _ => false,
        };
        let mut heard = self.follow(history, power, begins);
        self.reconsider(history, best.map(|best| best.period.recip()));
        if heard.pitch.is_none() {
            heard.clarity = f64::from(lasting).clamp(0.0, 1.0);
        }
        heard
    }

    /// Whether the best candidate begins a note of its own at this look.
    fn challenge(&mut self, history: &[f32], best: Candidate, lasting: f32, power: f64) -> bool {
        let frequency = best.period.recip();
        if self.note.is_some_and(|note| near(note.pitch.frequency, frequency)) {
            self.rival.looks = 0;
            return false;
        }
        let agrees = self.rival.looks > 0 && near(self.rival.frequency, frequency);
        self.rival = Rival { frequency, looks: if agrees { self.rival.looks + 1 } else { 1 } };
        let extra = self.note.map_or(0, |note| note.tenacity(frequency, power));
        let stretch = (limits::LASTING_S * self.rate / best.period).ceil() * best.period;
        let (newest, before) = self.candidates.energies(stretch.round() as usize);
        let click = voicing::dies_away(newest, before, stretch / self.rate);
        let patient = voicing::looks_needed(lasting).is_some_and(|looks| self.rival.looks >= looks + extra);
        if !patient || click {
            return false;
        }
        let fit = self.fit(history, frequency, limits::SHORT_S * self.rate);
        let begins = fit.is_some_and(|fit| fit.clarity >= 0.6 && near(fit.frequency, frequency));
        if begins {
            self.end();
            self.note =
                Some(Note { pitch: Estimate { frequency, ..Estimate::default() }, ..Note::default() });
        }
        begins
    }

    /// Fits twice, the second time about the pitch found first.
    fn fit(&mut self, history: &[f32], frequency: f64, length: f64) -> Option<Fit> {
        let periods = Refiner::whole_periods(frequency, length);
        let first = self.refiner.fit(history, frequency, periods)?;
        self.refiner.fit(history, first.frequency, periods)
    }

    /// Reads the note that is sounding.
    fn follow(&mut self, history: &[f32], power: f64, onset: bool) -> Heard {
        let Some(mut note) = self.note else { return Heard::default() };
        let short = self.fit(history, note.pitch.frequency, limits::SHORT_S * self.rate);
        let short = short.map(|fit| self.lift(history, &fit));
        let clear = short
            .filter(|fit| fit.clarity >= limits::END && (onset || near(fit.frequency, note.pitch.frequency)));
        let Some(short) = clear else { return self.miss(power) };
        note.misses = 0;
        note.age += 1;
        note.power += (power - note.power) * 0.1_f64.max(1.0 / f64::from(note.age));
        note.peak = note.peak.max(note.power);
        note.pitch = self.read(history, &short, note.age, note.louder(power));
        let again = note.struck_again(power);
        self.note = Some(note);
        Heard { pitch: Some(note.pitch), clarity: short.clarity, onset: onset || again }
    }

    /// A look at which the note is not heard: something covers it, or it has ended.
    fn miss(&mut self, power: f64) -> Heard {
        let Some(note) = &mut self.note else { return Heard::default() };
        note.misses += 1;
        note.pitch.lag += self.hop;
        note.pitch.sigma *= 1.1;
        let covered = power > 0.5 * note.power;
        let patience = if covered { limits::COVERED } else { limits::MISSES };
        if note.misses >= patience {
            self.end();
            return Heard::default();
        }
        Heard { pitch: Some(note.pitch), clarity: 0.0, onset: false }
    }

    /// The pitch over the window that suits the note: short while it moves, long while it stays.
    fn read(&mut self, history: &[f32], short: &Fit, age: u32, louder: bool) -> Estimate {
        let since = limits::SHORT_S * self.rate + f64::from(age) * self.hop;
        let usual = since.min(limits::USUAL_S * self.rate);
        let periods = Refiner::whole_periods(short.frequency, usual);
        let middle = self.refiner.fit(history, short.frequency, periods).unwrap_or(*short);
        let noise = voicing::noise_share(&self.candidates, short.frequency.recip()).min(middle.noise);
        self.noise += (noise - self.noise) * limits::NEWS.max(f64::from(age + 1).recip());
        let noise = if louder { noise.max(self.noise) } else { self.noise };
        let [shorts, middles] = &mut self.consensus;
        let (mut short, _) = shorts.estimate(&short.with_noise(noise));
        short.sigma *= limits::CAUTION;
        let middle = middle.with_noise(noise);
        let (mut whole, trust) = middles.estimate(&middle);
        if periods < 5.0 {
            whole.sigma *= limits::CAUTION;
        }
        // The first windows still reach back before the attack, where harmonics leak into each other.
        if f64::from(age) * self.hop >= 0.6 * middle.length {
            self.smoother.push(&middle, trust);
        }
        self.hold(short, whole)
    }

    /// The longest window that agrees with the newest ones; after a movement not before it lies behind.
    fn hold(&mut self, short: Estimate, whole: Estimate) -> Estimate {
        let low = short.frequency * self.rate < 250.0;
        let most = self.smoother.count().min(if low { MOST } else { 28 });
        let scales =
            [Some(short), Some(whole), self.smoother.estimate(12.min(most)), self.smoother.estimate(most)];
        let (longest, windows) = longest_that_agrees(&scales, limits::WIDTH, limits::ENOUGH);
        let moves = windows < 3 && scales[2].is_some() && longest.sigma > limits::ENOUGH * longest.frequency;
        self.moved = if moves { limits::BEHIND } else { self.moved.saturating_sub(1) };
        let mut pitch = if windows > 2 && self.moved > 0 { whole } else { longest };
        pitch.sigma *= limits::HONEST;
        pitch
    }

    /// Asks the spectrum, now and then, whether the note is not another octave, or a chord's common divisor, or what
    /// the correlation would choose afresh.
    fn reconsider(&mut self, history: &[f32], fresh: Option<f64>) {
        let Some(mut note) = self.note else { return };
        if !self.looks.is_multiple_of(2) || f64::from(note.age) * self.hop < 0.8 * self.spectrum.span() as f64
        {
            return;
        }
        self.spectrum.look(history);
        let frequency = note.pitch.frequency;
        let kin =
            [0.2, 0.25, 1.0 / 3.0, 0.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0].map(|ratio| ratio * frequency);
        let others = kin
            .into_iter()
            .chain(fresh)
            .filter(|other| self.range.contains(other) && !near(*other, frequency));
        let least = self.spectrum.salience(frequency) * limits::BETTER;
        let judged = others.map(|other| (other, self.spectrum.salience(other)));
        let best = judged.fold((frequency, least), |a, b| if b.1 > a.1 { b } else { a }).0;
        let agrees = near(best, note.preferred.0);
        note.preferred = (best, if agrees { note.preferred.1 + 1 } else { 1 });
        if best != frequency && note.preferred.1 >= limits::CONVINCED {
            note.pitch.frequency = best;
            self.smoother.clear();
            self.consensus = [Consensus::default(); 2];
        }
        self.note = Some(note);
    }

    /// The same note an octave (or more) higher, if only those harmonics sound.
    fn lift(&mut self, history: &[f32], fit: &Fit) -> Fit {
        let stride = fit.stride() as f64;
        let possible = stride > 1.0 && self.range.contains(&(fit.frequency * stride));
        let lifted = if possible { self.fit(history, fit.frequency * stride, fit.length) } else { None };
        if lifted.is_some() {
            self.smoother.clear();
        }
        lifted.unwrap_or(*fit)
    }
}

fn near(a: f64, b: f64) -> bool {
    a < b * limits::SAME && b < a * limits::SAME
}

/// Whether a pitch explains the sound nearly as well as any other does.
fn still_there(candidates: &[Candidate], frequency: f64) -> bool {
    let strongest = candidates.iter().map(|c| c.strength).fold(0.0, f32::max);
    candidates.iter().any(|c| near(c.period.recip(), frequency) && c.strength >= strongest - limits::SHARE)
}

/// Moves a candidate by an octave if the harp has nothing near it but something an octave away.
fn rule_out(harp: &[f64], candidate: Candidate) -> Candidate {
    let has = |period: f64| harp.iter().any(|frequency| near(*frequency, period.recip()));
    if harp.is_empty() || has(candidate.period) {
        return candidate;
    }
    let octaves = [candidate.period / 2.0, candidate.period * 2.0];
    octaves
        .into_iter()
        .find(|period| has(*period))
        .map_or(candidate, |period| Candidate { period, ..candidate })
}

/// The shortest period that explains the sound nearly as well as the best one does; a longer one only where it
/// explains what that leaves over. Its double then is a reed with a strong second harmonic; a higher multiple may just
/// be the common period of two reeds, and must explain almost all; a period that is no multiple is another pitch.
fn choose(candidates: &[Candidate]) -> Option<Candidate> {
    let strongest = candidates.iter().map(|c| c.strength).fold(0.0, f32::max);
    let mut within = candidates.iter().filter(|c| c.strength >= strongest - limits::SHARE);
    let first = *within.next()?;
    Some(within.fold(first, |best, longer| {
        let ratio = longer.period / best.period;
        let multiple = (ratio - ratio.round()).abs() < 0.03 * ratio;
        let (lacks, lacked) = (1.0 - longer.strength, 1.0 - best.strength);
        let better = match ratio.round() as u32 {
            _ if !multiple => lacks < lacked - 0.05,
            2 => lacks < 0.25 * lacked && lacks < lacked - 0.01,
            n => n > 1 && lacks < 0.06 * lacked && lacks < lacked - 0.03,
        };
        if better { *longer } else { best }
    }))
}
