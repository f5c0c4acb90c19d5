//! A band of bass, chords and a light kit that plays a form.

mod arrange;
mod bass;
mod event;
mod kit;
mod pattern;
mod plan;
mod string;
mod voicing;

pub use event::BandPart;
pub use plan::{BandPlan, Change};

use crate::level::amplitude;
use crate::random::generator;
use arrange::Arrangement;
use event::{Event, Sound};
use kit::StrokeVoice;
use string::{BASS, Instrument, KEYS, StringVoice};

/// The loudest moment there may be, dBFS, and the usual one.
const LOUDEST_DBFS: f64 = -12.0;
const USUAL_DBFS: f64 = -15.0;
/// The knee of a limiter, as a share of the loudest moment. A sum of the parts up to the knee stays as it is. A sum
/// beyond it is bent down, so that no moment is louder than it may be, however many strokes fall on it.
const KNEE: f64 = 0.6;
/// Peaks of the parts against the whole band, by ear.
const BASS_GAIN: f64 = 0.27;
const CHORD_GAIN: f64 = 0.1;
const KIT_GAIN: f64 = 0.33;
/// Seconds from the release of a bass note to the beginning of the next one: its fading and a little more, so that each
/// note is heard to begin.
const BREATH_S: f64 = 0.04;
/// The most voices at once. There is room for four notes of the bass, six chords of four notes, and strokes as long as
/// they last at the fastest tempo.
const BASSES: usize = 4;
const CHORDS: usize = 24;
const STROKES: usize = 24;

/// A band that plays a [`BandPlan`], exact to the sample: bar n begins at the sample n × (seconds of a bar) × (sample
/// rate), rounded, however long the band has played.
///
/// It is never louder than −12 dBFS; what that is at the ear depends on the player's volume setting, so the usual
/// caution about hearing (WHO-ITU H.870: 80 dB for 40 hours a week) still has to be shown. Nothing allocates while it
/// renders.
#[derive(Clone, Debug)]
pub struct Band {
    arrangement: Arrangement,
    sample_rate: f64,
    gain: f64,
    seed: u64,
    /// Who does not play.
    silent: Vec<BandPart>,
    /// The bar that is played, the events that begin in it, the index of the next one, and the sample at which that one
    /// or the next bar begins.
    bar: u64,
    events: Vec<Event>,
    next: usize,
    due: u64,
    basses: Vec<StringVoice>,
    chords: Vec<StringVoice>,
    strokes: Vec<StrokeVoice>,
    /// The sample of the band's own time that is rendered next.
    position: u64,
    ended: bool,
}

impl Band {
    /// A band at the usual level. The sample rate may have a fraction, as that of a loudspeaker has whose clock was
    /// measured against another one.
    pub fn new(plan: &BandPlan, sample_rate: f64) -> Self {
        let mut band = Self {
            arrangement: Arrangement::new(plan),
            sample_rate,
            gain: amplitude(USUAL_DBFS),
            seed: plan.seed,
            silent: Vec::new(),
            bar: 0,
            events: Vec::with_capacity(arrange::MOST),
            next: 0,
            due: 0,
            basses: Vec::with_capacity(BASSES),
            chords: Vec::with_capacity(CHORDS),
            strokes: Vec::with_capacity(STROKES),
            position: 0,
            ended: false,
        };
        band.begin_bar(0);
        band
    }

    /// The same band with its peak limited to this level, dBFS; at most −12.
    #[must_use]
    pub fn level(self, dbfs: f64) -> Self {
        Self { gain: amplitude(dbfs.min(LOUDEST_DBFS)), ..self }
    }

    /// The same, beginning with a later bar: its first sample is the first of that bar, and each later bar begins where
    /// it would have in a band that began with bar 0.
    #[must_use]
    pub fn from_bar(mut self, bar: u64) -> Self {
        self.begin_bar(bar);
        self.position = self.sample_of(bar, 0.0);
        self
    }

    /// The same band without one of its parts.
    #[must_use]
    pub fn without(mut self, part: BandPart) -> Self {
        self.silent.push(part);
        self
    }

    /// Samples per second.
    pub fn sample_rate(&self) -> f64 {
        self.sample_rate
    }

    /// Renders the next samples; says how many, 0 when the last note has died away.
    pub fn fill(&mut self, out: &mut [f32]) -> usize {
        for (i, sample) in out.iter_mut().enumerate() {
            while self.position >= self.due && !self.ended {
                self.begin_what_is_due();
            }
            if self.is_done() {
                return i;
            }
            *sample = self.next() as f32;
        }
        out.len()
    }

    fn is_done(&self) -> bool {
        self.ended && self.basses.is_empty() && self.chords.is_empty() && self.strokes.is_empty()
    }

    fn sample_of(&self, bar: u64, beat: f64) -> u64 {
        let seconds = bar as f64 * self.arrangement.bar_s() + beat * self.arrangement.beat_s();
        (seconds * self.sample_rate).round() as u64
    }

    fn begin_bar(&mut self, bar: u64) {
        self.bar = bar;
        self.next = 0;
        self.ended = !self.arrangement.bar(bar, &mut self.events);
        self.expect();
    }

    /// Looks up when something begins again: the next event of the bar, or the next bar.
    fn expect(&mut self) {
        self.due = match self.events.get(self.next) {
            Some(event) => self.sample_of(self.bar, event.beat),
            None => self.sample_of(self.bar + 1, 0.0),
        };
    }

    fn begin_what_is_due(&mut self) {
        if let Some(event) = self.events.get(self.next).copied() {
            self.next += 1;
            self.begin(event);
            self.expect();
        } else {
            self.begin_bar(self.bar + 1);
        }
    }

    fn begin(&mut self, event: Event) {
        let Event { sound, strength, .. } = event;
        if self.silent.contains(&sound.part()) {
            return;
        }
        let (beat_s, rate) = (self.arrangement.beat_s(), self.sample_rate);
        let hz = |midi| self.arrangement.hz(midi);
        let note = |instrument: Instrument, midi: i32, length_s: f64, gain: f64| {
            StringVoice::new(instrument, hz(midi), (gain * strength, length_s), rate)
        };
        match sound {
            Sound::Bass(midi, beats) => {
                let length_s = (beats * beat_s - BREATH_S).max(0.0);
                add(&mut self.basses, BASSES, note(BASS, midi, length_s, BASS_GAIN));
            }
            Sound::Chord(midi, beats) => {
                add(&mut self.chords, CHORDS, note(KEYS, midi, beats * beat_s, CHORD_GAIN));
            }
            Sound::Kit(stroke) => {
                let random = generator(self.seed, self.position << 8 | self.next as u64);
                add(&mut self.strokes, STROKES, StrokeVoice::new(stroke, KIT_GAIN * strength, rate, random));
            }
        }
    }

    fn next(&mut self) -> f64 {
        self.position += 1;
        let basses: f64 = self.basses.iter_mut().map(StringVoice::next).sum();
        let chords: f64 = self.chords.iter_mut().map(StringVoice::next).sum();
        let strokes: f64 = self.strokes.iter_mut().map(StrokeVoice::next).sum();
        self.basses.retain(|voice| !voice.is_over());
        self.chords.retain(|voice| !voice.is_over());
        self.strokes.retain(|voice| !voice.is_over());
        self.gain * bent(basses + chords + strokes)
    }
}

/// Adds a voice, if there is room for it.
fn add<T>(voices: &mut Vec<T>, most: usize, voice: T) {
    if voices.len() < most {
        voices.push(voice);
    }
}

/// The sum of the voices, never beyond ±1: what is below the knee stays as it is.
fn bent(sum: f64) -> f64 {
    let over = sum.abs() - KNEE;
    if over <= 0.0 { sum } else { sum.signum() * (KNEE + (1.0 - KNEE) * (over / (1.0 - KNEE)).tanh()) }
}
