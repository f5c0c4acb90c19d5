//! Free playing, note by note.

use layout::{Harp, Note, Way, cents_between};
use pitch::Reading;

/// A note counts as played when it has sounded this long; shorter ones are slides and slips of the pitch line.
const COUNTS_S: f64 = 0.07;

/// Readings of one note that its median is taken over; about ten seconds, then the pitch is known well enough.
const KEPT: usize = 4096;

/// A note that was played, complete.
#[derive(Clone, Debug, PartialEq)]
pub struct PlayedNote {
    /// The nearest note.
    pub note: Note,
    /// All ways to play it on the harp, the simplest first; none if the harp does not have it.
    pub ways: Vec<Way>,
    /// Median fundamental, hertz.
    pub hz: f64,
    /// Cents from where the simplest way is in tune (from equal temperament if there is none).
    pub cents_off: f64,
    /// Sample time at which it began.
    pub began: u64,
    /// Sample time of its last reading.
    pub ended: u64,
}

/// Divides readings into notes: at onsets, at silence, and where the nearest note changes.
#[derive(Clone, Debug)]
pub struct FreePlay {
    harp: Harp,
    sample_rate: f64,
    open: Option<Open>,
}

/// The note that sounds.
#[derive(Clone, Debug)]
struct Open {
    note: Note,
    began: u64,
    last: u64,
    hz: Vec<f64>,
}

impl FreePlay {
    /// Nothing has been played yet.
    pub fn new(harp: Harp, sample_rate: f64) -> Self {
        Self { harp, sample_rate, open: None }
    }

    /// Takes a reading; gives the note that it ended, if that was long enough to count.
    pub fn hear(&mut self, reading: &Reading) -> Option<PlayedNote> {
        let heard = reading.hz.and_then(|hz| Some((hz, self.harp.concert().nearest(hz)?.0)));
        let Some((hz, note)) = heard else { return self.end() };
        let goes_on = !reading.onset && self.open.as_ref().is_some_and(|open| open.note == note);
        let ended = if goes_on { None } else { self.end() };
        let open = self.open.get_or_insert_with(|| Open {
            note,
            began: reading.time,
            last: reading.time,
            hz: Vec::new(),
        });
        open.last = reading.time;
        if open.hz.len() < KEPT {
            open.hz.push(hz);
        }
        ended
    }

    /// Ends the note that sounds, at the end of the sound or where samples were lost.
    pub fn end(&mut self) -> Option<PlayedNote> {
        let open = self.open.take()?;
        let long_enough = open.last.saturating_sub(open.began) as f64 >= COUNTS_S * self.sample_rate;
        if long_enough { self.played(open) } else { None }
    }

    fn played(&self, mut open: Open) -> Option<PlayedNote> {
        open.hz.sort_by(f64::total_cmp);
        let hz = *open.hz.get(open.hz.len() / 2)?;
        let ways = self.harp.ways_to(open.note);
        let in_tune = ways.first().and_then(|way| self.harp.hz(*way));
        let in_tune = in_tune.unwrap_or_else(|| self.harp.concert().hz(open.note, 0.0));
        let cents_off = cents_between(in_tune, hz);
        Some(PlayedNote { note: open.note, ways, hz, cents_off, began: open.began, ended: open.last })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique};

    /// Stretches of (hertz or silence, readings), one reading every 10 ms.
    fn played(line: &[(Option<f64>, u64)]) -> Vec<PlayedNote> {
        let mut free = FreePlay::new(Harp::richter("C".parse().unwrap()), 1000.0);
        let mut time = 0;
        let mut notes = Vec::new();
        for (hz, readings) in line {
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
                notes.extend(free.hear(&reading));
                time += 10;
            }
        }
        notes.extend(free.end());
        notes
    }

    #[test]
    fn a_bend_is_named_as_the_bend_and_measured() {
        // B♭4 at A4 = 440 is 466.164 Hz (MIDI tuning formula); 471.58 Hz is 20 cents above it.
        let notes = played(&[(Some(471.58), 30), (None, 5)]);
        assert_eq!(notes[0].ways, [Way::new(3, Breath::Draw, Technique::Bend(1))]);
        assert!((notes[0].cents_off - 20.0).abs() < 0.1, "{notes:?}");
        assert_eq!((notes[0].began, notes[0].ended), (0, 290));
    }

    #[test]
    fn what_only_passed_is_left_out_and_a_note_played_twice_counts_twice() {
        let line = [(Some(523.25), 20), (Some(554.37), 3), (Some(587.33), 20), (None, 5), (Some(587.33), 20)];
        let names: Vec<String> = played(&line).iter().map(|played| played.note.to_string()).collect();
        assert_eq!(names, ["C5", "D5", "D5"]);
    }
}
