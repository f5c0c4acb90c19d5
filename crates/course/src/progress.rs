//! What changed in a while.

use crate::{Day, NoteDay, Past, PlayedDay, Skill, Skills};
use layout::{Technique, Way};
use practice::Lean;
use std::collections::BTreeSet;
use theory::Ability;

/// At least so many measured bends are needed to tell a habit.
const HABIT_BENDS: usize = 3;
/// So many measured tries at a bend say on which side it lies.
const LEAST_MEASURED: u32 = 4;

/// What a player commands today, and what that was a while ago.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// Today.
    pub today: Day,
    /// How many days make up the while.
    pub days: u32,
    /// Each way to play that was tried, hole by hole.
    pub notes: Vec<NoteProgress>,
    /// Each scale and phrase that was played in time, the latest first.
    pub tempi: Vec<TempoProgress>,
    /// How long was practised on each day of the while, from the first; days without practice are zero.
    pub played: Vec<PlayedDay>,
    /// Minutes practised in the while, and in as many days before it.
    pub minutes: (u32, u32),
    /// Days in a row on which something was practised, up to today or yesterday.
    pub in_a_row: u32,
    /// On which side of the pitch most bends lie; `None` where there is no habit.
    pub habit: Option<Habit>,
}

/// What became of a way to play.
#[derive(Clone, Debug, PartialEq)]
pub struct NoteProgress {
    /// What is known of it today.
    pub skill: Skill,
    /// The chance of landing as it was believed when the while began; `None` if it was not heard before.
    pub chance_then: Option<f64>,
    /// The tries of the while.
    pub now: Option<NoteDay>,
    /// The tries of as many days before it.
    pub then: Option<NoteDay>,
}

/// What became of something that is played in time.
#[derive(Clone, Debug, PartialEq)]
pub struct TempoProgress {
    /// What the journal calls it: `run` and its title.
    pub name: String,
    /// The day on which it was played last.
    pub last: Day,
    /// The fastest clean tempo today, beats a minute; `None` if there is none yet.
    pub clean: Option<f64>,
    /// What that was when the while began.
    pub clean_then: Option<f64>,
}

/// Most bends lie on one side of their pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habit {
    /// How many lie on that side.
    pub bends: usize,
    /// Of how many.
    pub of: usize,
    /// How far on average, cents; negative is flat.
    pub cents: f64,
}

impl Progress {
    /// What changed in so many days up to today.
    pub fn of(past: &Past, claimed: &Ability, today: Day, days: u32) -> Self {
        let days = days.clamp(1, 3650);
        let back = days.cast_signed();
        let begin = today.plus(1 - back);
        let past_then = past.before(begin);
        let before = Skills::of(&past_then, claimed, begin);
        let skills = Skills::of(past, claimed, today);
        let notes: Vec<NoteProgress> = skills
            .heard()
            .map(|skill| {
                let earlier = before.of_way(skill.way);
                let tries = |from: Day, to: Day| {
                    let days = skill.days.iter().filter(|day| (from..to).contains(&day.day)).copied();
                    days.reduce(|all, day| all.and(&day))
                };
                NoteProgress {
                    skill: skill.clone(),
                    chance_then: earlier.is_heard().then(|| earlier.belief.chance()),
                    now: tries(begin, today.plus(1)),
                    then: tries(begin.plus(-back), begin),
                }
            })
            .collect();
        let minutes = |from: Day, to: Day| {
            let seconds: u32 =
                past.played.iter().filter(|it| (from..to).contains(&it.day)).map(|it| it.seconds).sum();
            seconds / 60
        };
        let played = (0..back).map(|i| {
            let day = begin.plus(i);
            let seconds = past.played.iter().filter(|it| it.day == day).map(|it| it.seconds).sum();
            PlayedDay { day, seconds }
        });
        Self {
            today,
            days,
            habit: Habit::of(&notes),
            tempi: tempi((past, &past_then), begin),
            played: played.collect(),
            minutes: (minutes(begin, today.plus(1)), minutes(begin.plus(-back), begin)),
            in_a_row: past.days_in_a_row(today),
            notes,
        }
    }

    /// The first day of the while.
    pub fn begin(&self) -> Day {
        self.today.plus(1 - self.days.cast_signed())
    }

    /// What became of the bends and overbends.
    pub fn bends(&self) -> impl Iterator<Item = &NoteProgress> {
        self.notes.iter().filter(|note| note.skill.way.technique != Technique::Natural)
    }

    /// What became of a way to play; `None` if it was never tried.
    pub fn of_way(&self, way: Way) -> Option<&NoteProgress> {
        self.notes.iter().find(|note| note.skill.way == way)
    }
}

/// What became of each thing in time, the latest first.
fn tempi((past, then): (&Past, &Past), begin: Day) -> Vec<TempoProgress> {
    let names: BTreeSet<&str> = past.paces.iter().map(|pace| pace.name.as_str()).collect();
    let mut tempi: Vec<TempoProgress> = names
        .into_iter()
        .map(|name| TempoProgress {
            name: name.to_owned(),
            last: past.last(name).map_or(begin, |thing| thing.day),
            clean: past.clean_tempo(name),
            clean_then: then.clean_tempo(name),
        })
        .collect();
    tempi.sort_by_key(|it| std::cmp::Reverse(it.last));
    tempi
}

impl TempoProgress {
    /// What it is called, without the word by which the journal tells runs from drills.
    pub fn title(&self) -> &str {
        self.name.strip_prefix("run ").unwrap_or(&self.name)
    }
}

impl NoteProgress {
    /// How much larger the chance of landing is than it was when the while began; `None` if it was not heard before.
    pub fn gain(&self) -> Option<f64> {
        Some(self.skill.belief.chance() - self.chance_then?)
    }
}

impl Habit {
    /// The habit, of bends that were measured in the while.
    fn of(notes: &[NoteProgress]) -> Option<Self> {
        let bends = notes.iter().filter(|note| note.skill.way.technique != Technique::Natural);
        let measured = bends.filter_map(|note| note.now.filter(|now| now.measured >= LEAST_MEASURED));
        let cents: Vec<f64> = measured.filter_map(|now| now.mean_cents()).collect();
        let mean = cents.iter().sum::<f64>() / cents.len() as f64;
        let bends = cents
            .iter()
            .filter(|one| one.signum() == mean.signum() && one.abs() >= Lean::HEARD_CENTS)
            .count();
        let is_habit = cents.len() >= HABIT_BENDS
            && bends as f64 >= Lean::MOSTLY * cents.len() as f64
            && mean.abs() >= Lean::HEARD_CENTS;
        is_habit.then_some(Self { bends, of: cents.len(), cents: mean })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{PaceDay, ThingDay};

    const TODAY: Day = Day(20_785);

    fn heard(tab: &str, ago: i32, tries: (u32, u32), off: f64) -> NoteDay {
        NoteDay::sample(tab, TODAY.plus(-ago), tries, off)
    }

    fn progress(past: &Past) -> Progress {
        Progress::of(past, &Ability::default(), TODAY, 30)
    }

    #[test]
    fn a_month_is_set_against_the_month_before() {
        let past = Past {
            notes: vec![
                heard("-3''", 40, (2, 20), 40.0),
                heard("-3''", 29, (8, 10), 10.0),
                heard("-3''", 0, (9, 10), 4.0),
                heard("-2'", 3, (5, 10), 0.0),
            ],
            played: vec![
                PlayedDay { day: TODAY.plus(-40), seconds: 600 },
                PlayedDay { day: TODAY.plus(-1), seconds: 300 },
                PlayedDay { day: TODAY, seconds: 150 },
            ],
            ..Past::default()
        };
        let progress = progress(&past);
        let bend = progress.of_way(past.notes[0].way).unwrap();
        assert_eq!(bend.now.map(|now| (now.landed, now.tries, now.mean_cents())), Some((17, 20, Some(7.0))));
        assert_eq!(bend.then.map(|then| (then.landed, then.tries)), Some((2, 20)));
        assert!(bend.gain().unwrap() > 0.4);
        assert_eq!(progress.of_way(past.notes[3].way).unwrap().gain(), None, "nothing to set it against");
        assert_eq!((progress.minutes, progress.in_a_row), ((7, 10), 2));
        assert_eq!(progress.played.len(), 30);
        assert_eq!(progress.played.iter().map(|day| day.seconds).sum::<u32>(), 450);
    }

    #[test]
    fn a_habit_is_what_most_bends_do() {
        let flat = |cents: [f64; 4]| {
            let notes = ["-3'", "-4'", "-2'", "-6'"]
                .iter()
                .zip(cents)
                .map(|(tab, mean)| heard(tab, 2, (5, 10), mean));
            progress(&Past { notes: notes.collect(), ..Past::default() }).habit
        };
        assert_eq!(flat([-12.0, -8.0, -20.0, 4.0]), Some(Habit { bends: 3, of: 4, cents: -9.0 }));
        assert_eq!(flat([-12.0, 8.0, -20.0, 4.0]), None);
        assert_eq!(flat([-3.0, -4.0, -2.0, -4.0]), None, "too little to hear");
        assert_eq!(progress(&Past::default()).habit, None);
    }

    #[test]
    fn a_clean_tempo_is_set_against_what_it_was() {
        let pace = |ago: i32, tempo| PaceDay {
            day: TODAY.plus(-ago),
            name: "run blues".into(),
            tempo,
            runs: 2,
            clean: 2,
        };
        let thing = |ago: i32| ThingDay {
            day: TODAY.plus(-ago),
            name: "run blues".into(),
            of: 20,
            good: 19,
            tempo: Some(80.0),
        };
        let past = Past {
            paces: vec![pace(50, 72.0), pace(2, 80.0)],
            things: vec![thing(50), thing(2)],
            ..Past::default()
        };
        let [tempo] = &progress(&past).tempi[..] else { panic!("one") };
        assert_eq!((tempo.clean, tempo.clean_then, tempo.last), (Some(80.0), Some(72.0), TODAY.plus(-2)));
    }
}
