//! What a harp has as a whole: its notes, its gaps, and what lies nearest to a frequency.

use crate::{Harp, Note, Technique, Way, cents_between};
use serde::Serialize;
use std::collections::BTreeSet;

/// A way to play and how far a frequency lies from it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Near {
    /// The way.
    pub way: Way,
    /// The note it sounds.
    pub note: Note,
    /// Cents by which the frequency lies above the pitch at which the way is in tune.
    pub cents: f64,
}

impl Harp {
    /// The distinct notes it sounds with the techniques that `allowed` lets through, from the lowest up.
    pub fn notes(&self, allowed: impl Fn(Technique) -> bool) -> BTreeSet<Note> {
        self.ways().filter(|way| allowed(way.technique)).filter_map(|way| self.note(way)).collect()
    }

    /// The notes between its lowest and its highest reed that no natural and no bend sounds, from the lowest up.
    pub fn missing(&self) -> Vec<Note> {
        let has = self.notes(|technique| technique != Technique::Overbend);
        let (Some(low), Some(high)) = (has.first(), has.last()) else { return Vec::new() };
        (low.midi()..high.midi())
            .filter_map(|midi| Note::new(i32::from(midi)))
            .filter(|note| !has.contains(note))
            .collect()
    }

    /// The overbends that sound a note no natural and no bend has, hole by hole.
    pub fn useful_overbends(&self) -> Vec<Way> {
        let has = self.notes(|technique| technique != Technique::Overbend);
        let overbends = self.ways().filter(|way| way.technique == Technique::Overbend);
        overbends.filter(|way| self.note(*way).is_some_and(|note| !has.contains(&note))).collect()
    }

    /// The way that lies nearest to a frequency in hertz; of several ways to that note, the simplest technique.
    pub fn nearest(&self, hz: f64) -> Option<Near> {
        let nearest = self.near(hz, f64::INFINITY).into_iter().next()?;
        let simplest = self.ways_to(nearest.note).into_iter().next()?;
        self.distance(simplest, hz)
    }

    /// The ways within `cents` of a frequency in hertz, the nearest first; of equally near ones the simplest
    /// technique first. Empty if `hz` is zero, negative or not finite.
    pub fn near(&self, hz: f64, cents: f64) -> Vec<Near> {
        let mut near: Vec<Near> = self.ways().filter_map(|way| self.distance(way, hz)).collect();
        near.retain(|way| way.cents.abs() <= cents);
        near.sort_by(|a, b| {
            a.cents.abs().total_cmp(&b.cents.abs()).then(a.way.technique.cmp(&b.way.technique))
        });
        near
    }

    /// How far `hz` lies from a way; `None` if the harp cannot play the way, or `hz` is zero, negative or not finite.
    fn distance(&self, way: Way, hz: f64) -> Option<Near> {
        let cents = cents_between(self.hz(way)?, hz);
        cents.is_finite().then_some(Near { way, note: self.note(way)?, cents })
    }
}
