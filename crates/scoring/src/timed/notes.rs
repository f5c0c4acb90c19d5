//! From readings to notes.

use super::attack::Levels;
use layout::{ConcertPitch, Note, cents_between};
use pitch::Reading;

/// Silences shorter than this are dropouts of the ear, seconds.
const DROPOUT_S: f64 = 0.07;

/// A note goes on until its pitch is nearer to another note and this far from where the note settled, cents: half a
/// semitone. Counted from there, a pitch that wavers halfway between two notes does not make a new note with every
/// reading, and a bend that stops short still leaves the note it was bent from.
const LEAVES_CENTS: f64 = 50.0;

/// A reed moves its pitch smoothly: faster than this, cents a second, at a quarter of the readings of a note at most,
/// which leaves room for a slide. The throat reaches 4400 in a vibrato of 100 cents to either side, seven times a
/// second. What a click leaves in a room is a narrow noise, whose pitch jumps: mostly faster than this.
const SMOOTH_CENTS_PER_S: f64 = 6_000.0;

/// The ear corrects a note by an octave or a twelfth within this time, seconds: in a slur this takes 50 ms, and a sound
/// beside the attack may delay it. Nobody leaps so far in that time without an attack.
const SECOND_THOUGHT_S: f64 = 0.1;

/// Readings of one note that are kept; about ten seconds, then the pitch is known well enough.
const KEPT: usize = 4096;

/// Divides readings into notes: at attacks, at silence, and where the nearest note changes for long enough to count.
/// Blips into another note that do not count, and dropouts of the ear shorter than 0.07 s, divide nothing.
#[derive(Clone, Debug)]
pub struct Notes {
    sample_rate: f64,
    /// A note that has sounded this long counts, seconds.
    counts_s: f64,
    open: Option<Divided>,
    /// Where the open note settled, hertz; `None` until it counts.
    settled_hz: Option<f64>,
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

    /// Whether its pitch moves as that of a reed does.
    fn is_smooth(&self, sample_rate: f64) -> bool {
        let pairs = self.points.iter().zip(self.points.iter().skip(1));
        let moved = pairs.filter(|((before, _), (after, _))| after > before);
        let (mut fast, mut all) = (0, 0);
        for ((from, from_hz), (to, to_hz)) in moved {
            let per_s = cents_between(*from_hz, *to_hz).abs() * sample_rate / (to - from) as f64;
            fast += u32::from(per_s > SMOOTH_CENTS_PER_S);
            all += 1;
        }
        4 * fast <= all
    }
}

/// The median fundamental of some readings, hertz; `None` of none.
pub(super) fn median_hz(points: &[(u64, f64)]) -> Option<f64> {
    let mut hz: Vec<f64> = points.iter().map(|(_, hz)| *hz).collect();
    hz.sort_by(f64::total_cmp);
    hz.get(hz.len() / 2).copied()
}

impl Notes {
    /// Nothing has been played yet. A note counts when it has sounded for `counts_s` seconds; shorter ones are slides
    /// and slips of the pitch line.
    pub fn new(sample_rate: f64, counts_s: f64) -> Self {
        Self {
            sample_rate,
            counts_s,
            open: None,
            settled_hz: None,
            next: None,
            moved: Vec::new(),
            levels: Levels::new(sample_rate),
        }
    }

    /// Takes a reading; gives the note that it ended, if that was long enough to count. `concert` names the notes.
    pub fn hear(&mut self, concert: ConcertPitch, reading: &Reading) -> Option<Divided> {
        let heard = reading.hz.and_then(|hz| Some((hz, concert.nearest(hz)?.0)));
        let last = self.next.as_ref().or(self.open.as_ref()).map(|open| open.last);
        let silent = last.is_some_and(|last| self.seconds(last, reading.time) > DROPOUT_S);
        self.levels.push(reading);
        // What begins without a rise of the level was not attacked: it is a slide, or a second thought of the ear.
        let attacked = self.levels.rises();
        let ended = if silent || attacked && self.settled_hz.is_some() { self.end() } else { None };
        // A note that does not count yet was the way into this attack. Its readings stay for the test of smoothness:
        // what a click leaves in a room swells and fades, and one swell alone may be smooth.
        if let Some(open) = self.open.as_mut().filter(|_| attacked) {
            open.began = reading.time;
        }
        let Some((hz, note)) = heard else { return ended };
        let Some(settled_hz) = self.settled_hz else {
            self.begin(concert, (hz, note), reading.time);
            return ended;
        };
        let near = cents_between(settled_hz, hz).abs() <= LEAVES_CENTS;
        if let Some(open) = self.open.as_mut().filter(|open| near || open.note == note) {
            self.next = None;
            self.moved.clear();
            open.push(hz, reading.time);
            return ended;
        }
        if self.moved.len() < KEPT {
            self.moved.push((reading.time, hz));
        }
        let next = self.next.take().filter(|next| next.note == note);
        let mut next = next.unwrap_or_else(|| Divided::new(note, reading.time));
        next.push(hz, reading.time);
        if !self.counts(&next) {
            self.next = Some(next);
            return ended;
        }
        let late_hz = next.late_hz();
        self.settled_hz = Some(late_hz);
        let before = self.open.take();
        let soon =
            before.as_ref().is_some_and(|open| self.seconds(open.began, next.began) < SECOND_THOUGHT_S);
        if let Some(open) = &before {
            let way = self.moved.iter().rev().chain(open.points.iter().rev());
            let crossed = || crossed(way, concert.hz(open.note, 0.0), late_hz).unwrap_or(next.began);
            next.began = if soon && is_overtone(settled_hz, late_hz) { open.began } else { crossed() };
        }
        let same = before.as_ref().is_some_and(|open| open.began == next.began);
        self.moved.clear();
        self.open = Some(next);
        before.filter(|before| !same && before.is_smooth(self.sample_rate))
    }

    /// Takes a reading of a note that does not count yet. What is too short to be a note is the way into one: a scoop,
    /// the natural reed before a bend. Which note it is, its second half tells when it counts.
    fn begin(&mut self, concert: ConcertPitch, (hz, note): (f64, Note), time: u64) {
        let mut open = self.open.take().unwrap_or_else(|| Divided::new(note, time));
        open.push(hz, time);
        if self.counts(&open) {
            let late_hz = open.late_hz();
            self.settled_hz = Some(late_hz);
            open.note = concert.nearest(late_hz).map_or(open.note, |(note, _)| note);
            open.began = self.levels.attack(open.began).unwrap_or(open.began);
        }
        self.open = Some(open);
    }

    /// The note that sounds, once it has lasted long enough to count.
    pub fn sounding(&self) -> Option<&Divided> {
        self.open.as_ref().filter(|_| self.settled_hz.is_some())
    }

    /// Ends the note that sounds, at the end of the sound or where samples were lost.
    pub fn end(&mut self) -> Option<Divided> {
        self.next = None;
        self.moved.clear();
        let open = self.open.take();
        // A sound whose pitch jumped on after it counted was no reed.
        self.settled_hz.take().and(open).filter(|open| open.is_smooth(self.sample_rate))
    }

    /// Whether a note has lasted long enough, at a pitch that a reed can have.
    fn counts(&self, note: &Divided) -> bool {
        self.seconds(note.began, note.last) >= self.counts_s && note.is_smooth(self.sample_rate)
    }

    fn seconds(&self, from: u64, to: u64) -> f64 {
        to.saturating_sub(from) as f64 / self.sample_rate
    }
}

/// Whether two pitches lie an octave or a twelfth apart, within a quarter tone.
fn is_overtone(one_hz: f64, other_hz: f64) -> bool {
    let apart = cents_between(one_hz, other_hz).abs();
    [2.0_f64, 3.0].iter().any(|times| (apart - 1200.0 * times.log2()).abs() <= 50.0)
}

/// When a pitch crossed midway between two notes for the last time: between two readings, of which the newest comes
/// first.
fn crossed<'a>(way: impl Iterator<Item = &'a (u64, f64)>, from_hz: f64, to_hz: f64) -> Option<u64> {
    // Cents beyond midway, positive on the side of the later note.
    let beyond = |hz: f64| cents_between(from_hz, hz).abs() - cents_between(hz, to_hz).abs();
    let mut after: Option<(u64, f64)> = None;
    for (time, hz) in way {
        let here = beyond(*hz);
        if here < 0.0 {
            let (later, there) = after?;
            let share = -here / (there - here);
            return Some(time + (share * later.saturating_sub(*time) as f64) as u64);
        }
        after = Some((*time, here));
    }
    after.map(|(time, _)| time)
}
