//! A whole run: every note of it, and what they come to together.

use super::follow::{Follower, Path, median};
use super::{AskedNote, MaskedAt, NoteVerdict, PlayedAt, Timing, Window};
use crate::reeds::ReedsOutcome;
use crate::{Outcome, Tolerance};
use layout::{Breath, Harp, Way};
use serde::Serialize;
use std::f64::consts::PI;

/// A run is clean with this share of its notes right, in pitch and in time. Common practice, no source.
const CLEAN: f64 = 0.9;
/// A note that is masked for so long is divided in two, seconds: a little less than a dropout of the ear.
const GOES_ON_S: f64 = 0.06;
/// How many of the weakest changes are told.
const WEAKEST: usize = 3;
/// The standard deviation of a normal distribution is 1.4826 times the median of the distances from the middle.
const TO_SD: f64 = 1.4826;

/// What the timing of a run is measured against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beat {
    /// The beat: the delay of the machine is known.
    Known,
    /// The median lateness of the run itself: the delay of the machine is not known, and looks like a habit of the
    /// player.
    OwnMiddle,
    /// Nothing: it was played in a tempo of the player's own.
    Free,
}

impl Beat {
    /// The lateness that counts as none, seconds; `None` if time does not count.
    fn zero_s(self, middle: Option<f64>) -> Option<f64> {
        match self {
            Self::Known => Some(0.0),
            Self::OwnMiddle => Some(middle.unwrap_or_default()),
            Self::Free => None,
        }
    }
}

/// What came of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunVerdict {
    /// One for each note that was asked, in order.
    pub notes: Vec<NoteVerdict>,
    /// What was played besides.
    pub extra: Vec<PlayedAt>,
    /// All of it together.
    pub whole: Whole,
    /// The changes from note to note that went worst, the worst first.
    pub weakest: Vec<Change>,
    /// Where the breath went.
    pub breaths: Breaths,
}

/// A run as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Whole {
    /// Notes that were asked, and of which something can be told.
    pub asked: usize,
    /// Notes that were asked besides, and that what the program sounds may have hidden.
    pub masked: usize,
    /// Of the `asked` notes, how many were played at all.
    pub played: usize,
    /// How many were right in pitch.
    pub in_pitch: usize,
    /// How many were right in time.
    pub in_time: usize,
    /// How many were both.
    pub right: usize,
    /// How late the run was as a whole, seconds; `None` where the delay of the machine is not known, which looks like a
    /// habit of the player.
    pub late_s: Option<f64>,
    /// Spread of the notes about their median lateness, seconds: a standard deviation, from the median of the
    /// distances.
    pub spread_s: Option<f64>,
    /// Of the tempo that was asked for, how much faster the player was, as a share: 0.01 is one per cent too fast.
    pub rushing: Option<f64>,
    /// How far the steps from note to note stray from those that were asked, at the player's own tempo, seconds: a
    /// standard deviation, from the median of the distances. Evenness of scales is measured by the deviation of these
    /// steps (Jabusch, Vauth & Altenmüller, Motor Control 8:171–185, 2004; from memory).
    pub uneven_s: Option<f64>,
    /// How the tempo moved within the run; `None` of few notes.
    pub drift: Option<Drift>,
    /// Whether it was held against a beat at all; if not, a note is right that is right in pitch.
    pub timed: bool,
    /// At least nine in ten of the `asked` notes were right in pitch and in time, and these are at least half of all
    /// notes.
    pub clean: bool,
}

impl Whole {
    /// Whether enough was heard of it to say whether it was clean: half of the notes.
    pub fn is_told(&self) -> bool {
        self.asked >= self.masked
    }
}

/// How the tempo moved within a run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Drift {
    /// By which share the second half was faster than the first; negative is slower.
    pub share: f64,
    /// The standard error of that share, from how the onsets stray.
    pub error: f64,
}

impl Drift {
    /// Whether the tempo moved by more than can be heard, and by more than chance.
    pub fn is_told(self) -> bool {
        self.share.abs() > RUSHES.max(SURE * self.error)
    }
}

/// A change from one note to the next, and what it cost.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The note before.
    pub from: Way,
    /// The note that went wrong.
    pub to: Way,
    /// How often it was asked for in this run.
    pub asked: usize,
    /// How often the note it leads to was not right.
    pub wrong: usize,
    /// The median of how late that note was, seconds; `None` where it was never played.
    pub late_s: Option<f64>,
}

/// Seconds of breath that the run asks for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Breaths {
    /// Blown.
    pub blow_s: f64,
    /// Drawn.
    pub draw_s: f64,
    /// The longest stretch one way without a rest.
    pub longest_s: f64,
    /// Which way that is; `None` of no notes.
    pub longest: Option<Breath>,
    /// The bar in which it begins, counted from 0.
    pub longest_from_bar: usize,
}

impl RunVerdict {
    /// Judges a run: what was asked, what was played, where the player may not have been heard, and which note answers
    /// which. Against its own middle a run is never early or late as a whole.
    pub fn new(
        (asked, played, masked): (&[AskedNote], &[PlayedAt], &MaskedAt),
        follower: &Follower,
        (harp, tolerance): (&Harp, Tolerance),
        beat: Beat,
    ) -> Self {
        // Only now are all masked stretches of the run known.
        let mut follower = follower.clone();
        follower.hide(masked);
        let path = follower.path(f64::INFINITY);
        let all_over = (&path, f64::INFINITY);
        let notes = so_far((asked, played, masked), all_over, (harp, tolerance), beat)
            .into_iter()
            .flatten()
            .collect::<Vec<_>>();
        // What follows a stretch in which nothing was heard may be the rest of the note before it; and what this harp
        // cannot sound was not played on it: a bass from the loudspeaker, a voice.
        let is_heard = |note: &PlayedAt| {
            let begins = masked.may_begin_s(note.onset_s).0 > note.onset_s - GOES_ON_S;
            begins && !masked.hides(note.onset_s, note.ended_s) && !harp.ways_to(note.note).is_empty()
        };
        let extra = (0..played.len()).filter(|i| !path.contains(&Some(*i))).map(|i| played[i]);
        let extra = extra.filter(is_heard).collect();
        // From chord to chord it is the breath that changes, and `chord_advice` speaks of it.
        let is_of_chords = asked.iter().any(|note| !note.holes.is_empty());
        let weakest = if is_of_chords { Vec::new() } else { weakest(&notes) };
        Self { whole: whole(&notes, beat), weakest, breaths: breaths(asked), extra, notes }
    }

    /// Whether it was of chords.
    pub fn is_of_chords(&self) -> bool {
        self.notes.iter().any(|note| !note.asked.holes.is_empty())
    }

    /// One sentence on what to do about it, the weightiest thing first; `style` writes a way.
    pub fn advice(&self, style: impl Fn(Way) -> String) -> String {
        let whole = &self.whole;
        let wrong = whole.asked - whole.right;
        if !whole.is_told() {
            return "more than half of it was hidden by what the loudspeaker sounds; headphones help"
                .to_owned();
        }
        if whole.played == 0 {
            return "nothing was heard of it".to_owned();
        }
        if self.is_of_chords() {
            return self.chord_advice();
        }
        let shallow = self.notes.iter().filter(|note| matches!(note.pitch, Some(Outcome::Short(_)))).count();
        if shallow > 0 && 2 * shallow >= wrong {
            let worst = self.notes.iter().filter_map(|note| match note.pitch {
                Some(Outcome::Short(cents)) => Some((note.asked.way, cents)),
                _ => None,
            });
            let worst = worst.max_by(|a, b| a.1.total_cmp(&b.1));
            return worst.map_or(String::new(), |(way, cents)| {
                format!(
                    "{} stops {cents:.0} cents short; hold it long by itself first, then in the run",
                    style(way)
                )
            });
        }
        if let Some(advice) = self.timing_advice() {
            return advice.to_owned();
        }
        if let Some(change) = self.weakest.first() {
            return format!(
                "the change from {} to {} is the weak one; go back and forth between the two, slowly",
                style(change.from),
                style(change.to)
            );
        }
        self.tempo_advice().to_owned()
    }

    /// What to do about a run of chords.
    fn chord_advice(&self) -> String {
        let count = |what: fn(ReedsOutcome) -> bool| {
            self.notes.iter().filter(|note| note.chord.is_some_and(what)).count()
        };
        let breaths = count(|chord| chord == ReedsOutcome::WrongBreath);
        let holes = count(|chord| matches!(chord, ReedsOutcome::Off { .. }));
        let wrong = self.whole.asked - self.whole.right;
        if breaths > 0 && 2 * breaths >= wrong {
            "the breath goes the wrong way; say in and out aloud to the click before you play it".to_owned()
        } else if holes > 0 && 2 * holes >= wrong {
            "the mouth covers other holes than asked for; hold those chords long by themselves first"
                .to_owned()
        } else {
            self.timing_advice().unwrap_or_else(|| self.tempo_advice()).to_owned()
        }
    }

    /// What to do where the notes are right and come at the wrong time, nearly all of them to the same side.
    fn timing_advice(&self) -> Option<&'static str> {
        let off = |timing: Timing| self.notes.iter().filter(|note| note.timing == Some(timing)).count();
        let (early, late) = (off(Timing::Early), off(Timing::Late));
        let wrong = self.whole.asked - self.whole.right;
        let one_sided = |side: usize| side >= ONE_SIDED && 4 * side >= 3 * wrong;
        if one_sided(late) {
            Some("what is wrong comes late; hear each note before its beat, or take it slower")
        } else if one_sided(early) {
            Some("what is wrong comes early; wait for the click")
        } else {
            None
        }
    }

    /// What to do where no note and no change stands out.
    fn tempo_advice(&self) -> &'static str {
        let whole = &self.whole;
        let drift = whole.drift.filter(|drift| drift.is_told()).map(|drift| drift.share);
        let ahead = whole.rushing.filter(|fast| whole.timed && fast.abs() > RUSHES);
        match drift.or(ahead) {
            Some(share) if share > 0.0 && whole.timed => "it gets faster; let the click lead",
            Some(_) if whole.timed => "it gets slower; breathe where the rests are",
            Some(share) if share > 0.0 => "it gets faster on the way; keep the pace of the first bar",
            Some(_) => "it gets slower on the way; keep the pace of the first bar",
            None if whole.clean => "clean; a little faster can be tried",
            None => "not clean yet; the same again, or a little slower",
        }
    }
}

/// What can be told of each asked note before its run is over; `None` of a note that is to come or may still be
/// sounding. A note that nothing answers is missing once a later one is answered, or once it was over at `over_s`,
/// seconds from the first beat.
pub fn so_far(
    (asked, played, masked): (&[AskedNote], &[PlayedAt], &MaskedAt),
    (path, over_s): (&Path, f64),
    (harp, tolerance): (&Harp, Tolerance),
    beat: Beat,
) -> Vec<Option<NoteVerdict>> {
    let newest = path.iter().rposition(Option::is_some);
    let verdict = |(i, own): (usize, &AskedNote)| {
        if let Some(played) = path[i].and_then(|index| played.get(index)) {
            return Some(NoteVerdict::new(*own, *played, harp, tolerance));
        }
        let passed = newest.is_some_and(|newest| i < newest) || own.onset_s + own.length_s <= over_s;
        passed.then(|| NoteVerdict::missed(*own))
    };
    let untimed: Vec<Option<NoteVerdict>> = asked.iter().enumerate().map(verdict).collect();
    let middle = median(untimed.iter().flatten().filter_map(late).collect());
    let zero_s = beat.zero_s(middle);
    let window = Window::of_notes(asked.iter().map(|note| note.length_s));
    let judged =
        |note: NoteVerdict| note.timed(zero_s, window).unless(masked, (zero_s.unwrap_or_default(), window));
    untimed.into_iter().map(|note| note.map(judged)).collect()
}

/// So many notes to one side of the beat are more than a change that goes wrong.
const ONE_SIDED: usize = 3;

/// A tempo this share from what was asked is told: the just noticeable difference of tempo is about 2 to 3 per cent
/// (from memory, no source).
const RUSHES: f64 = 0.03;

fn late(note: &NoteVerdict) -> Option<f64> {
    Some(note.played?.onset_s - note.asked.onset_s)
}

fn whole(notes: &[NoteVerdict], beat: Beat) -> Whole {
    let count = |what: fn(&NoteVerdict) -> bool| notes.iter().filter(|note| what(note)).count();
    let lates: Vec<f64> = notes.iter().filter_map(|note| note.late_s).collect();
    let middle = median(lates.clone());
    let away = middle.map(|middle| lates.iter().map(|late| (late - middle).abs()).collect());
    let (right, masked) = (count(NoteVerdict::is_right), count(NoteVerdict::is_masked));
    let asked = notes.len() - masked;
    let onsets: Vec<(f64, f64)> =
        notes.iter().filter_map(|note| Some((note.asked.onset_s, note.played?.onset_s))).collect();
    Whole {
        asked,
        masked,
        played: count(|note| note.played.is_some()),
        in_pitch: count(|note| note.played.is_some() && note.pitch_is_right()),
        in_time: count(|note| note.timing.is_some_and(Timing::in_time)),
        right,
        late_s: middle.filter(|_| beat == Beat::Known),
        spread_s: away.and_then(median).map(|away| TO_SD * away),
        rushing: slope(&onsets).map(|slope| 1.0 / slope - 1.0),
        uneven_s: uneven_s(notes),
        drift: drift(&onsets),
        timed: beat != Beat::Free,
        clean: asked > 0 && asked >= masked && right as f64 >= CLEAN * asked as f64,
    }
}

/// Seconds that were played for each second that was asked: the slope of played against asked onsets, as the median of
/// the slopes between pairs (Theil and Sen; from memory), so that single slips do not count.
fn slope(onsets: &[(f64, f64)]) -> Option<f64> {
    // Every pair of notes that lie half of the run apart says more than all pairs, and costs less.
    let half = onsets.len() / 2;
    let slopes = (0..onsets.len() - half).filter(|_| half >= 2).filter_map(|i| {
        let ((asked, played), (later_asked, later_played)) = (onsets[i], onsets[i + half]);
        (later_asked > asked).then(|| (later_played - played) / (later_asked - asked))
    });
    median(slopes.collect()).filter(|slope| *slope > 0.0)
}

/// How far the steps from note to note stray. Only neighbours that were both played make a step.
fn uneven_s(notes: &[NoteVerdict]) -> Option<f64> {
    let step = |pair: &[NoteVerdict]| {
        let played = pair[1].played?.onset_s - pair[0].played?.onset_s;
        Some((pair[1].asked.onset_s - pair[0].asked.onset_s, played))
    };
    let steps: Vec<(f64, f64)> =
        notes.windows(2).filter_map(step).filter(|(asked, _)| *asked > 0.0).collect();
    // The tempo that was played: a step against what was asked for it, in the middle.
    let slope = median(steps.iter().map(|(asked, played)| played / asked).collect())?;
    let away = steps.iter().map(|(asked, played)| (played - slope * asked).abs());
    median(away.filter(|_| steps.len() >= 2).collect()).map(|away| TO_SD * away)
}

/// The tempo of a half is told by this many notes at least.
const OF_HALF: usize = 6;
/// A drift is told when it is so many times its standard error: of 400 steady runs one lies beyond.
const SURE: f64 = 3.0;

/// The tempo of the second half against the first, with the standard error of two slopes through evenly spaced points.
fn drift(onsets: &[(f64, f64)]) -> Option<Drift> {
    let (first, second) = onsets.split_at(onsets.len() / 2);
    let (before, after) = (slope(first)?, slope(second)?);
    if first.len() < OF_HALF {
        return None;
    }
    let strays = |half: &[(f64, f64)], slope: f64| {
        let rest: Vec<f64> = half.iter().map(|(asked, played)| played - slope * asked).collect();
        let middle = median(rest.clone())?;
        median(rest.iter().map(|rest| (rest - middle).abs()).collect()).map(|away| TO_SD * away)
    };
    let error = |half: &[(f64, f64)], slope: f64| {
        let seconds = half.last()?.0 - half.first()?.0;
        // The slope of a pair strays by √2 times the deviation over half of the time; the median of n/2 pairs has π/2
        // times the variance of their mean: 8π/n together.
        Some(strays(half, slope)? * (8.0 * PI / half.len() as f64).sqrt() / seconds)
    };
    let error = error(first, before)?.hypot(error(second, after)?) / after;
    Some(Drift { share: before / after - 1.0, error })
}

fn weakest(notes: &[NoteVerdict]) -> Vec<Change> {
    let mut changes: Vec<Change> = Vec::new();
    let mut lates: Vec<Vec<f64>> = Vec::new();
    for pair in notes.windows(2) {
        let (from, to) = (pair[0].asked.way, pair[1].asked.way);
        let at = changes.iter().position(|change| (change.from, change.to) == (from, to));
        let at = at.unwrap_or_else(|| {
            changes.push(Change { from, to, asked: 0, wrong: 0, late_s: None });
            lates.push(Vec::new());
            changes.len() - 1
        });
        changes[at].asked += 1;
        changes[at].wrong += usize::from(!pair[1].is_right() && !pair[1].is_masked());
        lates[at].extend(pair[1].late_s);
    }
    for (change, late) in changes.iter_mut().zip(lates) {
        change.late_s = median(late);
    }
    changes.retain(|change| change.wrong > 0);
    let share = |change: &Change| change.wrong as f64 / change.asked as f64;
    changes.sort_by(|a, b| {
        let late = |change: &Change| change.late_s.map_or(f64::INFINITY, f64::abs);
        share(b).total_cmp(&share(a)).then(late(b).total_cmp(&late(a)))
    });
    changes.truncate(WEAKEST);
    changes
}

/// A rest of so many seconds is enough to let go of the breath. Common practice, no source.
const LET_GO_S: f64 = 0.1;

fn breaths(asked: &[AskedNote]) -> Breaths {
    let mut breaths = Breaths::default();
    let mut stretch: Option<(Breath, f64, f64, usize)> = None;
    for note in asked {
        let end = note.onset_s + note.length_s;
        match note.way.breath {
            Breath::Blow => breaths.blow_s += note.length_s,
            Breath::Draw => breaths.draw_s += note.length_s,
        }
        let goes_on =
            stretch.filter(|(way, _, last, _)| *way == note.way.breath && note.onset_s - last < LET_GO_S);
        let (began, bar) = goes_on.map_or((note.onset_s, note.bar), |(_, began, _, bar)| (began, bar));
        stretch = Some((note.way.breath, began, end, bar));
        if end - began > breaths.longest_s {
            (breaths.longest_s, breaths.longest) = (end - began, Some(note.way.breath));
            breaths.longest_from_bar = bar;
        }
    }
    breaths
}
