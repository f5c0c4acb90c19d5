//! From looks to notes: what sounds now, given what sounded a moment ago.

use crate::Settings;
use crate::candidates::{Candidate, Candidates};
use crate::refine::{Fit, Refiner};

/// Times and limits of the tracker. Times in seconds; all else is a ratio.
mod limits {
    /// The shortest window a pitch is read from.
    pub(super) const SHORT_S: f64 = 0.004;
    /// The window of a held note.
    pub(super) const HELD_S: f64 = 0.040;
    /// Strength of a lag's correlation from which it may begin a note at once …
    pub(super) const SURE: f32 = 0.97;
    /// … and at the second look that agrees.
    pub(super) const LIKELY: f32 = 0.85;
    /// Clarity above which a note begins, and below which it ends.
    pub(super) const BEGIN: f64 = 0.75;
    pub(super) const END: f64 = 0.45;
    /// Looks in a row that end a note, or turn it into another.
    pub(super) const PATIENCE: u32 = 4;
    /// Two pitches closer than this are one note, ratio (70 cents).
    pub(super) const SAME: f64 = 1.041;
    /// Mean square below which nothing is listened to (-75 dB of a full-scale sine).
    pub(super) const SILENCE: f64 = 1.6e-8;
}

/// What the tracker makes of one look.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Heard {
    /// The note's fit, or `None` while no note sounds.
    pub(crate) fit: Option<Fit>,
    /// How periodic the sound is, note or not.
    pub(crate) clarity: f64,
    /// A new note begins.
    pub(crate) onset: bool,
}

#[derive(Clone, Copy, Debug)]
struct Note {
    frequency: f64,
    age: u32,
    misses: u32,
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
    rate: f64,
    hop: f64,
    harp: Vec<f64>,
    note: Option<Note>,
    rival: Rival,
}

impl Tracker {
    /// For a working rate (hertz), a hop (samples) and a range (hertz).
    pub(crate) fn new(rate: f64, hop: usize, settings: &Settings) -> Self {
        let (low_hz, high_hz) = (settings.low_hz, settings.high_hz.min(0.45 * rate));
        let longest = (2.5 / low_hz).max(limits::HELD_S) * rate;
        Self {
            candidates: Candidates::new(rate, low_hz, high_hz),
            refiner: Refiner::new(longest.ceil() as usize, 0.40),
            rate,
            hop: hop as f64,
            harp: settings.harp.iter().map(|hz| hz / rate).collect(),
            note: None,
            rival: Rival::default(),
        }
    }

    /// The working rate, hertz.
    pub(crate) fn rate(&self) -> f64 {
        self.rate
    }

    /// Samples of history it needs.
    pub(crate) fn span(&self) -> usize {
        self.candidates.span().max((limits::HELD_S.max(0.06) * self.rate) as usize)
    }

    pub(crate) fn reset(&mut self) {
        self.note = None;
        self.rival = Rival::default();
    }

    /// Looks at the end of the history; `power` is its newest mean square.
    pub(crate) fn look(&mut self, history: &[f32], power: f64) -> Heard {
        if power < limits::SILENCE {
            self.reset();
            return Heard::default();
        }
        let candidates = self.candidates.look(history);
        let best = choose(candidates).map(|best| rule_out(&self.harp, best));
        let held = self.note.is_some_and(|note| still_there(candidates, note.frequency));
        let clarity = f64::from(best.map_or(0.0, |c| c.strength)).max(0.0);
        if let Some(best) = best
            && !held
            && self.challenge(history, best)
        {
            return self.follow(history, clarity, true);
        }
        self.follow(history, clarity, false)
    }

    /// Whether the best candidate begins a note of its own at this look.
    fn challenge(&mut self, history: &[f32], best: Candidate) -> bool {
        let frequency = best.period.recip();
        if let Some(note) = &mut self.note
            && near(note.frequency, frequency)
        {
            self.rival.looks = 0;
            return false;
        }
        let agrees = self.rival.looks > 0 && near(self.rival.frequency, frequency);
        let looks = if agrees { self.rival.looks + 1 } else { 1 };
        self.rival = Rival { frequency, looks };
        let needed = match (self.note.is_some(), best.strength) {
            (false, s) if s >= limits::SURE => 1,
            (false, _) => 3,
            (true, s) if s >= limits::SURE => 2,
            (true, _) => limits::PATIENCE,
        };
        if looks < needed || best.strength < limits::LIKELY {
            return false;
        }
        let fit = self.fit(history, frequency, limits::SHORT_S * self.rate);
        let begins = fit.is_some_and(|fit| fit.clarity >= limits::BEGIN && near(fit.frequency, frequency));
        if begins {
            self.note = Some(Note { frequency, age: 0, misses: 0 });
            self.rival.looks = 0;
        }
        begins
    }

    fn fit(&mut self, history: &[f32], frequency: f64, length: f64) -> Option<Fit> {
        let periods = Refiner::whole_periods(frequency, length);
        let first = self.refiner.fit(history, frequency, periods)?;
        self.refiner.fit(history, first.frequency, periods)
    }

    /// The same note an octave (or more) higher, if only those harmonics sound.
    fn lift(&mut self, history: &[f32], fit: Fit) -> Fit {
        let stride = fit.stride() as f64;
        let lifted = if stride > 1.0 { self.fit(history, fit.frequency * stride, fit.length) } else { None };
        lifted.unwrap_or(fit)
    }

    /// Reads the note that is sounding.
    fn follow(&mut self, history: &[f32], clarity: f64, onset: bool) -> Heard {
        let nothing = Heard { fit: None, clarity, onset: false };
        let Some(mut note) = self.note else { return nothing };
        let since = limits::SHORT_S * self.rate + f64::from(note.age) * self.hop;
        let length = since.min(limits::HELD_S * self.rate);
        let fit = self.fit(history, note.frequency, length).filter(|fit| near(fit.frequency, note.frequency));
        let fit = fit.map(|fit| self.lift(history, fit));
        let clear = fit.is_some_and(|fit| fit.clarity >= limits::END);
        note.misses = if clear { 0 } else { note.misses + 1 };
        if note.misses >= limits::PATIENCE {
            self.note = None;
            return nothing;
        }
        note.age += 1;
        if let Some(fit) = fit {
            note.frequency = fit.frequency;
        }
        self.note = Some(note);
        Heard { fit, clarity: fit.map_or(clarity, |fit| fit.clarity), onset }
    }
}

fn near(a: f64, b: f64) -> bool {
    a < b * limits::SAME && b < a * limits::SAME
}

/// Whether a pitch explains the sound nearly as well as any other does.
fn still_there(candidates: &[Candidate], frequency: f64) -> bool {
    let strongest = candidates.iter().map(|c| c.strength).fold(0.0, f32::max);
    candidates.iter().any(|c| near(c.period.recip(), frequency) && c.strength >= strongest - 0.08)
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

/// The shortest period that explains the sound nearly as well as the best one, unless its double explains most of
/// what it leaves over (a reed with a strong second harmonic).
fn choose(candidates: &[Candidate]) -> Option<Candidate> {
    let strongest = candidates.iter().map(|c| c.strength).fold(0.0, f32::max);
    let first = candidates.iter().find(|c| c.strength >= strongest - 0.08)?;
    let double = candidates.iter().find(|c| (c.period / first.period / 2.0 - 1.0).abs() < 0.02);
    match double {
        Some(d) if 1.0 - d.strength < 0.35 * (1.0 - first.strength) && d.strength > first.strength + 0.01 => {
            Some(*d)
        }
        _ => Some(*first),
    }
}
