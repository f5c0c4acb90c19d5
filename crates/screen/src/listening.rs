//! Free playing: what sounds now, and the notes of the last while.

use layout::{Harp, Note, Way};
use pitch::Reading;
use std::collections::VecDeque;

/// A note counts as played when it has sounded this long; shorter ones are slides and slips of the pitch line.
const COUNTS_S: f64 = 0.07;
/// Notes kept for the running line.
const KEPT: usize = 120;

/// What is sounding.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sounding {
    /// The frequency, hertz.
    pub(crate) hz: f64,
    /// The nearest note.
    pub(crate) note: Note,
    /// All ways to play it, the simplest first; none if the harp does not have it.
    pub(crate) ways: Vec<Way>,
    /// Cents from where the simplest way is in tune (from equal temperament if there is none).
    pub(crate) cents: f64,
}

/// A note of the running line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Played {
    /// The note.
    pub(crate) note: Note,
    /// The simplest way to play it, if the harp has it.
    pub(crate) way: Option<Way>,
}

/// The state of free playing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Listening {
    now: Option<Sounding>,
    since: u64,
    counted: bool,
    played: VecDeque<Played>,
}

impl Listening {
    /// Takes a reading. True if what is shown changes.
    pub(crate) fn hear(&mut self, reading: &Reading, harp: &Harp, rate: f64) -> bool {
        let before = self.now.take();
        let Some((hz, (note, cents))) =
            reading.hz.and_then(|hz| harp.concert().nearest(hz).map(|near| (hz, near)))
        else {
            self.counted = false;
            return before.is_some();
        };
        if reading.onset || before.as_ref().is_none_or(|before| before.note != note) {
            self.since = reading.time;
            self.counted = false;
        }
        let ways = match before {
            Some(before) if before.note == note => before.ways,
            _ => harp.ways_to(note),
        };
        let own = ways.first().and_then(|way| harp.hz(*way));
        let cents = own.map_or(cents, |own| layout::cents_between(own, hz));
        if !self.counted && reading.time.saturating_sub(self.since) as f64 >= COUNTS_S * rate {
            self.counted = true;
            self.count(Played { note, way: ways.first().copied() });
        }
        self.now = Some(Sounding { hz, note, ways, cents });
        true
    }

    fn count(&mut self, played: Played) {
        if self.played.len() == KEPT {
            self.played.pop_front();
        }
        self.played.push_back(played);
    }

    /// What is sounding now.
    pub(crate) fn now(&self) -> Option<&Sounding> {
        self.now.as_ref()
    }

    /// The notes played, the newest first.
    pub(crate) fn played(&self) -> impl Iterator<Item = Played> + '_ {
        self.played.iter().rev().copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique};

    fn play(listening: &mut Listening, harp: &Harp, notes: &[(Option<f64>, u64)]) {
        let mut time = 0;
        for (hz, readings) in notes {
            for i in 0..*readings {
                let reading = Reading {
                    time,
                    known: time,
                    hz: *hz,
                    sigma_cents: 1.0,
                    clarity: 0.9,
                    level_dbfs: -20.0,
                    onset: hz.is_some() && i == 0,
                };
                listening.hear(&reading, harp, 1000.0);
                time += 10;
            }
        }
    }

    #[test]
    fn a_bend_is_named_as_the_bend() {
        let harp = Harp::richter("C".parse().unwrap());
        let mut listening = Listening::default();
        play(&mut listening, &harp, &[(Some(466.16), 10)]);
        let now = listening.now().unwrap();
        assert_eq!(now.ways, [Way::new(3, Breath::Draw, Technique::Bend(1))]);
        assert!(now.cents.abs() < 0.1, "{}", now.cents);
    }

    #[test]
    fn the_running_line_leaves_out_what_only_passed() {
        let harp = Harp::richter("C".parse().unwrap());
        let mut listening = Listening::default();
        let line = [(Some(523.25), 20), (Some(554.37), 3), (Some(587.33), 20), (None, 5), (Some(587.33), 20)];
        play(&mut listening, &harp, &line);
        let notes: Vec<String> = listening.played().map(|played| played.note.to_string()).collect();
        assert_eq!(notes, ["D5", "D5", "C5"]);
    }
}
