//! When something comes back.

use crate::Day;

/// What was dependable comes back after so many days, each time the next number, and never later than the last.
/// Schedules that are made for facts go on to months; a mouth is out of shape before. Common practice, no source.
const STEPS_DAYS: [i32; 5] = [1, 2, 4, 7, 14];
/// From this share of landed tries on a day's practice was dependable.
const DEPENDABLE: f64 = 0.8;
/// Fewer tries on a day than this say nothing.
const LEAST_TRIES: u32 = 4;
/// What failed on so many days of practice one after the other …
const STUCK_DAYS: u32 = 3;
/// … below this share …
const FAILED: f64 = 0.3;
/// … rests so many days each time, so that it is neither forgotten nor repeated to death. Common practice, no source.
const REST_DAYS: i32 = 3;

/// Where something stands in coming back: a bend, a phrase, a scale. It is graded from what was measured, never by
/// asking.
///
/// Whether wider and wider gaps help a movement as they help a fact is not settled: one short session a day did in some
/// studies and made no difference in others, so nothing is promised.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Spacing {
    /// How many times one after the other it was dependable when it was due.
    step: usize,
    due: Option<Day>,
    failed_days: u32,
}

impl Spacing {
    /// Takes a day's practice, of which so much was good.
    pub fn hear(&mut self, day: Day, (good, of): (u32, u32)) {
        if of < LEAST_TRIES {
            return;
        }
        let share = f64::from(good) / f64::from(of);
        if share >= DEPENDABLE {
            self.failed_days = 0;
            // What was practised before it was due proves nothing about the gap.
            if self.due.is_none_or(|due| day >= due) {
                self.due = Some(day.plus(STEPS_DAYS[self.step.min(STEPS_DAYS.len() - 1)]));
                self.step += 1;
            }
            return;
        }
        self.step = 0;
        self.failed_days = if share < FAILED { self.failed_days + 1 } else { 0 };
        self.due = Some(day.plus(if self.is_stuck() { REST_DAYS } else { 1 }));
    }

    /// The day on which it comes back; `None` where it was never practised enough to say.
    pub fn due(&self) -> Option<Day> {
        self.due
    }

    /// Whether it comes back on a day.
    pub fn is_due(&self, today: Day) -> bool {
        self.due.is_some_and(|due| due <= today)
    }

    /// Whether it was dependable when it was heard last, so that its gap grows.
    pub fn is_growing(&self) -> bool {
        self.step > 0
    }

    /// Whether it has failed for days, so that it comes back less often for a while.
    pub fn is_stuck(&self) -> bool {
        self.failed_days >= STUCK_DAYS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The days on which something is practised that is practised whenever it is due, with these results one after the
    /// other.
    fn days(results: &[(u32, u32)]) -> Vec<i32> {
        let (mut spacing, mut day) = (Spacing::default(), Day(0));
        let mut days = Vec::new();
        for result in results {
            spacing.hear(day, *result);
            day = spacing.due().unwrap();
            days.push(day.0);
        }
        days
    }

    #[test]
    fn what_is_dependable_comes_back_after_longer_and_longer_gaps_up_to_a_fortnight() {
        assert_eq!(days(&[(8, 10); 7]), [1, 3, 7, 14, 28, 42, 56]);
    }

    #[test]
    fn what_fails_comes_back_tomorrow_and_begins_anew() {
        assert_eq!(days(&[(8, 10), (8, 10), (7, 10), (8, 10), (8, 10)]), [1, 3, 4, 5, 7]);
    }

    #[test]
    fn what_fails_for_days_rests_and_still_comes_back() {
        assert_eq!(days(&[(0, 10); 6]), [1, 2, 5, 8, 11, 14]);
        assert_eq!(days(&[(0, 10), (0, 10), (0, 10), (5, 10), (0, 10)]), [1, 2, 5, 6, 7]);
    }

    #[test]
    fn practice_before_the_day_proves_nothing_about_the_gap() {
        let mut spacing = Spacing::default();
        spacing.hear(Day(0), (10, 10));
        spacing.hear(Day(1), (10, 10));
        spacing.hear(Day(2), (10, 10));
        assert_eq!(spacing.due(), Some(Day(3)));
        spacing.hear(Day(2), (0, 10));
        assert_eq!(spacing.due(), Some(Day(3)), "tomorrow");
        spacing.hear(Day(2), (3, 3));
        assert_eq!(spacing.due(), Some(Day(3)), "three tries say nothing");
    }
}
