//! From looks to notes: what sounds now, given what sounded a moment ago.

#[cfg(test)]
mod tests;

use crate::Settings;
use crate::candidates::{Candidate, Candidates};
use crate::choose::{can_sound, choose, is_there, mere_multiple, rule_out, still_there};
use crate::consensus::Estimate;
use crate::divide::{Division, View, share_between};
use crate::even::Even;
use crate::hold::{Glance, Hold, SHORT_S, USUAL_S};
use crate::lowpass::PASS;
use crate::note::{Grounds, Note, is_whole, near};
use crate::octave::Octave;
use crate::refine::{Fit, Refiner};
use crate::voicing::{self, lasting_strength, looks_needed};
use std::ops::RangeInclusive;

/// What the tracker goes by: times in seconds, clarities from 0 to 1, counts of looks.
mod limits {
    /// A repetition must last this long to be believed at once.
    pub(super) const LASTING_S: f64 = 0.002;
    /// Clarity below which a note is not heard at this look, and looks in a row that end it.
    pub(super) const END: f64 = 0.45;
    pub(super) const MISSES: u32 = 4;
    /// The same while the sound is as loud as before: something covers the note.
    pub(super) const COVERED: u32 = 12;
    /// Looks for which a note must have been heard before it can be covered.
    pub(super) const HEARD: u32 = 12;
    /// Looks for which a note is read at an even level: for as long as a slow attack may take, and the window on it.
    pub(super) const RISING: u32 = 20;
}

/// What the tracker makes of one look.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Tracked {
    /// The note's pitch, or `None` while no note sounds.
    pub(crate) pitch: Option<Estimate>,
    /// How periodic the sound is, note or not.
    pub(crate) clarity: f64,
    /// A new note begins.
    pub(crate) onset: bool,
}

#[derive(Clone, Copy, Debug, Default)]
struct Rival {
    frequency: f64,
    looks: u32,
}

impl Rival {
    /// The candidate at the rival's pitch, if it is still there. It stands while what wins a look is hardly a note:
    /// over a period of a high note, the sound of a low one that begins is smooth enough to seem to repeat.
    fn stands(&self, candidates: &[Candidate]) -> Option<Candidate> {
        let same = |c: &&Candidate| near(c.period.recip(), self.frequency) && is_there(candidates, c);
        candidates.iter().find(same).filter(|_| self.looks > 0).copied()
    }
}

/// Follows one note through the looks.
#[derive(Clone, Debug)]
pub(crate) struct Tracker {
    candidates: Candidates,
    refiner: Refiner,
    even: Even,
    octave: Octave,
    hold: Hold,
    rate: f64,
    hop: f64,
    range: RangeInclusive<f64>,
    harp: Vec<f64>,
    note: Option<Note>,
    division: Division,
    rival: Rival,
    looks: u64,
}

impl Tracker {
    /// For a working rate (hertz) and a hop (samples).
    pub(crate) fn new(rate: f64, hop: usize, settings: &Settings) -> Self {
        let (low_hz, high_hz) = (settings.low_hz, settings.high_hz.min(0.45 * rate));
        let longest = (2.2 / low_hz).max(USUAL_S) * rate;
        Self {
            candidates: Candidates::new(rate, low_hz, high_hz),
            refiner: Refiner::new(longest.ceil() as usize, PASS),
            even: Even::new(rate, longest.ceil() as usize + 2),
            octave: Octave::new(rate, PASS, low_hz / rate..=high_hz / rate),
            hold: Hold::new(rate, hop, PASS),
            rate,
            hop: hop as f64,
            range: low_hz / rate..=high_hz / rate,
            harp: settings.harp.iter().map(|hz| hz / rate).collect(),
            note: None,
            division: Division::default(),
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
        self.candidates.span().max(self.octave.span()).max(self.hold.span()).max(voicing::hum_span(self.rate))
    }

    /// Forgets the stream.
    pub(crate) fn reset(&mut self) {
        self.end();
        self.looks = 0;
    }

    fn end(&mut self) {
        self.note = None;
        self.division = Division::default();
        self.rival = Rival::default();
        self.hold.clear();
    }

    /// Looks at the end of the history; `power` is its newest mean square.
    pub(crate) fn look(&mut self, history: &[f32], power: f64) -> Tracked {
        self.looks += 1;
        if power < voicing::SILENCE {
            self.end();
            return Tracked::default();
        }
        let longest = self.candidates.longest();
        let candidates = self.candidates.look(history);
        let lasting = limits::LASTING_S * self.rate;
        let strength = |best: Candidate| lasting_strength(candidates, best.period, lasting, longest);
        let best = choose(candidates).map(|best| {
            let looks = looks_needed(strength(best), lasting.max(best.period));
            let doubtful = |rival: &Candidate| match looks {
                None => true,
                // A multiple of the period is always there.
                Some(looks) => looks > 1 && !is_whole(rival.period / best.period, 0.03),
            };
            self.rival.stands(candidates).filter(doubtful).unwrap_or(best)
        });
        let best = best.map(|best| rule_out(&self.harp, best));
        let lasting = best.map_or(0.0, strength);
        let hold = &self.hold;
        let held = self.note.as_mut().is_some_and(|note| {
            let pitch = note.pitch.frequency;
            !note.contested(power)
                && !best.is_some_and(|best| mere_multiple(best, pitch))
                && still_there(candidates, |frequency| hold.is_note(pitch, frequency))
        });
        let begins = match best {
            Some(best) if !held => self.challenge(history, best, lasting, power),
            _ => false,
        };
        self.divide(history, best.map(|best| best.period.recip()));
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
        let same = |note: &Note| {
            self.hold.is_note(note.pitch.frequency, frequency) || note.is_overtone_of(frequency)
        };
        if self.note.as_ref().is_some_and(same) {
            self.rival.looks = 0;
            return false;
        }
        let agrees = self.rival.looks > 0 && near(self.rival.frequency, frequency);
        self.rival = Rival { frequency, looks: if agrees { self.rival.looks + 1 } else { 1 } };
        let extra = self.note.map_or(0, |note| note.tenacity(frequency, power));
        let stretch = (limits::LASTING_S * self.rate / best.period).ceil() * best.period;
        let (newest, before) = self.candidates.energies(stretch.round() as usize);
        let click = voicing::dies_away(newest, before, stretch / self.rate);
        let patient = looks_needed(lasting, stretch).is_some_and(|looks| self.rival.looks >= looks + extra);
        if !patient || click || voicing::is_hum(history, self.rate, best.strength) {
            return false;
        }
        let shortest = SHORT_S * self.rate;
        let evened = self.even.look(history, best.period, shortest.max(2.0 * best.period));
        let fit = fit_twice(&mut self.refiner, evened, frequency, shortest);
        let begins = fit.is_some_and(|fit| {
            let believed = self.clarity(&fit) >= 0.6 && near(fit.frequency, frequency);
            // The common period of two reeds is many periods of each, and nothing sounds there itself.
            let times = self.note.map_or(1.0, |note| (note.pitch.frequency / frequency).round()) as u32;
            believed && (times < 3 || share_between(&fit, frequency, times) > 0.0)
        });
        if begins {
            self.end();
            self.note = Some(Note::new(frequency));
        }
        begins
    }

    /// How much of the sound is the note: what its harmonics explain, or what repeats with it at every multiple of its
    /// period, as most of that may lie in harmonics beyond those that are fitted. (At a single multiple a note that is
    /// so many times lower repeats as well.)
    fn clarity(&self, fit: &Fit) -> f64 {
        fit.clarity.max(self.candidates.repeats(fit.frequency.recip()))
    }

    /// Takes the note down if it proves to be an overtone.
    fn divide(&mut self, history: &[f32], fresh: Option<f64>) {
        let Some(note) = self.note.as_mut().filter(|note| note.grounds != Grounds::Spectrum) else { return };
        let (candidates, refiner) = (&self.candidates, &mut self.refiner);
        // Half of its time so far lies behind the attack.
        let behind = 0.5 * f64::from(note.age) * self.hop;
        let shortest = behind.clamp(SHORT_S * self.rate, USUAL_S * self.rate);
        let young = !note.is_settled();
        let mut view = View { history, candidates, refiner, fresh, shortest, young };
        let lower = self.division.weigh(&mut view, note.pitch.frequency);
        if let Some(lower) = lower.filter(|lower| can_sound(&self.harp, *lower)) {
            let thirds = near(3.0 * lower, note.pitch.frequency);
            note.grounds = if thirds { Grounds::Thirds } else { Grounds::Halves };
            self.move_to(lower);
        }
    }

    /// Takes the note for another pitch that explains the same sound; nothing that was learnt about its harmonics, its
    /// neighbour or its octave holds for those of the other.
    fn move_to(&mut self, frequency: f64) {
        if let Some(note) = &mut self.note {
            note.move_to(frequency);
        }
        self.division = Division::default();
        self.hold.another_octave();
    }

    /// Reads the note that is sounding.
    fn follow(&mut self, history: &[f32], power: f64, onset: bool) -> Tracked {
        let Some(note) = self.note else { return Tracked::default() };
        let period = note.pitch.frequency.recip();
        let since = self.hold.since(note.age);
        let rising = note.age < limits::RISING;
        let level = if rising { self.even.look(history, period, since.max(2.0 * period)) } else { history };
        let short = fit_twice(&mut self.refiner, level, note.pitch.frequency, SHORT_S * self.rate);
        let short = short.map(|fit| self.lift(history, &fit));
        let Some(mut note) = self.note else { return Tracked::default() };
        let clear = short.map(|fit| (fit, self.clarity(&fit))).filter(|(fit, clarity)| {
            let same = onset || self.hold.is_note(note.pitch.frequency, fit.frequency);
            *clarity >= limits::END && same
        });
        let Some((short, clarity)) = clear else { return self.miss(power) };
        if note.fades(clarity) {
            self.end();
            return Tracked::default();
        }
        note.misses = 0;
        note.age += 1;
        note.power += (power - note.power) * 0.1_f64.max(1.0 / f64::from(note.age));
        note.peak = note.peak.max(note.power);
        let before = note.pitch;
        let unrepeated = voicing::noise_share(&self.candidates, short.frequency.recip());
        let level = if rising { self.even.evened() } else { history };
        let look =
            Glance { history, level, short, before, age: note.age, unrepeated, louder: note.louder(power) };
        note.pitch = self.hold.read(&mut self.refiner, &look);
        let again = note.struck_again(power);
        self.note = Some(note);
        Tracked { pitch: Some(note.pitch), clarity: short.clarity, onset: onset || again }
    }

    /// A look at which the note is not heard: something covers it, or it has ended.
    fn miss(&mut self, power: f64) -> Tracked {
        let Some(note) = &mut self.note else { return Tracked::default() };
        note.misses += 1;
        note.pitch.lag += self.hop;
        note.pitch.sigma *= 1.1;
        note.pitch.doubt *= 1.1;
        // A note that was not heard at its first look was none.
        if note.age == 0 {
            self.end();
            return Tracked::default();
        }
        // A note that has hardly been heard is not covered.
        let covered = power > 0.5 * note.power && note.age > limits::HEARD;
        let patience = if covered { limits::COVERED } else { limits::MISSES };
        if note.misses >= patience || note.fades(0.0) {
            self.end();
            return Tracked::default();
        }
        Tracked { pitch: Some(note.pitch), clarity: 0.0, onset: false }
    }

    /// Asks the spectrum, now and then, whether the note is not another one than was thought.
    fn reconsider(&mut self, history: &[f32], fresh: Option<f64>) {
        let Some(note) = &mut self.note else { return };
        let sounding = f64::from(note.age - note.lifted_at) * self.hop;
        if !self.looks.is_multiple_of(2) || sounding < 0.8 * self.octave.span() as f64 {
            return;
        }
        if let Some(other) = self.octave.reconsider(history, note, fresh) {
            note.grounds = Grounds::Spectrum;
            self.move_to(other);
        }
        if let Some(note) = self.note.filter(|_| sounding >= self.octave.span() as f64) {
            self.hold.learn_noise(self.octave.spectrum(), note.pitch.frequency);
        }
    }

    /// The same note an octave (or more) higher, if only those harmonics sound.
    fn lift(&mut self, history: &[f32], fit: &Fit) -> Fit {
        let Some(note) = &mut self.note else { return *fit };
        let stride = fit.stride();
        let higher = fit.frequency * stride as f64;
        if !note.is_lifted(stride > 1 && self.range.contains(&higher)) {
            return *fit;
        }
        let Some(lifted) = fit_twice(&mut self.refiner, history, higher, fit.length) else { return *fit };
        self.move_to(lifted.frequency);
        lifted
    }
}

/// Fits twice, the second time about the pitch found first.
fn fit_twice(refiner: &mut Refiner, history: &[f32], frequency: f64, length: f64) -> Option<Fit> {
    let periods = Refiner::whole_periods(frequency, length);
    let first = refiner.fit(history, frequency, periods)?;
    refiner.fit(history, first.frequency, periods)
}
