//! Who plays what in a bar.

use super::bass::{self, BassNote, Stretch};
use super::event::{Event, Sound, Stroke};
use super::pattern;
use super::plan::{BandPlan, Change, Place};
use super::voicing::Voicing;
use crate::random::{bell, between, generator};
use oorandom::Rand32;
use theory::{Chord, Groove};

/// The most events of a bar: chords of four notes on each eighth of 12/8 with six beats are 72, and the bass and the
/// kit have fewer.
pub(super) const MOST: usize = 160;
/// How far a stroke strays from its strength, as a standard deviation of its natural logarithm: about one decibel, so
/// that it sounds like a player and not like a machine.
const STRAYS: f64 = 0.12;
/// Factor on the strength of a chord that reaches into the harp's register: 3 dB softer.
const THIN: f64 = 0.7;
/// A fill comes after so many bars at least, so that a form of two chords is not full of them.
const FILL_BARS: u64 = 8;

/// The form, made ready to be played.
#[derive(Clone, Debug)]
pub(super) struct Arrangement {
    plan: BandPlan,
    slow: bool,
    /// How each chord of the form lies.
    voicings: Vec<Vec<Voicing>>,
    last: Voicing,
    /// After so many bars comes a fill.
    fill_bars: u64,
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

    /// Sounds a chord.
    fn chord(&mut self, voicing: &Voicing, (beat, length, strength): pattern::Hit) {
        let strength = if voicing.is_thin { THIN * strength } else { strength };
        for note in voicing.notes() {
            self.put(beat, Sound::Chord(*note, length), strength);
        }
    }
}

impl Arrangement {
    pub(super) fn new(plan: &BandPlan) -> Self {
        let mut before = None;
        let mut lie = |chord: &Chord| *before.insert(Voicing::new(chord, plan.lowest, before.as_ref()));
        let voicings =
            plan.form.iter().map(|bar| bar.iter().map(|change| lie(&change.chord)).collect()).collect();
        let last = lie(&plan.home());
        let form = plan.form.len() as u64;
        let slow = plan.tempo_bpm <= pattern::slow_bpm(plan.feel);
        Self { plan: plan.clone(), slow, voicings, last, fill_bars: FILL_BARS.div_ceil(form) * form }
    }

    /// The events of a bar, counted from 0, in their order, in place of those that `events` had; false if the band has
    /// ended.
    pub(super) fn bar(&self, bar: u64, events: &mut Vec<Event>) -> bool {
        events.clear();
        // Each bar has random numbers of its own, so that it is the same wherever the band begins.
        let random = generator(self.plan.seed ^ bar.wrapping_mul(0x2545_f491_4f6c_dd1d), 0x6261_6e64);
        let mut put = Bar { events, random };
        match self.plan.place(bar) {
            Place::After => return false,
            Place::Last => self.last(&mut put),
            Place::InForm(index) => {
                self.bass(index, bar, &mut put);
                self.chords(index, &mut put);
                self.kit(bar, &mut put);
            }
        }
        events.sort_unstable_by(|a, b| a.beat.total_cmp(&b.beat));
        true
    }

    /// Seconds of a bar.
    pub(super) fn bar_s(&self) -> f64 {
        self.plan.bar_s()
    }

    /// The frequency of a note, a MIDI key number, in hertz.
    pub(super) fn hz(&self, midi: i32) -> f64 {
        self.plan.concert.a4_hz() * (f64::from(midi - 69) / 12.0).exp2()
    }

    /// Seconds of a beat.
    pub(super) fn beat_s(&self) -> f64 {
        self.plan.beat_s()
    }

    fn beats(&self) -> f64 {
        f64::from(self.plan.beats)
    }

    /// The changes of a bar, each with its index and the beat at which it ends.
    fn stretches(&self, index: usize) -> impl Iterator<Item = (usize, &Change, f64)> {
        let bar = &self.plan.form[index];
        let until = move |at: usize| bar.get(at + 1).map_or(self.beats(), |next| next.beat);
        bar.iter().enumerate().map(move |(at, change)| (at, change, until(at)))
    }

    fn bass(&self, index: usize, bar: u64, put: &mut Bar) {
        let form = &self.plan.form;
        // The bar before the last one of all leads home.
        let ahead = match self.plan.place(bar + 1) {
            Place::InForm(next) => form[next][0].chord,
            Place::Last | Place::After => self.plan.home(),
        };
        let mut random = put.random;
        for (at, change, until) in self.stretches(index) {
            let next = form[index].get(at + 1).map_or(ahead, |next| next.chord);
            let answers = index % 2 == 1 && form[index].len() == 1 && form[index - 1] == form[index];
            let stretch = Stretch { chord: change.chord, beats: (change.beat, until), next, answers };
            let line = bass::line(self.plan.feel, self.slow, &stretch, &mut random);
            let notes = line.notes();
            for BassNote { beat, midi, strength } in notes {
                let later = notes.iter().map(|other| other.beat).filter(|other| other > beat);
                let ends = later.fold(until, f64::min);
                put.put(*beat, Sound::Bass(*midi, ends - beat), *strength);
            }
        }
        put.random = random;
    }

    fn chords(&self, index: usize, put: &mut Bar) {
        let feel = self.plan.feel;
        let way = between(&mut put.random, 0.0, 2.999) as usize;
        for (at, change, until) in self.stretches(index) {
            let voicing = &self.voicings[index][at];
            let hits = pattern::chords(feel, self.slow, way);
            let mut silent = true;
            for (beat, length, strength) in again(hits, pattern::cycle(feel), self.beats(), |hit| hit.0) {
                if beat >= change.beat && beat < until {
                    silent = false;
                    put.chord(voicing, (beat, length.min(until - beat), strength));
                }
            }
            // A chord during which the pattern has no hit is struck where it begins.
            if silent {
                put.chord(voicing, (change.beat, (until - change.beat).min(1.0), 0.8));
            }
        }
    }

    fn kit(&self, bar: u64, put: &mut Bar) {
        let (feel, beats) = (self.plan.feel, self.beats());
        let fills = (bar + 1).is_multiple_of(self.fill_bars) || self.plan.place(bar + 1) == Place::Last;
        let fill = if fills { beats - if beats < 4.0 { 1.0 } else { 2.0 } } else { beats };
        for strokes in [pattern::kit(feel, self.slow), pattern::pulse(feel, self.slow)] {
            for (stroke, beat, strength) in again(strokes, pattern::cycle(feel), beats, |beaten| beaten.1) {
                if beat < fill || stroke == Stroke::Kick {
                    put.hit(beat, stroke, strength);
                }
            }
        }
        if fills {
            self.fill(fill, put);
        } else if bar > 0 && bar.is_multiple_of(self.fill_bars) {
            // The stroke to which the fill in the bar before leads.
            put.hit(0.0, Stroke::Cymbal, 0.9);
        }
    }

    /// Taps that grow towards the bar line, in the notes that the feel has.
    fn fill(&self, from: f64, put: &mut Bar) {
        let feel = self.plan.feel;
        let thirds = feel.swing() > 1.0;
        let parts = match feel {
            _ if thirds => 3,
            Groove::Straight | Groove::Train if self.slow => 4,
            _ => 2,
        };
        let span = self.beats() - from;
        let count = (span * f64::from(parts)) as u32;
        for index in 0..count {
            let beat = from + f64::from(index) / f64::from(parts);
            // The first half of a fill leaves out the middle third of each beat.
            if thirds && index % 3 == 1 && index < count / 2 {
                continue;
            }
            let grows = 0.45 + 0.55 * f64::from(index) / f64::from(count);
            put.hit(beat, Stroke::Tap, grows);
        }
    }

    /// The last bar: the chord of home, let ring.
    fn last(&self, put: &mut Bar) {
        put.put(0.0, Sound::Bass(bass::root(&self.plan.home()), self.beats()), 1.0);
        put.chord(&self.last, (0.0, self.beats(), 0.9));
        put.hit(0.0, Stroke::Kick, 0.8);
        put.hit(0.0, Stroke::Cymbal, 0.9);
    }
}

/// A pattern again and again over a bar of so many beats.
fn again<T: Shifted>(
    pattern: &[T],
    cycle: f64,
    beats: f64,
    beat: impl Fn(&T) -> f64,
) -> impl Iterator<Item = T> {
    let times = (beats / cycle).ceil() as u32;
    (0..times)
        .flat_map(move |time| pattern.iter().map(move |part| part.shifted(f64::from(time) * cycle)))
        .filter(move |part| beat(part) < beats)
}

/// What can be moved to another beat.
trait Shifted {
    fn shifted(&self, beats: f64) -> Self;
}

impl Shifted for pattern::Hit {
    fn shifted(&self, beats: f64) -> Self {
        (self.0 + beats, self.1, self.2)
    }
}

impl Shifted for pattern::Beaten {
    fn shifted(&self, beats: f64) -> Self {
        (self.0, self.1 + beats, self.2)
    }
}
