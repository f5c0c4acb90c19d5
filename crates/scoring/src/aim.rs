//! A target as the judge sees it: everything of the hole in cents from the target.

use crate::{Between, Outcome, Target, Tolerance, Why};
use layout::{Breath, Harp, Note, Technique, Way, cents_between};

/// A miss by this much is still a miss at the target, cents. A little more than half a semitone: the reeds of a harp
/// lie a semitone apart at least, so what is 60 cents off is not the neighbour in tune either.
const MARGIN_CENTS: f64 = 65.0;
/// An overbend that is flat by more than this has not begun: what sounds is the natural reed, or a bend of it, cents.
const OVERBEND_FLAT_CENTS: f64 = 150.0;
/// Sounding this near the natural note is still the approach to a bend, cents.
const APPROACH_CENTS: f64 = 30.0;

/// The target, in hertz, and what surrounds it in its hole, in cents above it.
#[derive(Clone, Debug)]
pub(crate) struct Aim {
    harp: Harp,
    way: Way,
    hz: f64,
    /// The natural note on the target's breath.
    natural: f64,
    /// The reed from which the depth counts: the natural one for bends, the higher one for overbends.
    reed: f64,
    /// Lowest and highest pitch that counts as a miss at this target.
    span: (f64, f64),
    /// The natural note and the bends on the target's breath, from shallow to deep.
    depths: Vec<(Way, f64)>,
}

impl Aim {
    /// `None` where the harp cannot play the target or the wanted offset is no number.
    pub(crate) fn new(harp: &Harp, target: Target) -> Option<Self> {
        let way = target.way;
        let hz = target.hz(harp)?;
        if !(hz.is_finite() && hz > 0.0) {
            return None;
        }
        let cents = |way| Some(cents_between(hz, harp.hz(way)?));
        let natural = cents(way.natural())?;
        let overbend = way.technique == Technique::Overbend;
        let reed = if overbend {
            cents(Way::new(way.hole, way.breath.other(), Technique::Natural))?
        } else {
            natural
        };
        let depths: Vec<(Way, f64)> = harp
            .ways_of_hole(way.hole)
            .filter(|other| other.breath == way.breath && other.technique != Technique::Overbend)
            .filter_map(|other| Some((other, cents(other)?)))
            .collect();
        let lowest = depths.iter().map(|(_, cents)| *cents).fold(0.0, f64::min) - MARGIN_CENTS;
        let lowest = if overbend { -OVERBEND_FLAT_CENTS } else { lowest };
        let span = (lowest, natural.max(0.0) + MARGIN_CENTS);
        Some(Self { harp: harp.clone(), way, hz, natural, reed, span, depths })
    }

    /// Cents of a frequency above the target.
    pub(crate) fn cents(&self, hz: f64) -> f64 {
        cents_between(self.hz, hz)
    }

    /// The target's hole and breath can sound this.
    pub(crate) fn in_span(&self, cents: f64) -> bool {
        (self.span.0..=self.span.1).contains(&cents)
    }

    /// Semitones from the natural reed: below it, or above the higher reed for an overbend.
    pub(crate) fn depth_semitones(&self, cents: f64) -> f64 {
        (cents - self.reed) * self.pull() / 100.0 + 0.0
    }

    /// The way in which the technique pulls the pitch: −1 for bends (and for naturals, which only sag), +1 up.
    fn pull(&self) -> f64 {
        if self.way.technique == Technique::Overbend { 1.0 } else { -1.0 }
    }

    /// The way in which a note is overshot: down for bends; up for the others, which are reached from below.
    pub(crate) fn beyond(&self) -> f64 {
        if matches!(self.way.technique, Technique::Bend(_)) { -1.0 } else { 1.0 }
    }

    /// This is the natural note from which a bend or an overbend is reached.
    pub(crate) fn is_approach(&self, cents: f64) -> bool {
        self.way.technique != Technique::Natural && (cents - self.natural).abs() <= APPROACH_CENTS
    }

    /// What a pitch that is not in tune is, and the depths it lies between.
    pub(crate) fn miss(&self, cents: f64, tolerance: Tolerance) -> (Outcome, Option<Between>) {
        if !self.in_span(cents) {
            return (self.another_note(cents), None);
        }
        let off = cents.abs();
        let outcome = match self.way.technique {
            Technique::Natural if cents < 0.0 => Outcome::Flat(off),
            Technique::Natural => Outcome::Sharp(off),
            Technique::Bend(_) | Technique::Overbend if cents * self.pull() < 0.0 => Outcome::Short(off),
            Technique::Bend(_) | Technique::Overbend => Outcome::Past(off),
        };
        (outcome, self.between(cents, tolerance))
    }

    /// The nearest note, and the simplest way to it: of equal techniques the one on the target's breath, then the one
    /// in the nearest hole.
    fn another_note(&self, cents: f64) -> Outcome {
        let hz = self.hz * (cents / 1200.0).exp2();
        // Beyond MIDI there is no note to name; the judge lets no such reading in.
        let Some((note, _)) = self.harp.concert().nearest(hz) else {
            return Outcome::CannotTell(Why::Unsure);
        };
        let from_here =
            |way: &Way| (way.technique, way.breath != self.way.breath, way.hole.abs_diff(self.way.hole));
        Outcome::AnotherNote(note, self.harp.ways_to(note).into_iter().min_by_key(from_here))
    }

    /// The two depths around a pitch, if it is in tune with neither.
    fn between(&self, cents: f64, tolerance: Tolerance) -> Option<Between> {
        if self.way.technique == Technique::Overbend {
            return None;
        }
        let [(shallow, above), (deep, below)] =
            *self.depths.windows(2).find(|pair| (pair[1].1..=pair[0].1).contains(&cents))?
        else {
            return None;
        };
        let between =
            Between { shallow, from_shallow_cents: above - cents, deep, from_deep_cents: cents - below };
        let near =
            tolerance.in_tune(between.from_shallow_cents) || tolerance.in_tune(between.from_deep_cents);
        (!near).then_some(between)
    }

    /// Lowest and highest frequency that is listened to: an octave around everything the harp sounds.
    pub(crate) fn audible_hz(&self) -> (f64, f64) {
        let reeds = [Breath::Blow, Breath::Draw]
            .into_iter()
            .flat_map(|breath| (1..=self.harp.holes()).filter_map(move |hole| self.harp.reed(hole, breath)));
        let (low, high) = reeds.fold((self.hz, self.hz), |(low, high), note: Note| {
            let hz = self.harp.concert().hz(note, 0.0);
            (low.min(hz), high.max(hz))
        });
        (low / 2.0, high * 2.0)
    }
}
