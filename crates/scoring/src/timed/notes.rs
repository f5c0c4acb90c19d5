//! From readings to notes.

use super::attack::Levels;
use layout::{ConcertPitch, Note, cents_between};
use pitch::Reading;

/// Silences shorter than this are dropouts of the ear, seconds.
const DROPOUT_S: f64 = 0.07;

/// A note goes on until its pitch is this far from it, cents: a little more than half a semitone, so that a pitch
/// wavering halfway between two notes does not make a new note with every reading.
const STAYS_CENTS: f64 = 60.0;

/// Readings of one note that are kept; about ten seconds, then the pitch is known well enough.
const KEPT: usize = 4096;

/// Divides readings into notes: at onsets, at silence, and where the nearest note changes for long enough to count.
/// Blips into another note that do not count, and dropouts of the ear shorter than 0.07 s, divide nothing.
#[derive(Clone, Debug)]
pub struct Notes {
    sample_rate: f64,
    /// A note that has sounded this long counts, seconds.
    counts_s: f64,
    open: Option<Divided>,
    /// A note that would follow the open one if it lasted.
    next: Option<Divided>,
    /// The way from the open note to the next, through whatever notes: sample time and hertz.
    moved: Vec<(u64, f64)>,
    /// How loud it was of late: what tells attacks from slides, and when an attack was.
    levels: Levels,
}

/// A stretch of readings that is one note.
#[derive(Clone, Debug, PartialEq)]
pub struct Divided {
    /// The nearest note.
    pub note: Note,
    /// Sample time of its onset. Where the pitch came from another note, that is where it crossed midway; where it was
    /// attacked, that is where the level passed -20 dB of the held one, or the first reading if no level tells.
    pub began: u64,
    /// Sample time of its last reading.
    pub last: u64,
    /// Its readings, or the first ten seconds of them: sample time and hertz.
    pub points: Vec<(u64, f64)>,
}

impl Divided {
    fn new(note: Note, began: u64) -> Self {
        Self { note, began, last: began, points: Vec::new() }
    }

    fn push(&mut self, hz: f64, time: u64) {
        self.last = time;
        if self.points.len() < KEPT {
            self.points.push((time, hz));
        }
    }

    /// The median fundamental of the second half of the readings, which a slide into the note does not reach, hertz.
    pub(super) fn late_hz(&self) -> f64 {
        median_hz(self.points.get(self.points.len() / 2..).unwrap_or_default()).unwrap_or_default()
    }

    /// The median fundamental, hertz; `None` of no readings.
    pub fn median_hz(&self) -> Option<f64> {
        median_hz(&self.points)
    }

    /// How long it has sounded, seconds.
    fn lasted_s(&self, sample_rate: f64) -> f64 {
        self.last.saturating_sub(self.began) as f64 / sample_rate
    }
}

/// The median fundamental of some readings, hertz; `None` of none.
pub(super) fn median_hz(points: &[(u64, f64)]) -> Option<f64> {
    let mut hz: Vec<f64> = points.iter().map(|(_, hz)| *hz).collect();
    hz.sort_by(f64::total_cmp);
    hz.get(hz.len() / 2).copied()
}

impl Notes {
    /// Nothing has been played yet. A note counts when it has sounded for `counts_s` seconds; shorter ones are slides and
    /// slips of the pitch line.
    pub fn new(sample_rate: f64, counts_s: f64) -> Self {
        Self {
            sample_rate,
            counts_s,
            open: None,
            next: None,
            moved: Vec::new(),
            levels: Levels::new(sample_rate),
        }
    }

    /// Takes a reading; gives the note that it ended, if that was long enough to count. Notes are named at this pitch.
    pub fn hear(&mut self, concert: ConcertPitch, reading: &Reading) -> Option<Divided> {
        let heard = reading.hz.and_then(|hz| Some((hz, concert.nearest(hz)?.0)));
        let last = self.next.as_ref().or(self.open.as_ref()).map(|open| open.last);
        let silent = last.is_some_and(|last| self.seconds(last, reading.time) > DROPOUT_S);
        self.levels.push(reading);
        // A pitch that leaves its note or comes back to it without an attack is a slide, whatever the ear makes of it.
        let slides = heard.is_some_and(|(_, note)| {
            self.open.as_ref().is_some_and(|open| self.next.is_some() || open.note != note)
        });
        let attacked = reading.onset && !(slides && self.levels.are_even());
        let ended = if attacked || silent { self.end() } else { None };
        let Some((hz, note)) = heard else { return ended };
        if let Some(open) = self.open.as_mut().filter(|open| open.lasted_s(self.sample_rate) < self.counts_s)
        {
            // What is too short to be a note is the way into one: a scoop, the natural reed before a bend. Which one, its
            // second half tells when it counts.
            open.push(hz, reading.time);
            if open.lasted_s(self.sample_rate) >= self.counts_s
                && let Some((note, _)) = concert.nearest(open.late_hz())
            {
                open.note = note;
                open.began = self.levels.attack(open.began, hz).unwrap_or(open.began);
            }
            return ended;
        }
        let stays = |open: &Divided| cents_between(concert.hz(open.note, 0.0), hz).abs() <= STAYS_CENTS;
        if self.open.as_ref().is_none_or(stays) {
            self.next = None;
            self.moved.clear();
            self.open.get_or_insert_with(|| Divided::new(note, reading.time)).push(hz, reading.time);
            return ended;
        }
        if self.moved.len() < KEPT {
            self.moved.push((reading.time, hz));
        }
        let next = self.next.take().filter(|next| next.note == note);
        let mut next = next.unwrap_or_else(|| Divided::new(note, reading.time));
        next.push(hz, reading.time);
        if self.seconds(next.began, reading.time) < self.counts_s {
            self.next = Some(next);
            return ended;
        }
        if let Some(open) = &self.open {
            next.began =
                crossed(&self.moved, concert.hz(open.note, 0.0), next.late_hz()).unwrap_or(next.began);
        }
        self.moved.clear();
        let before = self.open.replace(next)?;
        self.counted(before)
    }

    /// The note that sounds, once it has lasted long enough to count.
    pub fn sounding(&self) -> Option<&Divided> {
        self.open.as_ref().filter(|open| self.counts(open))
    }

    /// Ends the note that sounds, at the end of the sound or where samples were lost.
    pub fn end(&mut self) -> Option<Divided> {
        self.next = None;
        self.moved.clear();
        let open = self.open.take()?;
        self.counted(open)
    }

    fn counted(&self, note: Divided) -> Option<Divided> {
        self.counts(&note).then_some(note)
    }

    fn counts(&self, note: &Divided) -> bool {
        note.lasted_s(self.sample_rate) >= self.counts_s
    }

    fn seconds(&self, from: u64, to: u64) -> f64 {
        to.saturating_sub(from) as f64 / self.sample_rate
    }
}

/// When a pitch crossed midway between two notes for the last time.
fn crossed(moved: &[(u64, f64)], from_hz: f64, to_hz: f64) -> Option<u64> {
    let past = |(_, hz): &&(u64, f64)| cents_between(from_hz, *hz).abs() >= cents_between(*hz, to_hz).abs();
    moved.iter().rev().take_while(past).last().map(|(time, _)| *time)
}
