//! Who plays what in a bar.

use super::bass;
use super::event::{Event, Sound, Stroke};
use super::plan::{BandFeel, BandPlan, Change, Place};
use super::voicing::Voicing;
use crate::random::{bell, generator};
use oorandom::Rand32;
use theory::Chord;

/// The most events of a bar: a fill in sixteenths over six beats of 12/8, with chords of four notes on each eighth, keeps below it.
pub(super) const MOST: usize = 256;
/// How far a stroke strays from its strength, as a standard deviation of its logarithm: about one decibel, so that it is a player and
/// no machine.
const STRAYS: f64 = 0.12;
/// A chord that reaches into the harp's register is so much softer.
const THIN: f64 = 0.7;

/// The form, made ready to be played.
#[derive(Clone, Debug)]
pub(super) struct Arrangement {
    plan: BandPlan,
    /// How each chord of the form lies.
    voicings: Vec<Vec<Voicing>>,
    last: Voicing,
}

/// The events of a bar as they are put down.
struct Bar<'a> {
    events: &'a mut Vec<Event>,
    random: Rand32,
}

impl Bar<'_> {
    fn put(&mut self, beat: f64, sound: Sound, strength: f64) {
        let strength = strength * (STRAYS * bell(&mut self.random)).exp();
        if self.events.len() < MOST {
            self.events.push(Event { beat, sound, strength });
        }
    }

    fn hit(&mut self, beat: f64, stroke: Stroke, strength: f64) {
        self.put(beat, Sound::Kit(stroke), strength);
    }
}

impl Arrangement {
    pub(super) fn new(plan: &BandPlan) -> Self {
        let mut before = None;
        let mut lie = |chord: &Chord| *before.insert(Voicing::new(chord, plan.lowest, before.as_ref()));
        let voicings =
            plan.form.iter().map(|bar| bar.iter().map(|change| lie(&change.chord)).collect()).collect();
        let last = lie(&plan.home());
        Self { plan: plan.clone(), voicings, last }
    }

    /// The events of a bar, counted from 0, in their order, in place of those that `events` had; false if the band has ended.
    pub(super) fn bar(&self, bar: u64, events: &mut Vec<Event>) -> bool {
        events.clear();
        let random = generator(self.plan.seed, 0x6261_6e64 ^ bar << 1);
        let mut put = Bar { events, random };
        match self.plan.place(bar) {
            Place::After => return false,
            Place::Last => self.last(&mut put),
            Place::InForm(index) => {
                self.bass(index, bar, &mut put);
                self.chords(index, &mut put);
                self.kit(index, &mut put);
            }
        }
        events.sort_unstable_by(|a, b| a.beat.total_cmp(&b.beat));
        true
    }

    /// Seconds of a bar.
    pub(super) fn bar_s(&self) -> f64 {
        self.plan.bar_s()
    }

    /// Seconds of a beat.
    pub(super) fn beat_s(&self) -> f64 {
        self.plan.beat_s()
    }

    fn beats(&self) -> f64 {
        f64::from(self.plan.beats)
    }

    fn bass(&self, index: usize, bar: u64, put: &mut Bar) {
        let _ = bar;
        let changes = &self.plan.form[index];
        for beat in 0..self.plan.beats {
            let change = changes.iter().rfind(|change| change.beat <= f64::from(beat));
            let Some(Change { chord, .. }) = change else { continue };
            put.put(f64::from(beat), Sound::Bass(bass::root(chord), 0.85), 1.0);
        }
    }

    fn chords(&self, index: usize, put: &mut Bar) {
        let changes = self.plan.form[index].iter().zip(&self.voicings[index]);
        for (at, (change, voicing)) in changes.enumerate() {
            let until = self.plan.form[index].get(at + 1).map_or(self.beats(), |next| next.beat);
            sound(voicing, change.beat, until - change.beat, 1.0, put);
        }
    }

    fn kit(&self, _index: usize, put: &mut Bar) {
        let off = self.plan.feel.off_beat();
        for beat in 0..self.plan.beats {
            let at = f64::from(beat);
            let back = if self.plan.feel == BandFeel::Waltz { beat > 0 } else { beat % 2 == 1 };
            put.hit(at, if back { Stroke::Tap } else { Stroke::Kick }, 1.0);
            put.hit(at, Stroke::Cymbal, 0.5);
            if beat == 0 {
                put.hit(at, Stroke::Sweep, 0.5);
            }
            put.hit(at + off, Stroke::Cymbal, 0.35);
        }
    }

    /// The last bar: the chord of home, let ring.
    fn last(&self, put: &mut Bar) {
        put.put(0.0, Sound::Bass(bass::root(&self.plan.home()), self.beats()), 1.0);
        sound(&self.last, 0.0, self.beats(), 1.0, put);
        put.hit(0.0, Stroke::Kick, 0.8);
        put.hit(0.0, Stroke::Cymbal, 1.0);
    }
}

/// Sounds a chord.
fn sound(voicing: &Voicing, beat: f64, length: f64, strength: f64, put: &mut Bar) {
    let strength = if voicing.is_thin { THIN * strength } else { strength };
    for note in voicing.notes() {
        put.put(beat, Sound::Chord(*note, length), strength);
    }
}
