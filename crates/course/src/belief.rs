//! How well a way to play is commanded, and how surely that is known.

use crate::{Day, NoteDay};
use std::sync::LazyLock;

/// Points of the grid on which the belief lies.
const POINTS: usize = 97;
/// The grid goes as far as this on either side, in log odds of landing: 99.75 %.
const REACH: f64 = 6.0;
/// Distance of two points, log odds.
const STEP: f64 = 2.0 * REACH / (POINTS - 1) as f64;

/// Before anything was heard the log odds lie this far around what is expected (standard deviation): someone who claims
/// a bend may land it hardly ever or always.
const BEFORE: f64 = 1.6;
/// Variance that a day adds, log odds squared: in a month without practice what is known spreads by 0.8.
const PER_DAY: f64 = 0.02;
/// A pause adds at most the variance of so many days: a bend that was once learnt is not a bend never heard of.
const LONGEST_PAUSE_DAYS: i32 = 90;
/// Variance that a try adds, log odds squared: who practises also changes.
const PER_TRY: f64 = 0.004;
/// A day of practice changes no more than so many tries do.
const CHANGE_ENDS: u32 = 60;
/// Who practises gets better, as a rule: log odds a try.
const GAIN_PER_TRY: f64 = 0.008;

/// What is believed of a player's chance to land a way to play, when it is asked for once.
///
/// The log odds of the chance wander at random, a little with every day and every try; each day's tries are as many
/// tosses with that chance. The belief is carried from day to day on a grid (Kitagawa, "Non-Gaussian state-space
/// modeling of nonstationary time series", Journal of the American Statistical Association 82:1032–1041, 1987), so what
/// was heard long ago counts less and less, and what was not heard for long is known less surely. The figures of the
/// wandering are our own, tuned on simulated players (`tests/belief.rs`): nine of ten intervals hold the truth of
/// players who stay as they are, wander, fade, or learn up to 1.2 log odds in sixty tries. Who learns faster is
/// followed late (1.5 in sixty tries: eight of ten).
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    weights: [f64; POINTS],
    /// The day up to which it has wandered.
    day: Option<Day>,
    tries: u32,
    last: Option<Day>,
}

/// The chance of landing at each point of the grid.
static CHANCES: LazyLock<[f64; POINTS]> = LazyLock::new(|| std::array::from_fn(|i| chance(log_odds(i))));

/// The natural logarithms of the chance to land and of the chance to miss.
struct LogChances {
    lands: f64,
    misses: f64,
}

/// Both logarithms at each point of the grid.
static LOG_CHANCES: LazyLock<[LogChances; POINTS]> = LazyLock::new(|| {
    std::array::from_fn(|i| LogChances { lands: CHANCES[i].ln(), misses: (1.0 - CHANCES[i]).ln() })
});

fn log_odds(point: usize) -> f64 {
    point as f64 * STEP - REACH
}

fn chance(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}

impl Belief {
    /// What is believed before anything was heard, where so large a chance is expected.
    pub fn expecting(expected: f64) -> Self {
        let middle = (expected / (1.0 - expected)).ln();
        let weight = |i| (-0.5 * ((log_odds(i) - middle) / BEFORE).powi(2)).exp();
        let mut belief = Self { weights: std::array::from_fn(weight), day: None, tries: 0, last: None };
        belief.settle();
        belief
    }

    /// Takes another day of tries.
    pub fn hear(&mut self, heard: &NoteDay) {
        let tries = f64::from(heard.tries.min(CHANGE_ENDS));
        self.wander(heard.day, (GAIN_PER_TRY * tries, PER_TRY * tries));
        let (landed, missed) = (f64::from(heard.landed), f64::from(heard.tries.saturating_sub(heard.landed)));
        // In logarithms, because many tries make small numbers.
        let say = |odds: &LogChances| landed * odds.lands + missed * odds.misses;
        let most = LOG_CHANCES.iter().map(say).fold(f64::NEG_INFINITY, f64::max);
        for (weight, odds) in self.weights.iter_mut().zip(LOG_CHANCES.iter()) {
            *weight *= (say(odds) - most).exp();
        }
        self.settle();
        self.tries += heard.tries;
        self.last = Some(heard.day);
    }

    /// The belief as seen from a later day: less sure.
    #[must_use]
    pub fn on(&self, day: Day) -> Self {
        let mut later = self.clone();
        later.wander(day, (0.0, 0.0));
        later
    }

    /// The expected chance of landing.
    pub fn chance(&self) -> f64 {
        self.weights.iter().zip(CHANCES.iter()).map(|(weight, chance)| weight * chance).sum()
    }

    /// The value below which the chance lies with this probability, 0 to 1.
    pub fn quantile(&self, probability: f64) -> f64 {
        let mut below = 0.0;
        for (i, weight) in self.weights.iter().enumerate() {
            if below + weight >= probability {
                // Each point stands for the stretch half a step to either side of it.
                let within = if *weight > 0.0 { (probability - below) / weight } else { 0.5 };
                return chance(log_odds(i) + (within - 0.5) * STEP);
            }
            below += weight;
        }
        1.0
    }

    /// The chance lies between these two with a probability of 90 %.
    pub fn interval(&self) -> (f64, f64) {
        (self.quantile(0.05), self.quantile(0.95))
    }

    /// Tries that it rests on.
    pub fn tries(&self) -> u32 {
        self.tries
    }

    /// The day of the last tries.
    pub fn last(&self) -> Option<Day> {
        self.last
    }

    /// Wanders to a day, and by this gain and variance more, log odds and log odds squared.
    fn wander(&mut self, day: Day, (gain, variance): (f64, f64)) {
        let days = self.day.map_or(0, |before| day.since(before).clamp(0, LONGEST_PAUSE_DAYS));
        self.spread(gain, PER_DAY * f64::from(days) + variance);
        self.day = self.day.max(Some(day));
    }

    /// Moves it by `gain` and spreads it by a variance: log odds, and log odds squared.
    fn spread(&mut self, gain: f64, variance: f64) {
        if variance <= 0.0 {
            return;
        }
        // So far out next to nothing arrives: four standard deviations.
        let far = ((4.0 * variance.sqrt() / STEP).ceil() as isize).min(POINTS.cast_signed() - 1);
        let bell = |steps: isize| (-0.5 * (steps as f64 * STEP - gain).powi(2) / variance).exp();
        let kernel: Vec<(isize, f64)> = (-far..=far).map(|steps| (steps, bell(steps))).collect();
        let before = self.weights;
        self.weights = [0.0; POINTS];
        for (i, weight) in before.iter().enumerate() {
            for (steps, share) in &kernel {
                // What would leave the grid stays at its end.
                let to = i.saturating_add_signed(*steps).min(POINTS - 1);
                self.weights[to] += weight * share;
            }
        }
        self.settle();
    }

    /// Makes the weights sum to one.
    fn settle(&mut self) {
        let sum: f64 = self.weights.iter().sum();
        self.weights.iter_mut().for_each(|weight| *weight /= sum);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique, Way};

    fn heard(day: i32, landed: u32, tries: u32) -> NoteDay {
        let way = Way::new(3, Breath::Draw, Technique::Bend(2));
        NoteDay { day: Day(day), way, tries, landed, measured: 0, cents: 0.0, cents_squared: 0.0 }
    }

    fn after(days: &[NoteDay]) -> Belief {
        let mut belief = Belief::expecting(0.5);
        for day in days {
            belief.hear(day);
        }
        belief
    }

    #[test]
    fn many_tries_outweigh_what_was_expected() {
        // With next to no wandering this is a binomial proportion; the interval of Clopper and Pearson for 48 of 60 at
        // 90 % is 0.696 to 0.880 (`scipy.stats.beta.ppf(0.05, 48, 13)`, `ppf(0.95, 49, 12)`, SciPy 1.14), and a belief
        // that also wanders is wider.
        let belief = after(&[heard(0, 48, 60)]);
        let (low, high) = belief.interval();
        assert!((belief.chance() - 0.8).abs() < 0.03, "{}", belief.chance());
        assert!((low - 0.696).abs() < 0.03 && (high - 0.880).abs() < 0.03, "{low} {high}");
        assert_eq!((belief.tries(), belief.last()), (60, Some(Day(0))));
    }

    #[test]
    fn what_is_not_heard_for_long_is_known_less_surely() {
        let belief = after(&[heard(0, 20, 20)]);
        let width = |belief: &Belief| belief.interval().1 - belief.interval().0;
        let month = belief.on(Day(30));
        assert!(width(&month) > 1.3 * width(&belief));
        assert!(month.chance() < belief.chance() && month.chance() > 0.8);
        assert_eq!(belief.on(Day(400)), {
            let mut later = belief.on(Day(90));
            later.day = Some(Day(400));
            later
        });
    }

    #[test]
    fn new_tries_count_more_than_old_ones() {
        let fading = after(&[heard(0, 20, 20), heard(40, 2, 10)]);
        let coming = after(&[heard(0, 2, 10), heard(40, 20, 20)]);
        assert!(fading.chance() < 0.45 && coming.chance() > 0.8, "{} {}", fading.chance(), coming.chance());
    }

    #[test]
    fn what_came_forty_days_of_practice_ago_changes_nothing_any_more() {
        let days: Vec<NoteDay> = (0..100).map(|day| heard(day, (day as u32 * 7) % 11, 10)).collect();
        let (all, last) = (after(&days), after(&days[60..]));
        assert!((all.chance() - last.chance()).abs() < 1e-3, "{} {}", all.chance(), last.chance());
        assert!((all.interval().0 - last.interval().0).abs() < 1e-3);
    }

    #[test]
    fn many_tries_in_one_day_and_a_clock_set_back_do_no_harm() {
        let belief = after(&[heard(5, 100_000, 100_000), heard(3, 0, 10)]);
        assert!(belief.chance().is_finite() && belief.interval().0 < belief.interval().1);
    }
}
