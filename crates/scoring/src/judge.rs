//! One try, from silence to verdict.

use crate::aim::Aim;
use crate::figures::{measure, whole_spread};
use crate::trace::Trace;
use crate::track::{Point, Track};
use crate::{Figures, Outcome, Target, Tolerance, Verdict, Voice, Why};
use layout::Harp;
use pitch::Reading;
use std::ops::RangeInclusive;

/// A sound has to last this long to begin a try.
const TRY_S: f64 = 0.15;
/// Silence that ends a try.
const SILENCE_S: f64 = 0.35;
/// With no sound for this long a try counts as not heard.
const PATIENCE_S: f64 = 10.0;
/// A try may wander for this long, beyond the hold, before it counts as unsteady.
const WANDER_S: f64 = 6.0;
/// A wrong pitch is judged after this long at the earliest.
const WRONG_S: f64 = 1.0;
/// The natural note from which a bend is reached may be held this much longer than a wrong pitch.
const APPROACH_S: f64 = 1.0;
/// What was held this long was meant, even after a longer natural note from which it was reached; a whole try that is
/// shorter is too short to be wrong, seconds.
const MEANT_S: f64 = 0.3;
/// A pitch that moves faster than this is not held, cents per second.
const MOVING_CENTS_PER_S: f64 = 50.0;
/// A spread above this is unsteady, cents: a sine vibrato of 50 cents either way has 44.
const UNSTEADY_CENTS: f64 = 44.0;
/// The target counts as reached after this long within tolerance.
const REACHED_S: f64 = 0.05;
/// The shortest and the longest hold that can be asked for, seconds.
const HOLD_S: (f64, f64) = (0.1, 20.0);
/// A stretch that is long enough but not still is measured again after this long, seconds.
const MEASURE_EVERY_S: f64 = 0.02;

/// Listens to one try. Feed every reading; the last one of the try returns the verdict.
///
/// After its verdict a judge is deaf; make a new one for the next try.
#[derive(Clone, Debug)]
pub struct Judge {
    target: Target,
    tolerance: Tolerance,
    aim: Aim,
    sample_rate: f64,
    audible_hz: (f64, f64),
    patience_s: f64,
    origin: Option<u64>,
    now: f64,
    track: Track,
    voice: Voice,
    /// First sound of the try, seconds.
    began: Option<f64>,
    on_target_since: Option<f64>,
    reached: Option<f64>,
    last_cents: f64,
    /// The level of the loudest sound so far, dB relative to a full-scale sine.
    loudest_dbfs: f64,
    /// When the stretch is next worth measuring, seconds.
    measure_at: f64,
    /// The verdict has been given.
    over: bool,
}

/// The state of a try while it goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Live {
    /// A note is sounding.
    pub sounding: bool,
    /// Cents from the target now; `None` in silence.
    pub cents_off: Option<f64>,
    /// Seconds held near one pitch so far.
    pub held_s: f64,
    /// Seconds from the first sound until the target was first reached; `None` until then.
    pub reached_s: Option<f64>,
}

impl Judge {
    /// Sample rates that make sense, hertz.
    pub const SAMPLE_RATES: RangeInclusive<f64> = 1_000.0..=10_000_000.0;

    /// A judge for one try; `None` where the harp cannot play the target, or a value is no usable number.
    ///
    /// A hold outside 0.1 to 20 s is brought into that range.
    pub fn new(harp: &Harp, target: Target, tolerance: Tolerance, sample_rate: f64) -> Option<Self> {
        if !Self::SAMPLE_RATES.contains(&sample_rate) || target.hold_s.is_nan() {
            return None;
        }
        let aim = Aim::new(harp, target)?;
        let hold_s = target.hold_s.clamp(HOLD_S.0, HOLD_S.1);
        Some(Self {
            target: Target { hold_s, ..target },
            tolerance,
            audible_hz: aim.audible_hz(),
            aim,
            sample_rate,
            patience_s: PATIENCE_S,
            origin: None,
            now: 0.0,
            track: Track::default(),
            voice: Voice::default(),
            began: None,
            on_target_since: None,
            reached: None,
            last_cents: 0.0,
            loudest_dbfs: f64::NEG_INFINITY,
            measure_at: 0.0,
            over: false,
        })
    }

    /// The same judge without a limit on the time before the first sound.
    #[must_use]
    pub fn patient(self) -> Self {
        Self { patience_s: f64::INFINITY, ..self }
    }

    /// The same judge, asking for another hold, seconds.
    #[must_use]
    pub fn holding(self, hold_s: f64) -> Self {
        let hold_s = hold_s.clamp(HOLD_S.0, HOLD_S.1);
        Self { target: Target { hold_s, ..self.target }, ..self }
    }

    /// The target.
    pub fn target(&self) -> Target {
        self.target
    }

    /// Sample time of the first sound of the try; `None` until it has begun.
    pub fn began(&self) -> Option<u64> {
        let began = self.began?;
        Some(self.origin?.saturating_add((began * self.sample_rate).round() as u64))
    }

    /// Cents by which a reading lies above the target; `None` if it holds no note, or one far from all that the harp
    /// can sound (mains hum, a whistle), which no judge listens to.
    pub fn cents_off(&self, reading: &Reading) -> Option<f64> {
        let (low, high) = self.audible_hz;
        reading.hz.filter(|hz| (low..=high).contains(hz)).map(|hz| self.aim.cents(hz))
    }

    /// Whether the target's hole can sound a reading on the target's breath, with 65 cents to spare at either end.
    pub fn in_span(&self, reading: &Reading) -> bool {
        self.cents_off(reading).is_some_and(|cents| self.aim.in_span(cents))
    }

    /// Takes one reading; gives the verdict when the try is over. All readings of a judge belong to one stream: where
    /// the stream begins anew, that is a [`gap`](Judge::gap), which the caller tells.
    pub fn hear(&mut self, reading: &Reading) -> Option<Verdict> {
        if self.over {
            return None;
        }
        let t = self.seconds(reading.time);
        if t < self.now {
            // The ear's windows differ in length, so a reading may describe a moment before the one before it.
            return None;
        }
        self.now = t;
        let verdict = self.listen(reading);
        self.over = verdict.is_some();
        verdict
    }

    fn listen(&mut self, reading: &Reading) -> Option<Verdict> {
        if self.began.is_some() && self.voice.silent_s(self.now) >= SILENCE_S {
            return Some(self.finish());
        }
        let cents_off = self.cents_off(reading);
        self.loudest_dbfs = self.loudest_dbfs.max(f64::from(reading.level_dbfs));
        let since = self.voice.since();
        self.voice.hear(self.now, cents_off.is_some());
        if self.began.is_none() && self.voice.since() != since {
            // Nothing before this was a try.
            self.track.clear();
        }
        if let Some(cents) = cents_off {
            self.sound(cents, reading);
        }
        self.watch_target(cents_off);
        let Some(began) = self.began else { return self.give_up() };
        let too_long = self.now - began >= WANDER_S + self.target.hold_s;
        self.fulfilled().or_else(|| too_long.then(|| self.unsteady(self.best())))
    }

    /// Samples were lost: a try that had begun ends as not scored, and the judge listens for a new one; one that had
    /// not begun begins afresh. After a verdict nothing changes.
    pub fn gap(&mut self) -> Option<Verdict> {
        if self.over {
            return None;
        }
        let begun = self.began.is_some();
        self.restart();
        begun.then_some(untold(Why::SamplesLost, None))
    }

    /// How the pitch went since the try began; nothing before it.
    pub fn trace(&self) -> Trace {
        self.began.map(|began| Trace::new(self.track.points(), began)).unwrap_or_default()
    }

    /// How the try stands.
    pub fn live(&self) -> Live {
        let sounding = self.voice.since().is_some();
        Live {
            sounding,
            cents_off: sounding.then_some(self.last_cents),
            held_s: if sounding { self.track.duration(&self.track.current()) } else { 0.0 },
            reached_s: self.reached,
        }
    }

    fn restart(&mut self) {
        self.track.clear();
        self.voice = Voice::default();
        (self.origin, self.now, self.measure_at) = (None, 0.0, 0.0);
        (self.began, self.on_target_since, self.reached) = (None, None, None);
    }

    /// Seconds since the first reading; negative if the time lies before it.
    fn seconds(&mut self, time: u64) -> f64 {
        let origin = *self.origin.get_or_insert(time);
        let samples = if time >= origin { (time - origin) as f64 } else { -((origin - time) as f64) };
        samples / self.sample_rate
    }

    /// A note is heard.
    fn sound(&mut self, cents: f64, reading: &Reading) {
        self.last_cents = cents;
        let [sigma, level, clarity] =
            [reading.sigma_cents, reading.level_dbfs, reading.clarity].map(f64::from);
        self.track.push(Point { t: self.now, cents, sigma, level, clarity });
        if self.began.is_none() {
            self.began = self.voice.since().filter(|since| self.now - since >= TRY_S);
        }
    }

    /// Notes when the target is first reached, for [`Live`].
    fn watch_target(&mut self, cents_off: Option<f64>) {
        let sounding = self.voice.since().is_some();
        let on_target = cents_off.map_or(sounding, |cents| self.tolerance.in_tune(cents));
        if !on_target {
            self.on_target_since = None;
        } else if cents_off.is_some() {
            let since = *self.on_target_since.get_or_insert(self.now);
            if let (Some(began), None) = (self.began, self.reached)
                && self.now - since >= REACHED_S
            {
                self.reached = Some((since - began).max(0.0));
            }
        }
    }

    /// The verdict on a note held long enough, right or wrong.
    fn fulfilled(&mut self) -> Option<Verdict> {
        let current = self.track.current();
        let long_enough = self.track.duration(&current) >= self.needed_s(self.track.median());
        if !long_enough || self.now < self.measure_at {
            return None;
        }
        self.measure_at = self.now + MEASURE_EVERY_S;
        let figures = measure(&self.track, current, self.began?, &self.aim).filter(is_still)?;
        (figures.held_s >= self.needed_s(figures.cents_off)).then(|| self.judge(figures))
    }

    /// How long a pitch has to be held before it is judged, seconds.
    fn needed_s(&self, cents: f64) -> f64 {
        let hold_s = self.target.hold_s;
        if self.tolerance.in_tune(cents) {
            hold_s
        } else if self.aim.is_approach(cents) {
            hold_s.max(WRONG_S) + APPROACH_S
        } else {
            hold_s.max(WRONG_S)
        }
    }

    /// The verdict on a try that ended by silence.
    fn finish(&self) -> Verdict {
        let best = self.best();
        let in_tune = best.is_some_and(|figures| self.tolerance.in_tune(figures.cents_off));
        let lasted_s = self.voice.last() - self.began.unwrap_or(self.now);
        match best {
            _ if lasted_s < MEANT_S && !in_tune => untold(Why::TooShort, best),
            Some(figures) if is_still(&figures) => self.judge(figures),
            figures => self.unsteady(figures),
        }
    }

    /// The stretch to judge: the longest one in tune, else the longest still one that is no mere approach, else the
    /// longest still one, else the longest.
    fn best(&self) -> Option<Figures> {
        let began = self.began?;
        let rank = |figures: &Figures| {
            let still = is_still(figures);
            let meant = figures.held_s >= MEANT_S && !self.aim.is_approach(figures.cents_off);
            (still && self.tolerance.in_tune(figures.cents_off), still && meant, still)
        };
        self.track
            .stretches()
            .filter_map(|range| measure(&self.track, range, began, &self.aim))
            .max_by(|a, b| rank(a).cmp(&rank(b)).then(a.held_s.total_cmp(&b.held_s)))
    }

    fn judge(&self, figures: Figures) -> Verdict {
        let cents = figures.cents_off;
        if figures.sigma_cents > self.tolerance.in_tune_cents {
            return untold(Why::Unsure, Some(figures));
        }
        let (outcome, between) = if !self.tolerance.in_tune(cents) {
            self.aim.miss(cents, self.tolerance)
        } else if figures.held_s < self.target.hold_s {
            (Outcome::TooBrief(figures.held_s), None)
        } else {
            (Outcome::Landed, None)
        };
        Verdict { outcome, figures: Some(figures), between }
    }

    fn unsteady(&self, figures: Option<Figures>) -> Verdict {
        let spread = whole_spread(self.track.points(), &self.aim);
        Verdict { outcome: Outcome::Unsteady(spread), figures, between: None }
    }

    /// Not heard, once patience is at an end.
    fn give_up(&self) -> Option<Verdict> {
        let given_up = self.voice.since().is_none() && self.now >= self.patience_s;
        given_up.then_some(Verdict {
            outcome: Outcome::NotHeard(self.loudest_dbfs),
            figures: None,
            between: None,
        })
    }
}

/// The verdict on a try of which nothing can be told.
fn untold(why: Why, figures: Option<Figures>) -> Verdict {
    Verdict { outcome: Outcome::CannotTell(why), figures, between: None }
}

/// Held rather than moving or wobbling.
fn is_still(figures: &Figures) -> bool {
    figures.drift_cents_per_s.abs() <= MOVING_CENTS_PER_S && figures.spread_cents <= UNSTEADY_CENTS
}
