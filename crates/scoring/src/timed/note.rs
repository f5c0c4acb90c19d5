//! One note, asked and played.

use super::{ChordHeard, Chug, Divided, MaskedAt, Window};
use crate::aim::Aim;
use crate::figures::{core, line};
use crate::reeds::{Holes, ReedsOutcome};
use crate::track::Point;
use crate::{Outcome, Target, Tolerance, Why};
use layout::{Harp, Note, Way, cents_between};
use serde::Serialize;

/// A pitch has to be held this long to be judged, seconds: 24 readings of the ear.
const HELD_S: f64 = 0.060;
/// Readings within this of the held pitch belong to it, cents: more than a vibrato of the hand, less than half a bend.
const HELD_CENTS: f64 = 30.0;

/// A note that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AskedNote {
    /// How it is to be played.
    pub way: Way,
    /// What then sounds.
    pub note: Note,
    /// When, seconds from the first beat.
    pub onset_s: f64,
    /// How long, seconds.
    pub length_s: f64,
    /// The bar it stands in, counted from 0.
    pub bar: usize,
    /// Whether it is to go on from the note before without a new attack: slurred.
    pub joined: bool,
    /// The holes that are to sound together, where the run is of chords; none where it is of notes. `way` is then the
    /// lowest one.
    pub holes: Holes,
}

impl AskedNote {
    /// How all that is to sound is played: one way of a note, several of a chord.
    pub fn ways(&self) -> impl Iterator<Item = Way> + use<> {
        let way = self.way;
        let chord = self.holes.iter().map(move |hole| Way { hole, ..way });
        chord.chain(Some(way).filter(|_| self.holes.is_empty()))
    }
}

/// A note that was played.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PlayedAt {
    /// The nearest note.
    pub note: Note,
    /// Its onset, seconds from the first beat.
    pub onset_s: f64,
    /// Its end.
    pub ended_s: f64,
    /// The pitch of its held part, hertz, and how long that was held, seconds; `None` where none was held for 60 ms.
    pub held: Option<(f64, f64)>,
    /// The reeds that sounded together, where the run is of chords.
    pub chord: Option<ChordHeard>,
}

impl PlayedAt {
    /// A note as [`Notes`](super::Notes) divided it; `origin` is the sample of the first beat.
    pub fn new(note: &Divided, origin: f64, sample_rate: f64) -> Self {
        let seconds = |sample: u64| (sample as f64 - origin) / sample_rate;
        Self {
            note: note.note,
            onset_s: seconds(note.began),
            ended_s: seconds(note.last),
            held: held(note, sample_rate),
            chord: None,
        }
    }

    /// A chord, which counts as this note; `origin` is the sample of the first beat.
    pub fn of_chord(chug: &Chug, note: Note, (origin, sample_rate): (f64, f64)) -> Self {
        let seconds = |sample: u64| (sample as f64 - origin) / sample_rate;
        let (onset_s, ended_s) = (seconds(chug.began), seconds(chug.last));
        Self { note, onset_s, ended_s, held: None, chord: Some(chug.heard) }
    }
}

/// The held part, from the first to the last reading near the median of the second half of the note, which a slide into
/// it does not reach. Its pitch is the middle of a vibrato, as in a drill.
fn held(note: &Divided, sample_rate: f64) -> Option<(f64, f64)> {
    let middle = note.late_hz();
    let near = |(_, hz): &(u64, f64)| cents_between(middle, *hz).abs() <= HELD_CENTS;
    let (first, last) = (note.points.iter().position(near)?, note.points.iter().rposition(near)?);
    let point = |(time, hz): &(u64, f64)| Point {
        t: *time as f64 / sample_rate,
        cents: cents_between(middle, *hz),
        ..Point::default()
    };
    let points: Vec<Point> = note.points.get(first..=last)?.iter().map(point).collect();
    let seconds = points.last()?.t - points.first()?.t;
    let (_, near) = core(&points)?;
    let (cents, _) = line(&points, 0.0, near)?;
    (seconds >= HELD_S).then_some((middle * (cents / 1200.0).exp2(), seconds))
}

/// When a note came, against when it was asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Timing {
    /// Within the tight window.
    Tight,
    /// On the beat.
    OnBeat,
    /// Before it.
    Early,
    /// After it.
    Late,
}

impl Timing {
    /// What a distance in time is; negative is early.
    pub fn of(late_s: f64, window: Window) -> Self {
        match late_s {
            late if late.abs() <= window.tight_s => Self::Tight,
            late if late.abs() <= window.on_s => Self::OnBeat,
            late if late < 0.0 => Self::Early,
            _ => Self::Late,
        }
    }

    /// Whether it counts as in time.
    pub fn in_time(self) -> bool {
        matches!(self, Self::Tight | Self::OnBeat)
    }
}

/// What came of one asked note.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NoteVerdict {
    /// What was asked.
    pub asked: AskedNote,
    /// What was played for it; `None` where nothing was played, or where the note may have been hidden.
    pub played: Option<PlayedAt>,
    /// Its pitch: as of a try in a drill. `None` where nothing was played, and of a chord.
    pub pitch: Option<Outcome>,
    /// Of a chord, its reeds: as of a try in a drill. `None` where nothing was played, and of a note.
    pub chord: Option<ReedsOutcome>,
    /// Cents from where the way is in tune, if a pitch was held near it.
    pub cents: Option<f64>,
    /// How late it was against the zero of the run, seconds; negative is early.
    pub late_s: Option<f64>,
    /// The lateness in a word.
    pub timing: Option<Timing>,
}

impl NoteVerdict {
    /// A note that was not played.
    pub(crate) fn missed(asked: AskedNote) -> Self {
        Self { asked, played: None, pitch: None, chord: None, cents: None, late_s: None, timing: None }
    }

    /// Nothing is told of a note that may have been hidden.
    pub(crate) fn masked(asked: AskedNote) -> Self {
        Self { pitch: Some(Outcome::CannotTell(Why::Masked)), ..Self::missed(asked) }
    }

    /// Judges the pitch of a played note; its time is judged when the zero of the run is known.
    pub(crate) fn new(asked: AskedNote, played: PlayedAt, harp: &Harp, tolerance: Tolerance) -> Self {
        if let Some(heard) = played.chord {
            let chord = Some(heard.against(asked.way.breath, asked.holes));
            return Self { played: Some(played), chord, ..Self::missed(asked) };
        }
        let target = Target { way: asked.way, cents: 0.0, hold_s: HELD_S };
        let aim = Aim::new(harp, target);
        let (pitch, cents) = match (aim, played.held) {
            (Some(aim), Some((hz, _))) => pitch(&aim, aim.cents(hz), tolerance),
            // Too short to say how many cents off; which note it was can be said.
            (Some(aim), None) if played.note != asked.note => {
                let cents = aim.cents(harp.concert().hz(played.note, 0.0));
                (aim.miss(cents, tolerance).0, None)
            }
            _ => (Outcome::CannotTell(Why::TooShort), None),
        };
        Self { played: Some(played), pitch: Some(pitch), cents, ..Self::missed(asked) }
    }

    /// The verdict with its time, against a run that is `zero_s` late as a whole; without a time where there is no
    /// beat.
    pub(crate) fn timed(self, zero_s: Option<f64>, window: Window) -> Self {
        let late = |played: PlayedAt| Some(played.onset_s - self.asked.onset_s - zero_s?);
        let late_s = self.played.and_then(late);
        Self { late_s, timing: late_s.map(|late| Timing::of(late, window)), ..self }
    }

    /// The verdict, or `Self::masked` for a note that is not right and may have been hidden: too much of it was masked,
    /// or its pitch is right and it may have begun in time. A note that was heard can be masked between the beat, or
    /// its onset if that is earlier, and its end: what the loudspeaker does later hides nothing. The run is `zero_s`
    /// late as a whole.
    pub(crate) fn unless(self, masked: &MaskedAt, (zero_s, window): (f64, Window)) -> Self {
        let from_s = self.asked.onset_s + zero_s;
        let may_be_in_time = self.timing.is_some_and(|timing| !timing.in_time())
            && self.played.is_some_and(|played| {
                let (earliest_s, latest_s) = masked.may_begin_s(played.onset_s);
                earliest_s - from_s <= window.on_s && latest_s - from_s >= -window.on_s
            });
        let (begins_s, ends_s) = match self.played {
            Some(played) => (played.onset_s.min(from_s), played.ended_s),
            None => (from_s, from_s + self.asked.length_s),
        };
        let is_hidden = masked.hides(begins_s, ends_s);
        let excused = is_hidden || self.pitch_is_right() && may_be_in_time;
        if excused && !self.is_right() { Self::masked(self.asked) } else { self }
    }

    /// Whether it may have been hidden, so that nothing is told of it.
    pub fn is_masked(&self) -> bool {
        self.pitch == Some(Outcome::CannotTell(Why::Masked))
    }

    /// Whether its pitch is right, or nothing can be told against it.
    pub fn pitch_is_right(&self) -> bool {
        matches!(self.pitch, Some(Outcome::Landed | Outcome::CannotTell(_)))
            || matches!(self.chord, Some(ReedsOutcome::Right | ReedsOutcome::CannotTell(_)))
    }

    /// What it was in a word: its pitch, or the reeds of a chord, as of a try in a drill; or `missing`.
    pub fn word(&self) -> &'static str {
        let chord = self.chord.map(ReedsOutcome::word);
        self.pitch.map(Outcome::word).or(chord).unwrap_or("missing")
    }

    /// Whether it was right in pitch, and in time where there is a beat.
    pub fn is_right(&self) -> bool {
        !self.is_masked() && self.pitch_is_right() && self.timing.is_none_or(Timing::in_time)
    }
}

fn pitch(aim: &Aim, cents: f64, tolerance: Tolerance) -> (Outcome, Option<f64>) {
    if tolerance.in_tune(cents) {
        (Outcome::Landed, Some(cents))
    } else {
        (aim.miss(cents, tolerance).0, aim.in_span(cents).then_some(cents))
    }
}
