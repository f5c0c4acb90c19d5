//! What a chorus, or a whole jam, comes to.

use super::note::Ground;
use super::{Clash, FormChord, Is, JamNote};
use layout::Breath;
use scoring::timed::MaskedAt;
use serde::Serialize;
use theory::Degree;

/// A note that begins less than this long after a change still meets it, in beats: players lay back, or breathe. Common
/// practice, no source.
const BEHIND_BEATS: f64 = 0.6;
/// A note that is held over a change has to sound for longer than this after it, in beats; otherwise it was let go for
/// the change.
const HELD_OVER_BEATS: f64 = 0.2;
/// A rest of this many seconds is enough to let go of the breath. Common practice, no source.
const LET_GO_S: f64 = 0.1;

/// What sounded when the chord changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Met {
    /// A note of the new chord: its degree above the root.
    OfChord(Degree),
    /// Another note.
    Other,
    /// Nothing: a rest.
    Rest,
    /// It cannot be told.
    CannotTell,
}

/// A change of chord that went by.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The bar, counted from 0 at the first beat; the form goes round.
    pub bar: usize,
    /// The beat, counted from 1.
    pub beat: f64,
    /// The symbol of the new chord.
    pub chord: String,
    /// What sounded.
    pub met: Met,
}

/// A note that was held for longer than a beat beside a note of the chord.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeldClash {
    /// The note.
    pub note: JamNote,
    /// How it rubbed.
    pub clash: Clash,
    /// The symbol of the chord.
    pub chord: String,
}

/// What was played over some bars.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Tally {
    /// Notes played.
    pub notes: usize,
    /// Those that were notes of the chord under them.
    pub of_chord: usize,
    /// Those that were of the scale and not of the chord.
    pub of_scale: usize,
    /// Those that were of neither.
    pub outside: usize,
    /// Those of which it cannot be told.
    pub cannot_tell: usize,
    /// Every change of chord with what sounded at it.
    pub changes: Vec<Change>,
    /// What was held against the chord.
    pub clashes: Vec<HeldClash>,
    /// Seconds of notes that were blown.
    pub blow_s: f64,
    /// Seconds of notes that were drawn.
    pub draw_s: f64,
    /// Seconds of notes that can be played on either breath, so that nobody knows which it was.
    pub either_s: f64,
    /// The longest stretch that was surely on one breath without a rest, seconds; which breath, and in which bar it
    /// began, counted from 0 at the first beat.
    pub longest: Option<(Breath, f64, usize)>,
}

impl Tally {
    /// Sums up the notes of the bars from `from` to before `until`, counted from 0. A change is held against `all`
    /// notes, since the note that meets it may have begun before these bars.
    pub(super) fn of(
        ground: &Ground<'_>,
        (all, masked): (&[JamNote], &MaskedAt),
        (from, until): (usize, f64),
    ) -> Self {
        let mine = || all.iter().filter(|note| note.bar >= from && (note.bar as f64) < until);
        let count = |which: fn(&Is) -> bool| mine().filter(|note| which(&note.is)).count();
        let changes = ground.form().changes(from as f64, until);
        let mut tally = Self {
            notes: mine().count(),
            of_chord: count(|is| matches!(is, Is::OfChord(_))),
            of_scale: count(|is| *is == Is::OfScale),
            outside: count(|is| *is == Is::Outside),
            cannot_tell: count(|is| *is == Is::CannotTell),
            changes: changes.iter().map(|change| met(ground, (all, masked), *change)).collect(),
            clashes: mine().filter_map(HeldClash::of).collect(),
            ..Self::default()
        };
        tally.breathe(mine());
        tally
    }

    /// At how many changes `which` is true of what sounded.
    pub fn met(&self, which: impl Fn(Met) -> bool) -> usize {
        self.changes.iter().filter(|change| which(change.met)).count()
    }

    fn breathe<'a>(&mut self, notes: impl Iterator<Item = &'a JamNote>) {
        let mut stretch: Option<(Breath, f64, f64, usize)> = None;
        for note in notes {
            let (on, off) = (note.played.onset_s, note.played.ended_s);
            let seconds = (off - on).max(0.0);
            let Some(breath) = note.breath() else {
                self.either_s += seconds;
                stretch = None;
                continue;
            };
            match breath {
                Breath::Blow => self.blow_s += seconds,
                Breath::Draw => self.draw_s += seconds,
            }
            let goes_on = stretch.filter(|(way, _, last, _)| *way == breath && on - last < LET_GO_S);
            let (began, bar) = goes_on.map_or((on, note.bar), |(_, began, _, bar)| (began, bar));
            stretch = Some((breath, began, off, bar));
            if self.longest.is_none_or(|(_, longest, _)| off - began > longest) {
                self.longest = Some((breath, off - began, bar));
            }
        }
    }
}

impl HeldClash {
    fn of(note: &JamNote) -> Option<Self> {
        let (clash, chord) = note.clash.clone()?;
        Some(Self { note: note.clone(), clash, chord })
    }
}

impl JamNote {
    /// On which breath it was played, where all ways to it agree on that.
    pub fn breath(&self) -> Option<Breath> {
        let first = self.ways.first()?.breath;
        self.ways.iter().all(|way| way.breath == first).then_some(first)
    }
}

fn met(
    ground: &Ground<'_>,
    (notes, masked): (&[JamNote], &MaskedAt),
    (at, chord): (f64, &FormChord),
) -> Change {
    let (of_bar, bar) = (ground.beats_of_bar(), (at + 1e-6).floor());
    let at = at * of_bar;
    let heard = what_sounded(ground, notes, (at, chord));
    // Notes may have been played earlier by up to `doubt`; that is as if the change came later.
    let earlier = what_sounded(ground, notes, (at + ground.doubt(), chord));
    // And where the player may not have been heard, something may have been played.
    let is_hidden = || masked.hides(ground.seconds(at), ground.seconds(at + BEHIND_BEATS));
    let unsure = heard != earlier || !matches!(heard, Met::OfChord(_)) && is_hidden();
    let met = if unsure { Met::CannotTell } else { heard };
    Change { bar: bar as usize, beat: at - bar * of_bar + 1.0, chord: chord.symbol.clone(), met }
}

/// What sounded at a change, `at` beats from the first one. A note meets the change if it begins shortly behind it,
/// anticipates it or is held over it. Of several, a note of the new chord counts: a slide into it takes nothing from
/// it.
fn what_sounded(ground: &Ground<'_>, notes: &[JamNote], (at, chord): (f64, &FormChord)) -> Met {
    let mut met = Met::Rest;
    for note in notes.iter().rev() {
        let (on, off) = ground.span(&note.played);
        // Notes come one after the other, so that nothing older reaches so far.
        if off < at {
            break;
        }
        let begins = (at..at + BEHIND_BEATS).contains(&on);
        // It sounds longer after the change than before it: it was meant for the new chord.
        let anticipates = on < at && off - on > 2.0 * (at - on);
        let is_held_over = on < at && off > at + HELD_OVER_BEATS;
        if !(begins || anticipates || is_held_over) {
            continue;
        }
        let named = if note.in_scale.is_some() { ground.named(&note.played) } else { None };
        met = match named.map(|class| chord.degree(class)) {
            Some(Some(degree)) => return Met::OfChord(degree),
            None => Met::CannotTell,
            Some(None) if met == Met::CannotTell => met,
            Some(None) => Met::Other,
        };
    }
    met
}
