//! Free playing, note by note.

use crate::{Moment, Timebase};
use layout::{Harp, Note, Way, cents_between};
use pitch::Reading;
use scoring::timed::{Divided, Notes};
use serde::Serialize;

/// A note counts as played when it has sounded this long; shorter ones are slides and slips of the pitch line.
const COUNTS_S: f64 = 0.07;

/// A note that was played, complete.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlayedNote {
    /// The nearest note.
    pub note: Note,
    /// All ways to play it on the harp, the simplest first; none if the harp does not have it.
    pub ways: Vec<Way>,
    /// Median fundamental, hertz.
    pub hz: f64,
    /// Cents from where the simplest way is in tune (from equal temperament if there is none).
    pub cents_off: f64,
    /// When it began.
    pub began: Moment,
    /// The time of its last reading.
    pub ended: Moment,
}

impl PlayedNote {
    /// How long it lasted, seconds.
    pub fn seconds(&self) -> f64 {
        self.ended.since(self.began).unwrap_or_default()
    }
}

/// Divides readings into notes, and says how the harp plays each.
#[derive(Clone, Debug)]
pub(crate) struct FreePlay {
    base: Timebase,
    notes: Notes,
}

impl FreePlay {
    /// Nothing has been played yet.
    pub(crate) fn new(base: Timebase) -> Self {
        Self { base, notes: Notes::new(base.rate, COUNTS_S) }
    }

    /// Takes a reading; gives the note that it ended, if that was long enough to count.
    pub(crate) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Option<PlayedNote> {
        let ended = self.notes.hear(harp.concert(), reading)?;
        self.played(harp, &ended)
    }

    /// The note that sounds, once it has lasted long enough to count.
    pub(crate) fn sounding(&self) -> Option<Note> {
        self.notes.sounding().map(|open| open.note)
    }

    /// Ends the note that sounds, at the end of the sound or where samples were lost.
    pub(crate) fn end(&mut self, harp: &Harp) -> Option<PlayedNote> {
        let ended = self.notes.end()?;
        self.played(harp, &ended)
    }

    fn played(&self, harp: &Harp, divided: &Divided) -> Option<PlayedNote> {
        let hz = divided.median_hz()?;
        let ways = harp.ways_to(divided.note);
        let in_tune = ways.first().and_then(|way| harp.hz(*way));
        let in_tune = in_tune.unwrap_or_else(|| harp.concert().hz(divided.note, 0.0));
        let cents_off = cents_between(in_tune, hz);
        let (began, ended) = (self.base.moment(divided.began), self.base.moment(divided.last));
        Some(PlayedNote { note: divided.note, ways, hz, cents_off, began, ended })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique};

    /// Stretches of (hertz or silence, readings), one reading every 10 ms. The ear tells an onset where a sound follows
    /// a silence, and at the first reading of a stretch marked with `!`.
    fn played(line: &[(Option<f64>, usize, &str)]) -> Vec<PlayedNote> {
        let harp = Harp::richter("C".parse().unwrap());
        let mut free = FreePlay::new(Timebase::new(1000.0));
        let stretches = line
            .iter()
            .flat_map(|(hz, readings, mark)| (0..*readings).map(move |i| (*hz, *mark == "!" && i == 0)));
        let readings = stretches.zip(0..).map(|((hz, onset), i)| Reading {
            time: 10 * i,
            known: 10 * i,
            hz,
            sigma_cents: 1.0,
            clarity: 0.9,
            // An attack rises out of a dip.
            level_dbfs: if onset { -40.0 } else { -20.0 },
            onset,
        });
        let mut notes: Vec<PlayedNote> = readings.filter_map(|reading| free.hear(&harp, &reading)).collect();
        notes.extend(free.end(&harp));
        notes
    }

    #[test]
    fn a_bend_is_named_as_the_bend_and_measured() {
        // B♭4 at A4 = 440 is 466.164 Hz (MIDI tuning formula); 471.58 Hz is 20 cents above it.
        let notes = played(&[(Some(471.58), 30, "!"), (None, 9, "")]);
        assert_eq!(notes[0].ways, [Way::new(3, Breath::Draw, Technique::Bend(1))]);
        assert!((notes[0].cents_off - 20.0).abs() < 0.1, "{notes:?}");
        assert_eq!((notes[0].began.samples, notes[0].ended.samples), (0, 290));
    }

    #[test]
    fn notes_are_divided_where_players_divide_them() {
        let (c4, c5, d5) = (Some(261.63), Some(523.25), Some(587.33));
        let slide = Some(554.37);
        for (line, expected) in [
            // What only passed is left out, and a note played twice counts twice.
            (
                &[(c5, 20, "!"), (slide, 3, ""), (d5, 20, ""), (None, 9, ""), (d5, 20, "!")][..],
                &["C5", "D5", "D5"][..],
            ),
            (&[(c5, 20, "!"), (c5, 20, "!")], &["C5", "C5"]),
            (&[(c5, 20, "!"), (d5, 10, ""), (c5, 20, "")], &["C5", "D5", "C5"]),
            // Dropouts of the ear and blips into another octave divide nothing; a silence does.
            (&[(c5, 20, "!"), (None, 5, ""), (c5, 20, "")], &["C5"]),
            (&[(c5, 20, "!"), (c4, 5, ""), (c5, 20, "")], &["C5"]),
            (&[(c5, 20, "!"), (None, 9, ""), (c5, 20, "")], &["C5", "C5"]),
            // Too short to count.
            (&[(c5, 5, "!"), (None, 9, "")], &[]),
        ] {
            let names: Vec<String> = played(line).iter().map(|played| played.note.to_string()).collect();
            assert_eq!(names, expected, "{line:?}");
        }
    }

    #[test]
    fn a_pitch_wavering_halfway_between_two_notes_is_one_note() {
        // 45 and 55 cents above C5, in turn.
        let line: Vec<_> = (0..40).map(|i| (Some(if i % 2 == 0 { 537.03 } else { 540.14 }), 1, "")).collect();
        let notes = played(&line);
        assert_eq!(notes.len(), 1, "{notes:?}");
        assert!(["C5", "D♭5"].contains(&notes[0].note.to_string().as_str()), "{notes:?}");
    }
}
