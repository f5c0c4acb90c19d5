//! The clicks of a count-in that come back through the microphone.

use sound::QUIET_S;
use std::collections::VecDeque;

/// A click that is sounded, and may come back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Expected {
    /// The sample of the microphone at whose moment it is handed to the loudspeaker, with its fraction.
    pub(crate) due: f64,
    /// The pitch with which it begins, hertz.
    pub(crate) hz: f64,
    /// How long it is waited for, seconds.
    pub(crate) reach_s: f64,
    /// Whether no other click of its pitch sounded for a bar: only such a click cannot be confused with an earlier one
    /// that comes back late.
    pub(crate) is_first: bool,
}

/// Keeps what is heard around clicks that are expected, and tells when they came.
pub(super) struct Returns {
    rate: f64,
    expected: VecDeque<Expected>,
    /// The last click with `is_first` did not come in time: what is heard after it may be earlier clicks, from a
    /// loudspeaker that is late by most of a beat.
    may_be_others: bool,
    heard: Vec<f32>,
    /// The sample that follows the last one of `heard`.
    next: u64,
}

impl Returns {
    pub(super) fn new(rate: f64) -> Self {
        Self { rate, expected: VecDeque::new(), may_be_others: false, heard: Vec::new(), next: 0 }
    }

    /// Waits for a click; they are to be told in their order.
    pub(super) fn expect(&mut self, click: Expected) {
        self.expected.push_back(click);
    }

    /// Takes the samples from `start` on; gives back how long after it was due each click came, seconds; clicks that
    /// did not come, or may be another one, are left out.
    pub(super) fn hear(&mut self, start: u64, samples: &[f32]) -> Vec<f64> {
        let mut told = Vec::new();
        if start != self.next {
            self.heard.clear();
        }
        self.next = start + samples.len() as u64;
        if self.expected.is_empty() {
            self.heard.clear();
            return told;
        }
        self.heard.extend(samples);
        while let Some(click) = self.expected.front().copied() {
            let from = (click.due - QUIET_S * self.rate).max(0.0) as u64;
            let first = self.next - self.heard.len() as u64;
            // What was heard before is of no use to this click or to one that follows.
            let useless = from.saturating_sub(first).min(self.heard.len() as u64) as usize;
            self.heard.drain(..useless);
            if (self.next as f64) < click.due + click.reach_s * self.rate {
                break;
            }
            self.expected.pop_front();
            if first <= from {
                let late = sound::returned(&self.heard, self.rate, click.hz);
                // Allows for the fraction of the sample that was due, and for a stream that began less than `QUIET_S`
                // before it.
                let begun = (from as f64 + QUIET_S * self.rate - click.due) / self.rate;
                if click.is_first {
                    self.may_be_others = late.is_none();
                }
                told.extend(late.map(|late| late + begun).filter(|_| !self.may_be_others));
            }
        }
        told
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    const RATE: f64 = 48_000.0;

    /// Clicks of 1.9 kHz at these seconds, among nothing.
    fn clicks(at_s: &[f64], seconds: f64) -> Vec<f32> {
        let click = |t: f64| if t < 0.0 { 0.0 } else { (-t / 0.005).exp() * (TAU * 1_900.0 * t).sin() };
        let sample = |n: usize| at_s.iter().map(|at| 0.1 * click(n as f64 / RATE - at)).sum::<f64>() as f32;
        (0..(seconds * RATE) as usize).map(sample).collect()
    }

    fn told(at_s: &[f64], lost: Option<usize>) -> Vec<f64> {
        let samples = clicks(at_s, 2.0);
        let mut returns = Returns::new(RATE);
        let mut told = Vec::new();
        for (n, block) in samples.chunks(512).enumerate() {
            if n == 10 {
                for due_s in [0.5, 1.0, 1.5] {
                    let (due, is_first) = (due_s * RATE + 0.25, due_s < 1.0);
                    returns.expect(Expected { due, hz: 1_900.0, reach_s: 0.3, is_first });
                }
            }
            if lost != Some(n) {
                told.extend(returns.hear(512 * n as u64, block));
            }
        }
        told
    }

    #[test]
    fn each_click_that_comes_back_tells_how_long_it_took() {
        let near = |told: &[f64], truth: &[f64]| {
            assert_eq!(told.len(), truth.len(), "{told:?}");
            assert!(told.iter().zip(truth).all(|(told, truth)| (told - truth).abs() < 0.000_5), "{told:?}");
        };
        near(&told(&[0.53, 1.04, 1.55], None), &[0.03, 0.04, 0.05]);
        near(&told(&[0.53, 1.55], None), &[0.03, 0.05]);
        near(&told(&[], None), &[]);
        // By a loudspeaker that is late by half a second each comes when the next one is due.
        near(&told(&[1.0, 1.5, 2.0], None), &[]);
        // Samples that were lost around the second one: it may have been among them.
        near(&told(&[0.53, 1.04, 1.55], Some(96)), &[0.03, 0.05]);
    }
}
