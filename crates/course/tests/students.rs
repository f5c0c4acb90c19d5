//! The plan against other ways to spend the same time, for simulated students over ninety days.
//!
//! Three models of learning, written down before anything was tried. In each a student lands a bend with a chance whose
//! log odds are his skill at it; he begins with skills that fall from the easiest bend to the hardest. What no model
//! has: days without practice, fatigue, one bend helping another, motivation, music. So nothing here says how a real
//! player fares; it says that the plan wastes less of a student's time than simple orders do, whichever of the three is
//! nearer the truth.
//!
//! * **Steady**: each try adds the same to a skill, and nothing fades. Gaps are worth nothing.
//! * **Fading**: a day's tries at one bend add less and less; half of what was gained fades within three weeks.
//! * **Spaced**: as fading, but the more slowly, the more often a bend was practised after a gap: gaps help.
//!
//! The models are as they were first written. What was changed after the first look: the student wants the bends and
//! the overblows on 4, 5 and 6, no overdraws (nobody begins with those), and every order has as many tries a day as the
//! plan asks for. The plan of then, with one bend in work at a time, was worse than all other orders but the list; it
//! takes on new bends sooner now.
//!
//! A student is measured a week after the last day, by the chance of landing on average over all bends of the harp.

#![allow(clippy::print_stdout, reason = "the figures are for whoever reads the run")]
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use course::{Day, NoteDay, Past, Task, Today, Wish, by_difficulty};
use layout::{Harp, Technique, Way};
use oorandom::Rand64;
use std::collections::BTreeMap;
use theory::{Ability, Level};

const DAYS: i32 = 90;
const MINUTES: u32 = 15;
const STUDENTS: u128 = 4;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Model {
    Steady,
    Fading,
    Spaced,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Order {
    Plan,
    /// From the easiest to the hardest, every day anew.
    List,
    WeakestFirst,
    Random,
}

#[derive(Clone, Copy)]
struct Memory {
    /// Log odds that stay.
    base: f64,
    /// Log odds that fade.
    gained: f64,
    /// Days in which half of them fades.
    half_life: f64,
    last: i32,
}

struct Student {
    model: Model,
    bends: BTreeMap<Way, Memory>,
    /// How much a try teaches him.
    quickness: f64,
    random: Rand64,
}

fn chance(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}

impl Student {
    fn new(model: Model, ways: &[Way], seed: u128) -> Self {
        let mut random = Rand64::new(seed);
        let count = ways.len() as f64;
        let bends = ways.iter().enumerate().map(|(place, way)| {
            let base = 1.0 - 5.0 * place as f64 / count + random.rand_float() - 0.5;
            (*way, Memory { base, gained: 0.0, half_life: 20.0, last: 0 })
        });
        let bends = bends.collect();
        Self { model, bends, quickness: 0.6 + 0.8 * random.rand_float(), random }
    }

    fn skill(&self, way: Way, day: i32) -> f64 {
        let Some(memory) = self.bends.get(&way) else { return 3.0 };
        let kept = match self.model {
            Model::Steady => 1.0,
            Model::Fading | Model::Spaced => 0.5_f64.powf(f64::from(day - memory.last) / memory.half_life),
        };
        (memory.base + memory.gained * kept).min(3.5)
    }

    /// So many tries at a bend on a day: how many land.
    fn practise(&mut self, way: Way, tries: u32, day: i32) -> u32 {
        let p = chance(self.skill(way, day));
        let landed = (0..tries).filter(|_| self.random.rand_float() < p).count() as u32;
        let now = self.skill(way, day);
        let (model, quickness) = (self.model, self.quickness);
        if let Some(memory) = self.bends.get_mut(&way) {
            let tries = f64::from(tries);
            let gain = match model {
                Model::Steady => 0.02 * tries,
                Model::Fading | Model::Spaced => 0.35 * (1.0 - (-tries / 8.0).exp()),
            };
            if model == Model::Spaced {
                let gap = f64::from(day - memory.last);
                memory.half_life *= 1.0 + 0.4 * (gap / memory.half_life).min(1.0);
            }
            (memory.gained, memory.last) = (now - memory.base + quickness * gain, day);
        }
        landed
    }
}

/// What the student wants to learn: every bend, and the overblows on 4, 5 and 6; from the easiest.
fn wanted(harp: &Harp) -> Vec<Way> {
    by_difficulty(harp).into_iter().filter(|way| Level::Overblows.includes(*way)).collect()
}

/// What the plan asks for on a day: bends with their tries.
fn planned(past: &Past, (harp, day): (&Harp, i32)) -> Vec<(Way, u32)> {
    let claimed = Ability::new(Level::Plain);
    let wish = Wish { harp, claimed: &claimed, minutes: MINUTES, offers: &[], asked: &[] };
    let plan = Today::plan(past, Day(day), &wish);
    let drills = plan.blocks.iter().filter_map(|block| match &block.task {
        Task::Drill(drill) => Some(drill),
        Task::InTime(..) => None,
    });
    let items = drills.flat_map(|drill| &drill.items);
    let asked = items.flat_map(|item| item.ways().map(|way| (way, item.tries)));
    asked.filter(|(way, _)| way.technique != Technique::Natural).collect()
}

/// The bends in another order, ten tries each, as far as the tries of the day go.
fn in_order(
    order: Order,
    past: &Past,
    (harp, mut tries): (&Harp, u32),
    random: &mut Rand64,
) -> Vec<(Way, u32)> {
    let mut ways = wanted(harp);
    match order {
        Order::Plan | Order::List => {}
        Order::Random => {
            for i in (1..ways.len()).rev() {
                ways.swap(i, random.rand_range(0..i as u64 + 1) as usize);
            }
        }
        Order::WeakestFirst => {
            // Of the last two days on which it was practised.
            let share = |way: &Way| {
                let lately = past.notes.iter().rev().filter(|it| it.way == *way).take(2);
                let (landed, tries) =
                    lately.fold((0, 0), |(landed, tries), it| (landed + it.landed, tries + it.tries));
                if tries == 0 { 0.5 } else { f64::from(landed) / f64::from(tries) }
            };
            ways.sort_by(|a, b| share(a).total_cmp(&share(b)));
        }
    }
    let mut work = Vec::new();
    for way in ways {
        let some = tries.min(10);
        tries -= some;
        work.push((way, some));
    }
    work.retain(|(_, tries)| *tries > 0);
    work
}

/// The chance of landing on average over all wanted bends, a week after ninety days; and the tries of each day. The
/// other orders have as many tries on each day as the plan asked for.
fn after(model: Model, order: Order, seed: u128, tries: &[u32]) -> (f64, Vec<u32>) {
    let harp = Harp::richter("C".parse().unwrap());
    let ways = wanted(&harp);
    let mut student = Student::new(model, &ways, seed);
    let mut random = Rand64::new(seed + 77);
    let (mut past, mut had) = (Past::default(), Vec::new());
    for day in 0..DAYS {
        let work = match order {
            Order::Plan => planned(&past, (&harp, day)),
            _ => in_order(order, &past, (&harp, tries[day as usize]), &mut random),
        };
        had.push(work.iter().map(|(_, tries)| tries).sum());
        let mut sums: BTreeMap<Way, u32> = BTreeMap::new();
        for (way, tries) in work {
            *sums.entry(way).or_default() += tries;
        }
        for (way, tries) in sums {
            let landed = student.practise(way, tries, day);
            let note =
                NoteDay { day: Day(day), way, tries, landed, measured: 0, cents: 0.0, cents_squared: 0.0 };
            past.notes.push(note);
        }
    }
    let chances = ways.iter().map(|way| chance(student.skill(*way, DAYS + 6)));
    (chances.sum::<f64>() / ways.len() as f64, had)
}

/// Tuned on seed 1; seeds 2 and 3 were opened once, after that.
#[test]
fn the_plan_wastes_no_more_time_than_simple_orders() {
    let mut wrong = Vec::new();
    for model in [Model::Steady, Model::Fading, Model::Spaced] {
        for seed in 1..=3_u128 {
            let mut means = [0.0; 4];
            for one in 0..STUDENTS {
                let (plan, tries) = after(model, Order::Plan, 1000 * seed + one, &[]);
                let other = |order| after(model, order, 1000 * seed + one, &tries).0;
                let all = [plan, other(Order::List), other(Order::WeakestFirst), other(Order::Random)];
                means.iter_mut().zip(all).for_each(|(mean, one)| *mean += one / STUDENTS as f64);
            }
            let [plan, list, weakest, random] = means;
            println!(
                "{model:?}, seed {seed}: plan {plan:.3}, list {list:.3}, weakest first {weakest:.3}, random {random:.3}"
            );
            if plan < list + 0.01 || plan < weakest.max(random) - 0.01 {
                wrong.push((model, seed));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}
