//! A note of a jam: where it stood, and what it was to the chord that sounded under it.

use super::{Form, FormChord, JamPlan};
use layout::{Harp, Note, PitchClass, Way, cents_between};
use scoring::timed::{MaskedAt, PlayedAt};
use serde::Serialize;
use theory::Degree;

/// A pitch within this of a note is that note, cents: the sevenths that early blues players sing lie 38 cents above the
/// flat seventh (Cutting, Empirical Musicology Review 13, 2019). What lies nearer to the middle between two notes is
/// not named.
const NAMED_CENTS: f64 = 40.0;

/// A note that begins at most this long before a bar counts to that bar, in beats. Players who push come earlier still,
/// and mean it. Common practice, no source.
const EARLY_BEATS: f64 = 0.1;

/// A note may anticipate the chord that comes next by this much, in beats: the last eighth of a bar, tied over the bar
/// line. Common practice, no source.
const ANTICIPATES_BEATS: f64 = 0.6;

/// How late the microphone may hand in what was played on a beat, seconds, where nobody has measured it: more than a
/// loudspeaker by cable takes. From memory, no source.
const UNMEASURED_S: f64 = 0.15;

/// A note foreign to the chord, a half step above one of its notes, is a clash once it is held for longer than this, in
/// beats: the fourth over a major chord, the flat second, the flat sixth. Shorter ones are passing notes, neighbours
/// and slides, which every style has. A note a half step below a note of the chord is no clash: the sixth under a flat
/// seventh, the second under a minor third, the major seventh under the root are held as colours. Common practice, no
/// source.
const CLASHES_BEATS: f64 = 1.0;

/// Half steps of the notes that are blue in a blues: above the tonic the flat third, the flat fifth and the flat
/// seventh; above the root of the chord the first two, for its flat seventh is a note of most chords. Held a half step
/// above or below a note of the chord they rub, as the flat third does over a major chord. In a blues that is the style
/// and no mistake; other styles avoid it. Common practice, no source; practice disagrees.
const BLUE_ABOVE_TONIC: [u8; 3] = [3, 6, 10];
const BLUE_ABOVE_ROOT: [u8; 2] = [3, 6];

/// What a note is to the chord under it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Is {
    /// A note of the chord: its degree above the root.
    OfChord(Degree),
    /// A note of the scale that the player wants to play, and not of the chord.
    OfScale,
    /// Neither.
    Outside,
    /// It cannot be told: no pitch was held, it lay between two notes, or it came so near to a change of chord that
    /// nobody knows under which of the two it was; or what the program itself sounds may have been heard in its place.
    CannotTell,
}

/// How a note rubbed that was held for longer than a beat beside a note of the chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Clash {
    /// It clashed.
    Clash,
    /// It was a blue note: in a blues the style, elsewhere a clash.
    BlueNote,
}

/// A note that was played.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JamNote {
    /// What was heard, in seconds from the first beat.
    pub played: PlayedAt,
    /// The ways to play it that are within the player's ability, the simplest first, or only the simplest of all if
    /// none is; empty if the harp does not have the note.
    pub ways: Vec<Way>,
    /// Cents from where the simplest way is in tune; `None` where no pitch was held.
    pub cents: Option<f64>,
    /// The bar in which it began, counted from 0 at the first beat; the form goes round.
    pub bar: usize,
    /// The beat on which it began, counted from 1, with its fraction; a little below 1 where it came a little before
    /// the bar.
    pub beat: f64,
    /// How long it sounded, in beats.
    pub beats: f64,
    /// The symbol of the chord under it; `None` where that cannot be told.
    pub chord: Option<String>,
    /// What it is to that chord.
    pub is: Is,
    /// Whether it is a note of the scale; `None` where its pitch cannot be told.
    pub in_scale: Option<bool>,
    /// Its degree in the key; `None` where its pitch cannot be told.
    pub degree: Option<Degree>,
    /// How it rubbed, if it did, and against which chord.
    pub clash: Option<(Clash, String)>,
}

impl JamNote {
    /// Nothing is told of a note where something else may have been heard.
    pub(super) fn unless(&mut self, masked: &MaskedAt) {
        if masked.hides(self.played.onset_s, self.played.ended_s) {
            (self.is, self.clash) = (Is::CannotTell, None);
            (self.in_scale, self.degree) = (None, None);
        }
    }
}

/// A form on a clock, against which notes are held.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ground<'a> {
    plan: &'a JamPlan,
    harp: &'a Harp,
    beats_of_bar: f64,
    beat_s: f64,
    /// How much earlier than it was heard a note may have been played, in beats.
    doubt: f64,
}

impl<'a> Ground<'a> {
    pub(super) fn new(plan: &'a JamPlan, harp: &'a Harp) -> Self {
        let (beat_s, beats) = (plan.rhythm.beat_s(), plan.rhythm.metre.beats());
        let known = plan.delay_s.is_some() || plan.start != crate::run::StartAt::CountIn;
        let doubt = if known { 0.0 } else { UNMEASURED_S / beat_s };
        Self { plan, harp, beats_of_bar: f64::from(beats), beat_s, doubt }
    }

    pub(super) fn doubt(&self) -> f64 {
        self.doubt
    }

    pub(super) fn form(&self) -> &'a Form {
        &self.plan.form
    }

    pub(super) fn beats_of_bar(&self) -> f64 {
        self.beats_of_bar
    }

    /// So many beats in seconds.
    pub(super) fn seconds(&self, beats: f64) -> f64 {
        beats * self.beat_s
    }

    /// When a note began and ended, in beats.
    pub(super) fn span(&self, played: &PlayedAt) -> (f64, f64) {
        (played.onset_s / self.beat_s, played.ended_s / self.beat_s)
    }

    /// What is told of a note.
    pub(super) fn tell(&self, played: PlayedAt) -> JamNote {
        let (on, off) = self.span(&played);
        let bar = ((on + EARLY_BEATS) / self.beats_of_bar).floor().max(0.0);
        let class = self.named(&played);
        let chord = self.surely_under(on, off);
        let scale = &self.plan.scale;
        let in_scale = class.map(|_| scale.find_either(played.note).is_some());
        let is = match (class, chord, in_scale) {
            (Some(class), Some(chord), Some(in_scale)) => match chord.degree(class) {
                Some(degree) => Is::OfChord(degree),
                None if in_scale => Is::OfScale,
                None => Is::Outside,
            },
            _ => Is::CannotTell,
        };
        // Only ways that the player commands are named; where he commands none of them, he played the simplest all the
        // same.
        let ways = self.plan.ability.ways_to(self.harp, played.note);
        let in_tune = ways.first().and_then(|way| self.harp.hz(*way));
        let in_tune = in_tune.unwrap_or_else(|| self.harp.concert().hz(played.note, 0.0));
        JamNote {
            cents: played.held.map(|(hz, _)| cents_between(in_tune, hz)),
            bar: bar as usize,
            beat: on - bar * self.beats_of_bar + 1.0,
            beats: off - on,
            chord: chord.map(|chord| chord.symbol.clone()),
            is,
            in_scale,
            degree: class.map(|class| scale.degree_of(class)),
            clash: class.and_then(|class| self.clash(class, on, off)),
            ways,
            played,
        }
    }

    /// The pitch class of a note, if its pitch was held within `NAMED_CENTS` of it; `None` otherwise.
    pub(super) fn named(&self, played: &PlayedAt) -> Option<PitchClass> {
        let (note, cents): (Note, f64) = self.harp.concert().nearest(played.held?.0)?;
        (note == played.note && cents.abs() <= NAMED_CENTS).then_some(note.pitch_class())
    }

    /// The chord under a note; `None` if another chord would be under it had it been played `doubt` earlier.
    fn surely_under(&self, on: f64, off: f64) -> Option<&'a FormChord> {
        let (late, early) = (self.under(on, off)?, self.under(on - self.doubt, off - self.doubt)?);
        (late.symbol == early.symbol).then_some(late)
    }

    /// The chord under a note: the chord in which it begins; or the next one, if the note begins shortly before the
    /// change and sounds longer after it than before it.
    fn under(&self, on: f64, off: f64) -> Option<&'a FormChord> {
        let (now, ..) = self.form().chord_at(on / self.beats_of_bar)?;
        let Some((at, next)) = self.form().next_change(on / self.beats_of_bar) else { return Some(now) };
        let before = at * self.beats_of_bar - on;
        let anticipates = before <= ANTICIPATES_BEATS && off - on > 2.0 * before;
        Some(if anticipates { next } else { now })
    }

    /// How a note rubbed against the chords over which it was held. A clash counts before a blue note.
    fn clash(&self, class: PitchClass, on: f64, off: f64) -> Option<(Clash, String)> {
        let mut found = None;
        let mut at = on;
        while at < off {
            let (chord, ..) = self.form().chord_at(at / self.beats_of_bar)?;
            let until = self.form().next_change(at / self.beats_of_bar);
            let until = until.map_or(off, |(bars, _)| off.min(bars * self.beats_of_bar));
            // Where a change cuts the note, the part on this chord may be shorter by `doubt`.
            let cut = if until < off || at > on { self.doubt } else { 0.0 };
            let above = chord.is_half_step_off(class, true);
            if until - at - cut > CLASHES_BEATS && (above || chord.is_half_step_off(class, false)) {
                let is_blue = self.is_blue(chord, class);
                if above && !is_blue {
                    return Some((Clash::Clash, chord.symbol.clone()));
                }
                found = found.or(is_blue.then(|| (Clash::BlueNote, chord.symbol.clone())));
            }
            // A hair beyond the change, so that the next chord is found there.
            at = until + 1e-9;
        }
        found
    }

    fn is_blue(&self, chord: &FormChord, class: PitchClass) -> bool {
        BLUE_ABOVE_TONIC.contains(&self.form().tonic.semitones_to(class))
            || BLUE_ABOVE_ROOT.contains(&chord.chord.root.semitones_to(class))
    }
}
