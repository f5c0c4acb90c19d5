//! What was practised, day by day.

use crate::Day;
use layout::Way;
use std::cmp::Ordering;

/// What one player practised, counted day by day. What the built-in player or a recording played is not in it. Each
/// list is in the order of the days.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Past {
    /// The tries of each day at each note of drills.
    pub notes: Vec<NoteDay>,
    /// What came of each drill and of each run on each day.
    pub things: Vec<ThingDay>,
    /// The runs of each day, by their tempo.
    pub paces: Vec<PaceDay>,
    /// How long was practised on each day.
    pub played: Vec<PlayedDay>,
}

/// The tries of a day at one note, on whatever harp: a bend is a movement of the mouth and not a pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoteDay {
    /// The day.
    pub day: Day,
    /// What was asked for.
    pub way: Way,
    /// Tries that count: something was heard, and something could be told.
    pub tries: u32,
    /// How many of them landed.
    pub landed: u32,
    /// How many of them had a distance in cents from what was asked.
    pub measured: u32,
    /// The sum of those distances, cents; sharp is positive.
    pub cents: f64,
    /// The sum of their squares, cents squared.
    pub cents_squared: f64,
}

/// What came of a drill or of a run on a day.
#[derive(Clone, Debug, PartialEq)]
pub struct ThingDay {
    /// The day.
    pub day: Day,
    /// What the journal calls it: `drill` and its name, or `run` and its title.
    pub name: String,
    /// Tries that count, or notes of runs.
    pub of: u32,
    /// How many landed, or were right in pitch and in time.
    pub good: u32,
    /// Of runs: the tempo of the last one, beats a minute.
    pub tempo: Option<f64>,
}

/// The runs of a day at one tempo.
#[derive(Clone, Debug, PartialEq)]
pub struct PaceDay {
    /// The day.
    pub day: Day,
    /// What the journal calls it: `run` and its title.
    pub name: String,
    /// Beats a minute.
    pub tempo: f64,
    /// Runs to a beat; runs in a tempo of the player's own are left out.
    pub runs: u32,
    /// How many of them were clean.
    pub clean: u32,
}

/// How long was practised on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlayedDay {
    /// The day.
    pub day: Day,
    /// Seconds between what was kept, long silences left out.
    pub seconds: u32,
}

/// A trend is told against so many days before.
const TREND_DAYS: usize = 3;
/// A smaller change of the share that was good is none: chance alone makes it.
const TREND: f64 = 0.1;
/// Fewer tries on a day than this are no measure.
const LEAST_TRIES: u32 = 4;
/// A tempo counts as clean when it was played cleanly so often at least …
const CLEAN_RUNS: u32 = 2;
/// … and in two runs of three.
const CLEAN_OF_THREE: u32 = 2;

impl Past {
    /// What was practised before a day.
    #[must_use]
    pub fn before(&self, day: Day) -> Self {
        Self {
            notes: self.notes.iter().filter(|it| it.day < day).copied().collect(),
            things: self.things.iter().filter(|it| it.day < day).cloned().collect(),
            paces: self.paces.iter().filter(|it| it.day < day).cloned().collect(),
            played: self.played.iter().filter(|it| it.day < day).copied().collect(),
        }
    }

    /// What came of a drill or of a run when it was practised last.
    pub fn last(&self, name: &str) -> Option<&ThingDay> {
        self.things.iter().rev().find(|it| it.name == name)
    }

    /// The fastest tempo at which a run is clean, beats a minute: at least two clean runs, and two of three clean.
    /// `None` if there is none.
    pub fn clean_tempo(&self, name: &str) -> Option<f64> {
        let mut tempi = Tempi::default();
        self.paces.iter().filter(|it| it.name == name).for_each(|pace| tempi.add(pace));
        tempi.clean()
    }

    /// The best day of a drill or of a run: the largest share that was good. `None` where no day had tries enough to
    /// say.
    pub fn best(&self, name: &str) -> Option<&ThingDay> {
        let enough = self.things.iter().filter(|it| it.name == name && it.of >= LEAST_TRIES);
        enough.max_by_key(|it| (1000 * u64::from(it.good) / u64::from(it.of), it.of, it.day))
    }

    /// Whether the last day of a drill or of a run was better or worse than the three days of it before: whether the
    /// share that was good changed by at least a tenth; `None` if there was no day before.
    pub fn trend(&self, name: &str) -> Option<Ordering> {
        let mut days = self.things.iter().rev().filter(|it| it.name == name && it.of > 0);
        let last = days.next()?;
        let (good, of) = days.take(TREND_DAYS).fold((0, 0), |(good, of), it| (good + it.good, of + it.of));
        let share = |good: u32, of: u32| f64::from(good) / f64::from(of);
        let change = (of > 0).then(|| share(last.good, last.of) - share(good, of))?;
        Some(if change.abs() < TREND { Ordering::Equal } else { change.total_cmp(&0.0) })
    }

    /// How many days in a row, up to today or yesterday, something was practised.
    pub fn days_in_a_row(&self, today: Day) -> u32 {
        let (mut row, mut next) = (0, today);
        for day in self.played.iter().rev().filter(|it| it.seconds > 0 && it.day <= today).map(|it| it.day) {
            // Today may still come.
            if day != next && (row > 0 || day != today.plus(-1)) {
                break;
            }
            (row, next) = (row + 1, day.plus(-1));
        }
        row
    }
}

/// The tempi at which something was run, each with its runs and the clean ones among them.
#[derive(Default)]
pub(crate) struct Tempi(Vec<(f64, u32, u32)>);

impl Tempi {
    /// Takes in the runs of a day.
    pub(crate) fn add(&mut self, pace: &PaceDay) {
        match self.0.iter_mut().find(|(tempo, ..)| *tempo == pace.tempo) {
            Some((_, runs, clean)) => (*runs, *clean) = (*runs + pace.runs, *clean + pace.clean),
            None => self.0.push((pace.tempo, pace.runs, pace.clean)),
        }
    }

    /// The fastest tempo at which it is clean, beats a minute; see [`Past::clean_tempo`].
    pub(crate) fn clean(&self) -> Option<f64> {
        let clean = self
            .0
            .iter()
            .filter(|(_, runs, clean)| *clean >= CLEAN_RUNS && 3 * clean >= CLEAN_OF_THREE * runs);
        clean.map(|(tempo, ..)| *tempo).max_by(f64::total_cmp)
    }
}

impl NoteDay {
    /// The mean distance from what was asked, cents; sharp is positive. `None` if nothing was measured.
    pub fn mean_cents(&self) -> Option<f64> {
        (self.measured > 0).then(|| self.cents / f64::from(self.measured))
    }

    /// How far the distances lie from their mean (standard deviation), cents; `None` of fewer than two.
    pub fn spread_cents(&self) -> Option<f64> {
        let count = f64::from(self.measured);
        (self.measured > 1)
            .then(|| ((self.cents_squared - self.cents * self.cents / count) / (count - 1.0)).max(0.0).sqrt())
    }

    /// Both days taken together, as of the later one.
    #[must_use]
    pub fn and(self, other: &Self) -> Self {
        Self {
            day: self.day.max(other.day),
            way: self.way,
            tries: self.tries + other.tries,
            landed: self.landed + other.landed,
            measured: self.measured + other.measured,
            cents: self.cents + other.cents,
            cents_squared: self.cents_squared + other.cents_squared,
        }
    }
}

#[cfg(test)]
impl NoteDay {
    /// So many tries on a day at a note by its tab, of which so many landed, all of them so many cents off.
    pub(crate) fn sample(tab: &str, day: Day, (landed, tries): (u32, u32), off: f64) -> Self {
        let way = layout::TabStyle::default().read(tab).unwrap();
        let cents = off * f64::from(tries);
        Self { day, way, tries, landed, measured: tries, cents, cents_squared: off * cents }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique};

    fn pace(day: i32, tempo: f64, runs: u32, clean: u32) -> PaceDay {
        PaceDay { day: Day(day), name: "run blues".to_owned(), tempo, runs, clean }
    }

    #[test]
    fn a_tempo_is_clean_after_two_clean_runs_of_three() {
        let with = |paces: Vec<PaceDay>| Past { paces, ..Past::default() }.clean_tempo("run blues");
        assert_eq!(with(vec![pace(1, 80.0, 1, 1)]), None, "once is chance");
        assert_eq!(with(vec![pace(1, 80.0, 1, 1), pace(2, 80.0, 2, 1)]), Some(80.0));
        assert_eq!(
            with(vec![pace(1, 80.0, 2, 2), pace(2, 90.0, 4, 2)]),
            Some(80.0),
            "half of them is not enough"
        );
        assert_eq!(with(vec![pace(1, 90.0, 2, 2), pace(2, 80.0, 2, 2)]), Some(90.0));
        assert_eq!(with(Vec::new()), None);
    }

    #[test]
    fn a_trend_is_a_change_by_more_than_a_tenth() {
        let with = |shares: &[(u32, u32)]| {
            let thing = |(day, (good, of)): (i32, &(u32, u32))| ThingDay {
                day: Day(day),
                name: "drill x".to_owned(),
                of: *of,
                good: *good,
                tempo: None,
            };
            let past = Past { things: (0..).zip(shares).map(thing).collect(), ..Past::default() };
            (past.trend("drill x"), past.best("drill x").map(|it| (it.good, it.of)))
        };
        assert_eq!(with(&[(9, 10)]), (None, Some((9, 10))));
        assert_eq!(with(&[(4, 10), (5, 10), (3, 10), (8, 10)]), (Some(Ordering::Greater), Some((8, 10))));
        assert_eq!(
            with(&[(8, 10), (3, 3), (5, 10)]),
            (Some(Ordering::Less), Some((8, 10))),
            "3 tries are no best"
        );
        assert_eq!(with(&[(8, 10), (8, 10), (17, 20)]), (Some(Ordering::Equal), Some((17, 20))));
        assert_eq!(with(&[(0, 0), (5, 10)]).0, None);
    }

    #[test]
    fn days_in_a_row_end_today_or_yesterday() {
        let with = |days: &[i32]| {
            let played = days.iter().map(|day| PlayedDay { day: Day(*day), seconds: 60 }).collect();
            Past { played, ..Past::default() }.days_in_a_row(Day(10))
        };
        assert_eq!(with(&[8, 9, 10]), 3);
        assert_eq!(with(&[8, 9]), 2, "today may still come");
        assert_eq!(with(&[7, 8]), 0);
        assert_eq!(with(&[6, 8, 9]), 2);
    }

    #[test]
    fn mean_and_spread_are_those_of_the_textbook() {
        let way = Way::new(3, Breath::Draw, Technique::Bend(2));
        // 2, 4, 4, 4, 5, 5, 7, 9: mean 5, sum of squares 232, variance 32 / 7.
        let day =
            NoteDay { day: Day(0), way, tries: 8, landed: 8, measured: 8, cents: 40.0, cents_squared: 232.0 };
        assert_eq!(day.mean_cents(), Some(5.0));
        assert!((day.spread_cents().unwrap() - (32.0_f64 / 7.0).sqrt()).abs() < 1e-12);
    }
}
