//! Where a player stands in a programme.
//!
//! A programme counts days of practice and not days of the calendar: whoever was away finds the week as it was left. A
//! day counts for a week if something was practised on it that the week asks for, or in which a goal of an earlier week
//! is still open. A week is over at the end of its third day if its goals are reached by then; otherwise at the end of
//! the day on which the last of them is reached, and after the seventh day in any case. Its goals then stay open beside
//! those of the next week, because a bend may need a month and nobody is to wait before it. Three days, because what
//! succeeds on one day is not yet there on the next; seven, because a teacher says "a week". (Common practice, no
//! source; teachers differ most in whether to let a student go on at all.)
//!
//! A goal once reached stays reached. That a bend fades is for the spacing of the plan to notice, not for the
//! programme.

use super::{Aim, Goal, Item, Programme, What};
use crate::past::Tempi;
use crate::{Day, Past, side};
use layout::Way;
use serde::{Serialize, Serializer};
use std::collections::BTreeSet;

/// A week has at least so many days of practice, if its goals are reached on the first …
const LEAST_DAYS: usize = 3;
/// … and at most so many.
const MOST_DAYS: usize = 7;

/// Where a player stands in a programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Standing<'a> {
    /// The week, counted from 0 (and written as JSON from 1); `None` after the last.
    #[serde(serialize_with = "from_one")]
    pub week: Option<usize>,
    /// Days of practice that count for this week so far, today included.
    pub days: usize,
    /// Every goal of the programme, in order.
    pub goals: Vec<GoalStanding<'a>>,
}

/// Where a player stands with a goal.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GoalStanding<'a> {
    /// The week in which it stands, counted from 0 (and written as JSON from 1).
    #[serde(serialize_with = "from_one")]
    pub week: usize,
    /// The goal.
    pub goal: &'a Goal,
    /// When it was reached, if it was.
    pub reached: Option<Day>,
    /// What there is of it now.
    pub so_far: SoFar,
}

/// What there is of a goal.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SoFar {
    /// Nothing was played of it since the programme began.
    Nothing,
    /// The tries of the last days, as many days as it takes for as many tries as the goal counts.
    Tries {
        /// How many.
        of: u32,
        /// How many landed.
        landed: u32,
        /// Of a note: the mean distance, cents; sharp is positive.
        mean_cents: Option<f64>,
        /// Of a note: the root of the mean square of the distances, cents.
        typical_cents: Option<f64>,
    },
    /// The fastest clean tempo, beats a minute, if there is one.
    Tempo(Option<f64>),
}

impl Programme {
    /// Where a player who began the programme on a day stands `today`; see the head of this file for what ends a week.
    /// What was practised before it began does not count. Everything is worked out anew from what was practised.
    pub fn standing(&self, past: &Past, began: Day, today: Day) -> Standing<'_> {
        let record = Record::new(past, began, today);
        let goals: Vec<GoalStanding<'_>> = (0..)
            .zip(&self.weeks)
            .flat_map(|(number, week)| week.goals.iter().map(move |goal| (number, goal)))
            .map(|(week, goal)| record.goal(week, goal))
            .collect();
        let mut from = began;
        for number in 0..self.weeks.len() {
            let days = self.days_of(number, &record, (&goals, from));
            // Today is not over: what is asked for does not change while it is being practised.
            let before: Vec<Day> = days.iter().copied().filter(|day| *day < today).collect();
            match last_day(&before, goals.iter().filter(|goal| goal.week == number)) {
                Some(last) => from = last.plus(1),
                None => return Standing { week: Some(number), days: days.len(), goals },
            }
        }
        Standing { week: None, days: 0, goals }
    }

    /// The days from `from` on that count for a week.
    fn days_of(
        &self,
        number: usize,
        record: &Record<'_>,
        (goals, from): (&[GoalStanding<'_>], Day),
    ) -> BTreeSet<Day> {
        let open =
            goals.iter().filter(|goal| goal.week < number && goal.reached.is_none_or(|day| day >= from));
        let own = self.weeks.get(number).into_iter().flat_map(|week| &week.items);
        let items = own.chain(open.map(|goal| &goal.goal.item));
        items.flat_map(|item| record.days(item)).filter(|day| *day >= from).collect()
    }
}

/// The last of the days of a week, if the week is over.
fn last_day<'a>(days: &[Day], goals: impl Iterator<Item = &'a GoalStanding<'a>>) -> Option<Day> {
    let longest = days.get(MOST_DAYS - 1).copied();
    // A week without goals goes by with its days.
    let reached: Option<Vec<Day>> = goals.map(|goal| goal.reached).collect();
    let all = reached.and_then(|days| days.into_iter().max());
    let early = all.and_then(|all| days.iter().skip(LEAST_DAYS - 1).find(|day| **day >= all)).copied();
    early.into_iter().chain(longest).min()
}

/// What was practised from one day to another.
struct Record<'a> {
    past: &'a Past,
    began: Day,
    today: Day,
}

impl<'a> Record<'a> {
    fn new(past: &'a Past, began: Day, today: Day) -> Self {
        Self { past, began, today }
    }

    /// Of a list in the order of its days, the part from `began` to `today`.
    fn since<T>(&self, list: &'a [T], day: impl Fn(&T) -> Day) -> &'a [T] {
        let from = list.partition_point(|it| day(it) < self.began);
        let to = list.partition_point(|it| day(it) <= self.today);
        list.get(from..to).unwrap_or_default()
    }

    /// The days on which an item was practised.
    fn days(&self, item: &Item) -> Vec<Day> {
        match item.what {
            What::Note(way) => self.tries_at(way).map(|tries| tries.day).collect(),
            What::Drill(_) | What::Phrase(_) | What::Scale { .. } => {
                let things = self.since(&self.past.things, |it| it.day).iter();
                things.filter(|it| item.is_kept_as(&it.name)).map(|it| it.day).collect()
            }
        }
    }

    fn tries_at(&self, way: Way) -> impl Iterator<Item = Tries> {
        let notes = self.since(&self.past.notes, |it| it.day).iter().filter(move |it| it.way == way);
        notes.map(|it| Tries {
            day: it.day,
            of: it.tries,
            landed: it.landed,
            measured: it.measured,
            cents: it.cents,
            squared: it.cents_squared,
        })
    }

    fn goal<'b>(&self, week: usize, goal: &'b Goal) -> GoalStanding<'b> {
        let (reached, so_far) = match goal.aim {
            Aim::Landed { .. } => self.landed(goal),
            Aim::Clean { clean } => self.clean(&goal.item, clean),
        };
        GoalStanding { week, goal, reached, so_far }
    }

    /// When so many had landed for the first time, and how many do now.
    fn landed(&self, goal: &Goal) -> (Option<Day>, SoFar) {
        let days: Vec<Tries> = if let What::Note(way) = goal.item.what {
            self.tries_at(way).collect()
        } else {
            let things = self.since(&self.past.things, |it| it.day).iter();
            let own = things.filter(|it| goal.item.is_kept_as(&it.name));
            own.map(|it| Tries { day: it.day, of: it.of, landed: it.good, ..Tries::default() }).collect()
        };
        let Aim::Landed { landed, of, within } = goal.aim else { return (None, SoFar::Nothing) };
        let enough = |tries: &Tries| {
            let share = u64::from(tries.landed) * u64::from(of) >= u64::from(landed) * u64::from(tries.of);
            tries.of >= of
                && share
                && within.is_none_or(|cents| tries.typical().is_some_and(|own| own <= cents))
        };
        let last = |end: usize| days.get(..=end).and_then(|days| Tries::last(days, of));
        let reached = (0..days.len()).find_map(|end| last(end).filter(enough).map(|tries| tries.day));
        let so_far = days.len().checked_sub(1).and_then(last).map_or(SoFar::Nothing, |tries| SoFar::Tries {
            of: tries.of,
            landed: tries.landed,
            mean_cents: (tries.measured > 0).then(|| tries.cents / f64::from(tries.measured)),
            typical_cents: tries.typical(),
        });
        (reached, so_far)
    }

    /// When a tempo was clean for the first time, and which one is now.
    fn clean(&self, item: &Item, bpm: f64) -> (Option<Day>, SoFar) {
        let paces = self.since(&self.past.paces, |it| it.day).iter().filter(|it| item.is_kept_as(&it.name));
        let (mut tempi, mut reached, mut any) = (Tempi::default(), None, false);
        for pace in paces {
            any = true;
            tempi.add(pace);
            if reached.is_none() && tempi.clean().is_some_and(|clean| clean >= bpm) {
                reached = Some(pace.day);
            }
        }
        (reached, if any { SoFar::Tempo(tempi.clean()) } else { SoFar::Nothing })
    }
}

/// The tries of a day, or of several.
#[derive(Clone, Copy, Default)]
struct Tries {
    /// The last of the days.
    day: Day,
    of: u32,
    landed: u32,
    measured: u32,
    cents: f64,
    squared: f64,
}

impl Tries {
    /// The tries of the last days, as many of them as it takes for `of` tries; `None` if there are no days.
    fn last(days: &[Self], of: u32) -> Option<Self> {
        let (last, before) = days.split_last()?;
        let mut sum = *last;
        for day in before.iter().rev() {
            if sum.of >= of {
                break;
            }
            sum = Self {
                day: sum.day,
                of: sum.of + day.of,
                landed: sum.landed + day.landed,
                measured: sum.measured + day.measured,
                cents: sum.cents + day.cents,
                squared: sum.squared + day.squared,
            };
        }
        Some(sum)
    }

    /// The root of the mean square of the distances, cents; `None` if nothing was measured.
    fn typical(&self) -> Option<f64> {
        (self.measured > 0).then(|| (self.squared / f64::from(self.measured)).sqrt())
    }
}

impl<'a> Standing<'a> {
    /// The goals that are open: of this week and of those before it.
    pub fn open(&self) -> impl Iterator<Item = &GoalStanding<'a>> {
        let begun = self.week.unwrap_or(usize::MAX);
        self.goals.iter().filter(move |goal| goal.week <= begun && goal.reached.is_none())
    }
}

impl GoalStanding<'_> {
    /// How it stands, in words: "reached on Tuesday", "5 of the last 10 landed, 12 cents short on average", "clean at
    /// 72 so far".
    pub fn words(&self, today: Day) -> String {
        if let Some(day) = self.reached {
            return format!("reached {}", day.spoken(today));
        }
        match self.so_far {
            SoFar::Nothing => "still to come".to_owned(),
            SoFar::Tempo(None) => "no clean tempo yet".to_owned(),
            SoFar::Tempo(Some(bpm)) => format!("clean at {bpm:.0} so far"),
            SoFar::Tries { of, landed, mean_cents, typical_cents } => {
                let mut words = match self.goal.aim {
                    Aim::Landed { of: wanted, .. } if of >= wanted => {
                        format!("{landed} of the last {of} landed")
                    }
                    _ => format!("{landed} of {of} landed so far"),
                };
                if let (What::Note(way), Some(cents)) = (&self.goal.item.what, mean_cents) {
                    words = format!("{words}, {} on average", lean(*way, cents));
                }
                if let (Aim::Landed { within: Some(_), .. }, Some(cents)) = (self.goal.aim, typical_cents) {
                    words = format!("{words}, typically {cents:.0} off");
                }
                words
            }
        }
    }
}

/// A mean distance in words: "12 cents short".
fn lean(way: Way, cents: f64) -> String {
    let far = cents.abs().round();
    match far as u32 {
        0 => "centred".to_owned(),
        1 => format!("1 cent {}", side(way, cents)),
        far => format!("{far} cents {}", side(way, cents)),
    }
}

/// A number that is counted from 0, as people count.
fn from_one<S: Serializer, N: Copy + Into<Option<usize>>>(
    week: &N,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    (*week).into().map(|week| week + 1).serialize(serializer)
}
