//! Chords that are chugged: where each begins and ends, and which reeds sounded in it.

use super::attack::Levels;
use crate::reeds::{Holes, ReedsOutcome, ReedsWhy, Shares};
use layout::Breath;
use pitch::Reading;
use pitch::reeds::Sounding;
use serde::Serialize;
use std::collections::VecDeque;

/// The level of a chord is a mean over this time, seconds: its reeds beat against each other faster than that.
const LEVEL_S: f64 = 0.015;
/// A chord is over when its level has fallen by this much, decibels: the gap before it is repeated falls by more, the
/// beating of two reeds by less.
const FALLS_DB: f64 = 7.0;
/// A chord begins when the level has risen by this much above the quietest moment of the gap, decibels.
const RISES_DB: f64 = 5.0;
/// A fall is measured from the loudest level so far, which is lowered at this rate, decibels a second: a chord may die
/// away by itself.
const FORGETS_DB_PER_S: f64 = 20.0;
/// A chord begins at a level at most this far below the loudest moment of late, decibels, and of at least
/// `FAINTEST_DBFS`.
const FAINT_DB: f64 = 25.0;
const FAINTEST_DBFS: f64 = -60.0;
/// The loudest moment is forgotten at this rate, decibels a second.
const LOUDEST_FORGETS_DB_PER_S: f64 = 3.0;
/// A shorter sound is a slip, seconds; and no chord begins sooner after another.
const SHORTEST_S: f64 = 0.05;
/// When the attack is looked for, seconds after the first rise: as of a note, so that its held level is known.
const SETTLES_S: f64 = 0.06;
/// The breath has turned without a gap when so many readings of the reeds in a row say so: 50 ms of them.
const TURNED: usize = 5;
/// Before the turn at least so many readings were of the other breath: 20 ms of them.
const LEAST_BEFORE: usize = 2;
/// Readings of the reeds that belong to the attack, seconds.
const ATTACK_S: f64 = 0.04;
/// So many readings tell the holes of a chord; from `LEAST_OF_BREATH` on they tell its breath at least.
const LEAST_READINGS: f64 = 8.0;
const LEAST_OF_BREATH: f64 = 2.0;
/// Readings of the reeds come this much later than those of the level at most, seconds.
const BEHIND_S: f64 = 0.15;
/// Readings of the reeds are kept for so long, seconds: a chord that lasts longer is judged by its end.
const KEPT_S: f64 = 6.0;

/// A chord that was played, in samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chug {
    /// Where its breath began.
    pub began: u64,
    /// Where it was last heard.
    pub last: u64,
    /// Which reeds sounded.
    pub heard: ChordHeard,
}

/// Which reeds sounded in a chord.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct ChordHeard {
    /// The breath; `None` where it cannot be told.
    pub breath: Option<Breath>,
    /// The holes that surely sounded.
    pub sounding: Holes,
    /// Those that may have.
    pub perhaps: Holes,
    /// Those that other holes hide, an octave below: nothing can be told of them.
    pub hidden: Holes,
    /// Whether the chord was long enough to tell its holes.
    pub sure: bool,
}

impl ChordHeard {
    /// The outcome against the breath and the holes that were asked for.
    pub fn against(&self, breath: Breath, asked: Holes) -> ReedsOutcome {
        let Some(own) = self.breath else { return ReedsOutcome::CannotTell(ReedsWhy::Flickers) };
        if own != breath {
            return ReedsOutcome::WrongBreath;
        }
        if !self.sure {
            return ReedsOutcome::CannotTell(ReedsWhy::TooShort);
        }
        let missing = asked
            .iter()
            .filter(|hole| {
                ![self.sounding, self.perhaps, self.hidden].iter().any(|some| some.contains(*hole))
            })
            .collect::<Holes>();
        let leaked = self.sounding.iter().filter(|hole| !asked.contains(*hole)).collect::<Holes>();
        match () {
            () if !missing.is_empty() || !leaked.is_empty() => ReedsOutcome::Off { missing, leaked },
            () if !self.perhaps.is_empty() || asked.iter().any(|hole| self.hidden.contains(hole)) => {
                ReedsOutcome::CannotTell(ReedsWhy::Flickers)
            }
            () => ReedsOutcome::Right,
        }
    }
}

/// Divides what is heard into chords: at gaps of the breath, and where it turns.
#[derive(Clone, Debug)]
pub struct Chugs {
    sample_rate: f64,
    levels: Levels,
    /// Samples known and powers of the last while, for their mean.
    lately: VecDeque<(u64, f64)>,
    open: Option<Open>,
    /// Chords that are over, of which not all readings of the reeds have come.
    closed: VecDeque<Open>,
    soundings: VecDeque<Sounding>,
    /// The quietest moment of the gap, and the loudest moment of late, decibels.
    quietest: f64,
    loudest: f64,
    known: u64,
}

/// A chord that sounds.
#[derive(Clone, Copy, Debug)]
struct Open {
    began: u64,
    last: u64,
    /// What its level falls from, decibels.
    level: f64,
    settled: bool,
}

impl Chugs {
    /// Nothing has been played yet; times are samples at this rate.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            sample_rate,
            levels: Levels::new(sample_rate),
            lately: VecDeque::new(),
            open: None,
            closed: VecDeque::new(),
            soundings: VecDeque::new(),
            quietest: f64::INFINITY,
            loudest: f64::NEG_INFINITY,
            known: 0,
        }
    }

    /// Where the chord that sounds began, once it has lasted long enough to be one.
    pub fn sounding(&self) -> Option<u64> {
        let long_enough = |open: &&Open| self.seconds(open.began, open.last) >= SHORTEST_S;
        self.open.as_ref().filter(long_enough).map(|open| open.began)
    }

    /// Takes a reading of the ear, of which it needs the level; gives the chords that are over.
    pub fn hear(&mut self, reading: &Reading) -> Vec<Chug> {
        let passed_s = self.seconds(self.known, reading.known);
        self.known = reading.known;
        self.levels.push(reading);
        let level = self.mean(reading);
        self.loudest = (self.loudest - LOUDEST_FORGETS_DB_PER_S * passed_s).max(level);
        if let Some(open) = &mut self.open {
            open.level = (open.level - FORGETS_DB_PER_S * passed_s).max(level);
            if level < open.level - FALLS_DB {
                self.close(level);
            } else {
                open.last = reading.time;
                self.settle(false);
            }
        } else {
            self.quietest = self.quietest.min(level);
            let faint = (self.loudest - FAINT_DB).max(FAINTEST_DBFS);
            if level >= self.quietest + RISES_DB && level >= faint {
                let (began, last) = (reading.time, reading.time);
                self.open = Some(Open { began, last, level, settled: false });
            }
        }
        self.over()
    }

    /// Takes a reading of the reeds; gives the chords that are over.
    pub fn hear_reeds(&mut self, sounding: &Sounding) -> Vec<Chug> {
        let kept = (KEPT_S * self.sample_rate) as u64;
        while self.soundings.front().is_some_and(|old| old.time + kept < sounding.time) {
            self.soundings.pop_front();
        }
        self.soundings.push_back(*sounding);
        self.turn();
        self.over()
    }

    /// Ends what sounds, at the end of the run or where samples were lost.
    pub fn end(&mut self) -> Vec<Chug> {
        self.close(f64::INFINITY);
        let closed = std::mem::take(&mut self.closed);
        closed.into_iter().filter_map(|chord| self.told(chord)).collect()
    }

    /// The mean level of the last while.
    fn mean(&mut self, reading: &Reading) -> f64 {
        let kept = (LEVEL_S * self.sample_rate) as u64;
        while self.lately.front().is_some_and(|(known, _)| known + kept < reading.known) {
            self.lately.pop_front();
        }
        self.lately.push_back((reading.known, 10_f64.powf(f64::from(reading.level_dbfs) / 10.0)));
        let sum: f64 = self.lately.iter().map(|(_, power)| power).sum();
        10.0 * (sum / self.lately.len() as f64).log10()
    }

    fn close(&mut self, level: f64) {
        self.settle(true);
        self.quietest = level;
        self.closed.extend(self.open.take());
    }

    /// Looks for the attack of the chord that sounds, once its held level is known, or it is over.
    fn settle(&mut self, over: bool) {
        let (rate, levels) = (self.sample_rate, &self.levels);
        let Some(open) = self.open.as_mut().filter(|open| !open.settled) else { return };
        if over || open.last.saturating_sub(open.began) as f64 / rate >= SETTLES_S {
            open.began = levels.attack(open.began).unwrap_or(open.began);
            open.settled = true;
        }
    }

    /// Divides the chord that sounds where the newest readings of the reeds are all of another breath than those
    /// before.
    fn turn(&mut self) {
        let Some(open) = self.open else { return };
        let from = open.began + (ATTACK_S * self.sample_rate) as u64;
        let own = self.soundings.iter().filter(|heard| heard.time >= from);
        let breaths: Vec<(u64, Breath)> =
            own.filter_map(|heard| Some((heard.time, breath(heard)?))).collect();
        let Some(at) = breaths.len().checked_sub(TURNED) else { return };
        let (before, newest) = breaths.split_at(at);
        let Some((turned, now)) = newest.first() else { return };
        let others = before.iter().filter(|(_, breath)| breath != now).count();
        // Most of what sounded before decides, because a few readings of the other breath within a chord are a flicker
        // of the ear.
        let is_other = others >= LEAST_BEFORE && 2 * others > before.len();
        if is_other && newest.iter().all(|(_, breath)| breath == now) {
            let (turned, last, level) = (*turned, open.last, open.level);
            self.settle(true);
            if let Some(open) = &mut self.open {
                open.last = turned;
            }
            self.closed.extend(self.open.take());
            self.open = Some(Open { began: turned, last, level, settled: true });
        }
    }

    /// The chords that are over and of which all readings have come.
    fn over(&mut self) -> Vec<Chug> {
        let newest = self.soundings.back().map_or(0, |heard| heard.time);
        let behind = (BEHIND_S * self.sample_rate) as u64;
        let mut over = Vec::new();
        while let Some(chord) = self.closed.front().copied()
            && (newest >= chord.last || self.known >= chord.last + behind)
        {
            self.closed.pop_front();
            over.extend(self.told(chord));
        }
        over
    }

    /// The chord with its reeds; `None` if the sound was no chord.
    fn told(&self, chord: Open) -> Option<Chug> {
        let Open { began, last, .. } = chord;
        let within =
            |from: u64| self.soundings.iter().filter(move |heard| (from..=last).contains(&heard.time));
        let from = began + (ATTACK_S * self.sample_rate) as u64;
        // A sound is the harp's only if a reed was heard in it.
        let is_one =
            self.seconds(began, last) >= SHORTEST_S && within(began).any(|heard| breath(heard).is_some());
        is_one.then(|| Chug { began, last, heard: heard(&Shares::of(within(from))) })
    }

    fn seconds(&self, from: u64, to: u64) -> f64 {
        to.saturating_sub(from) as f64 / self.sample_rate
    }
}

/// The breath of the strongest reed.
fn breath(sounding: &Sounding) -> Option<Breath> {
    let reed = sounding.voices().next()?.reed?;
    Some(if reed.draw { Breath::Draw } else { Breath::Blow })
}

fn heard(shares: &Shares) -> ChordHeard {
    let breath = shares.breath_of(LEAST_OF_BREATH);
    let (sounding, perhaps) = breath.map_or((Holes::NONE, Holes::NONE), |breath| shares.holes(breath));
    let hidden = breath.map_or(Holes::NONE, |breath| shares.hidden(breath));
    ChordHeard { breath, sounding, perhaps, hidden, sure: shares.readings() >= LEAST_READINGS }
}
