//! What a band plays: the chords bar by bar, how fast, with which feel, how often.

use crate::error::{SynthError, within};
use layout::{ConcertPitch, Note, PitchClass};
use theory::{Chord, Groove};

/// A chord, and the beat of its bar with which it begins, from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// The beat, from 0.
    pub beat: f64,
    /// The chord.
    pub chord: Chord,
}

/// What a band plays.
#[derive(Clone, Debug, PartialEq)]
pub struct BandPlan {
    pub(super) form: Vec<Vec<Change>>,
    pub(super) key: PitchClass,
    pub(super) tempo_bpm: f64,
    pub(super) beats: u32,
    pub(super) feel: Groove,
    pub(super) choruses: Option<u32>,
    pub(super) lowest: Note,
    pub(super) concert: ConcertPitch,
    pub(super) seed: u64,
}

impl BandPlan {
    /// The slowest and the fastest tempo, beats a minute: those of a run in time.
    pub const TEMPO_BPM: (f64, f64) = (30.0, 240.0);
    /// The fewest and the most beats of a bar.
    pub const BEATS: (u32, u32) = (2, 6);

    /// A form without end: the chords of each bar, which share it evenly, in the usual metre of the feel. Home is the
    /// root of the first chord, until [`key`](Self::key) says otherwise.
    ///
    /// # Errors
    /// If there is no bar, a bar has no chord, or the tempo (beats a minute) is outside [`TEMPO_BPM`](Self::TEMPO_BPM).
    pub fn new(bars: &[Vec<Chord>], feel: Groove, tempo_bpm: f64) -> Result<Self, SynthError> {
        let (slowest, fastest) = Self::TEMPO_BPM;
        let tempo_bpm = within("a tempo in beats a minute", tempo_bpm, slowest, fastest)?;
        let first = bars.first().and_then(|bar| bar.first()).ok_or(SynthError::EmptyForm)?;
        if bars.iter().any(Vec::is_empty) {
            return Err(SynthError::EmptyForm);
        }
        let plan = Self {
            form: Vec::new(),
            key: first.root,
            tempo_bpm,
            beats: feel.beats(),
            feel,
            choruses: None,
            lowest: Note::MIDDLE_C,
            concert: ConcertPitch::ISO,
            seed: 0,
        };
        Ok(Self { form: bars.iter().map(|bar| shared(bar, plan.beats)).collect(), ..plan })
    }

    /// The same in a metre of so many beats, 2 to 6; a beat of 6/8 and 12/8 has three eighths.
    ///
    /// # Errors
    /// If there are fewer or more.
    pub fn beats(self, beats: u32) -> Result<Self, SynthError> {
        let (fewest, most) = Self::BEATS;
        within("a number of beats in a bar", beats.into(), fewest.into(), most.into())?;
        let chords = |bar: &Vec<Change>| bar.iter().map(|change| change.chord).collect::<Vec<_>>();
        let form = self.form.iter().map(|bar| shared(&chords(bar), beats)).collect();
        Ok(Self { form, beats, ..self })
    }

    /// The same with another root of the key: the band ends on the first chord with this root.
    #[must_use]
    pub fn key(self, key: PitchClass) -> Self {
        Self { key, ..self }
    }

    /// The same with an end: the form so many times (at least once), and one bar more with the chord of home.
    #[must_use]
    pub fn choruses(self, choruses: u32) -> Self {
        Self { choruses: Some(choruses.max(1)), ..self }
    }

    /// The same for a harp with this lowest note: the chords keep below it where they can. Middle C unless it is said.
    #[must_use]
    pub fn below(self, lowest: Note) -> Self {
        Self { lowest, ..self }
    }

    /// The same tuned to another reference pitch; by default A4 is 440 Hz.
    #[must_use]
    pub fn tuned(self, concert: ConcertPitch) -> Self {
        Self { concert, ..self }
    }

    /// The same with other small differences from bar to bar.
    #[must_use]
    pub fn seed(self, seed: u64) -> Self {
        Self { seed, ..self }
    }

    /// Bars of the form.
    pub fn form_bars(&self) -> usize {
        self.form.len()
    }

    /// Bars until the band ends, the last chord's included; none if it goes on and on.
    pub fn bars(&self) -> Option<u64> {
        self.choruses.map(|choruses| u64::from(choruses) * self.form.len() as u64 + 1)
    }

    /// Beats of a bar.
    pub fn beats_of_bar(&self) -> u32 {
        self.beats
    }

    /// Beats a minute.
    pub fn tempo_bpm(&self) -> f64 {
        self.tempo_bpm
    }

    /// The feel.
    pub fn feel(&self) -> Groove {
        self.feel
    }

    /// Seconds of a beat.
    pub fn beat_s(&self) -> f64 {
        60.0 / self.tempo_bpm
    }

    /// Seconds of a bar.
    pub fn bar_s(&self) -> f64 {
        self.beat_s() * f64::from(self.beats)
    }

    /// The chords of a bar, counted from 0 since the band began; none after its end.
    pub fn changes(&self, bar: u64) -> Vec<Change> {
        match self.place(bar) {
            Place::InForm(bar) => self.form[bar].clone(),
            Place::Last => vec![Change { beat: 0.0, chord: self.home() }],
            Place::After => Vec::new(),
        }
    }

    /// The chord that sounds so many beats after the band began; none before it or after its end.
    pub fn chord_at(&self, beats: f64) -> Option<Chord> {
        let bar = (beats >= 0.0).then(|| (beats / f64::from(self.beats)).floor())?;
        let in_bar = beats - bar * f64::from(self.beats);
        let changes = self.changes(bar as u64);
        changes.iter().rfind(|change| change.beat <= in_bar).map(|change| change.chord)
    }

    /// Where a bar stands in the form.
    pub(super) fn place(&self, bar: u64) -> Place {
        let in_form = Place::InForm((bar % self.form.len() as u64) as usize);
        match self.bars() {
            None => in_form,
            Some(bars) if bar + 1 < bars => in_form,
            Some(bars) if bar + 1 == bars => Place::Last,
            Some(_) => Place::After,
        }
    }

    /// The chord on which it ends: the first one on the root of the key, or the first one at all.
    pub(super) fn home(&self) -> Chord {
        let mut changes = self.form.iter().flatten();
        let first = self.form[0][0];
        changes.find(|change| change.chord.root == self.key).unwrap_or(&first).chord
    }
}

/// Where a bar stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// So many bars after the beginning of the form.
    InForm(usize),
    /// The bar with the last chord.
    Last,
    /// After the end.
    After,
}

/// Chords that share a bar evenly.
fn shared(chords: &[Chord], beats: u32) -> Vec<Change> {
    let each = f64::from(beats) / chords.len() as f64;
    (0..).zip(chords).map(|(index, chord)| Change { beat: f64::from(index) * each, chord: *chord }).collect()
}
