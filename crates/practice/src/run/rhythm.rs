//! Tempo, metre, note values and swing: from ticks to seconds.

use serde::Serialize;
use std::fmt;
use std::str::FromStr;
use theory::Groove;

/// Ticks of a quarter note: sixteenths and triplets of them come out even.
pub(super) const QUARTER: u32 = 24;
/// Ticks of one note of an eighth triplet: what begins on a multiple of them is not swung.
const TRIPLET: u32 = QUARTER / 3;

/// A text or number that is no tempo, metre, value or swing: what was wrong, and what is allowed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RhythmError(pub String);

impl fmt::Display for RhythmError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for RhythmError {}

/// Beats a minute, 30 to 240. In 6/8 and 12/8 a beat is a dotted quarter note.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
pub struct Tempo(f64);

impl Tempo {
    /// The slowest and the fastest, beats a minute.
    pub const RANGE: (f64, f64) = (30.0, 240.0);
    /// Where none is given. Ours: eighths at 80 are slow enough for the first bends.
    pub const USUAL: Self = Self(80.0);

    /// A tempo.
    ///
    /// # Errors
    /// If it is not between 30 and 240.
    pub fn new(bpm: f64) -> Result<Self, RhythmError> {
        let (low, high) = Self::RANGE;
        if (low..=high).contains(&bpm) {
            return Ok(Self(bpm));
        }
        Err(RhythmError(format!("a tempo of {bpm} is outside {low} to {high} beats a minute")))
    }

    /// The tempo of a groove where none is given. Common practice, no source.
    pub fn usual_of(groove: Groove) -> Self {
        Self(match groove {
            Groove::SlowTwelve => 60.0,
            Groove::Straight | Groove::Shuffle => 100.0,
            Groove::Swing => 120.0,
            Groove::Train => 110.0,
            Groove::Waltz => 108.0,
        })
    }

    /// The tempo so many beats a minute faster, as far as there are tempi.
    #[must_use]
    pub fn plus(self, bpm: f64) -> Self {
        Self((self.0 + bpm).clamp(Self::RANGE.0, Self::RANGE.1))
    }

    /// The nearest whole number of beats a minute.
    #[must_use]
    pub fn whole(self) -> Self {
        Self(self.0.round())
    }

    /// Beats a minute.
    pub fn bpm(self) -> f64 {
        self.0
    }

    /// Seconds of a beat.
    pub fn beat_s(self) -> f64 {
        60.0 / self.0
    }
}

impl FromStr for Tempo {
    type Err = RhythmError;

    fn from_str(text: &str) -> Result<Self, RhythmError> {
        let bpm = text.trim().parse::<f64>();
        Self::new(bpm.map_err(|_| RhythmError(format!("{text:?} is no number of beats a minute")))?)
    }
}

impl fmt::Display for Tempo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", (self.0 * 10.0).round() / 10.0)
    }
}

/// A metre: how many notes of which value fill a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Metre {
    count: u8,
    unit: u8,
}

impl Metre {
    /// Four quarter notes.
    pub const COMMON: Self = Self { count: 4, unit: 4 };
    /// Three quarter notes.
    pub const THREE_FOUR: Self = Self { count: 3, unit: 4 };
    /// Four beats of three eighth notes.
    pub const TWELVE_EIGHT: Self = Self { count: 12, unit: 8 };

    const ALL: [Self; 6] = [
        Self { count: 2, unit: 4 },
        Self::THREE_FOUR,
        Self::COMMON,
        Self { count: 5, unit: 4 },
        Self { count: 6, unit: 8 },
        Self::TWELVE_EIGHT,
    ];

    /// Whether a beat is divided by three: 6/8 and 12/8.
    pub fn is_compound(self) -> bool {
        self.unit == 8
    }

    /// Beats of a bar.
    pub fn beats(self) -> u32 {
        if self.is_compound() { u32::from(self.count) / 3 } else { u32::from(self.count) }
    }

    /// Ticks of a beat.
    pub(super) fn beat(self) -> u32 {
        if self.is_compound() { QUARTER * 3 / 2 } else { QUARTER }
    }

    /// Ticks of a bar.
    pub(super) fn bar(self) -> u32 {
        self.beats() * self.beat()
    }
}

impl FromStr for Metre {
    type Err = RhythmError;

    fn from_str(text: &str) -> Result<Self, RhythmError> {
        let found = Self::ALL.into_iter().find(|metre| metre.to_string() == text.trim());
        found.ok_or_else(|| {
            let all: Vec<String> = Self::ALL.iter().map(Self::to_string).collect();
            RhythmError(format!("there is no metre {text:?}; there are: {}", all.join(", ")))
        })
    }
}

impl fmt::Display for Metre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.count, self.unit)
    }
}

/// A note value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Value {
    ticks: u32,
    name: &'static str,
}

impl Value {
    /// Eighth notes.
    pub const EIGHTHS: Self = Self { ticks: QUARTER / 2, name: "eighths" };

    const ALL: [Self; 8] = [
        Self { ticks: QUARTER * 4, name: "whole notes" },
        Self { ticks: QUARTER * 2, name: "halves" },
        Self { ticks: QUARTER, name: "quarters" },
        Self { ticks: QUARTER * 2 / 3, name: "quarter triplets" },
        Self::EIGHTHS,
        Self { ticks: QUARTER / 3, name: "triplets" },
        Self { ticks: QUARTER / 4, name: "sixteenths" },
        Self { ticks: QUARTER / 6, name: "sixteenth triplets" },
    ];

    /// Ticks of one such note.
    pub(super) fn ticks(self) -> u32 {
        self.ticks
    }

    /// Whether two of them can be swung: eighths and sixteenths.
    fn swings(self) -> bool {
        self.ticks == QUARTER / 2 || self.ticks == QUARTER / 4
    }
}

impl FromStr for Value {
    type Err = RhythmError;

    fn from_str(text: &str) -> Result<Self, RhythmError> {
        let wanted = text.trim().to_lowercase().replace('-', " ");
        let found = Self::ALL
            .into_iter()
            .find(|value| value.name == wanted || value.name.trim_end_matches('s') == wanted);
        found.ok_or_else(|| {
            let all: Vec<&str> = Self::ALL.iter().map(|value| value.name).collect();
            RhythmError(format!("there are no notes called {text:?}; there are: {}", all.join(", ")))
        })
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

/// How long the first of two swung notes is against the second: 1 is straight, 2 is a triplet's two thirds, 3 is
/// dotted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Swing(f64);

impl Swing {
    /// Two notes of the same length.
    pub const STRAIGHT: Self = Self(1.0);
    /// A triplet's two thirds and its last third.
    pub const TWO_TO_ONE: Self = Self(2.0);

    /// A ratio.
    ///
    /// # Errors
    /// If it is not between 1 and 3.
    pub fn new(ratio: f64) -> Result<Self, RhythmError> {
        if (1.0..=3.0).contains(&ratio) {
            return Ok(Self(ratio));
        }
        Err(RhythmError(format!("a swing of {ratio} to 1 is outside 1 (straight) to 3 (dotted)")))
    }

    /// The ratio.
    pub fn ratio(self) -> f64 {
        self.0
    }
}

impl FromStr for Swing {
    type Err = RhythmError;

    fn from_str(text: &str) -> Result<Self, RhythmError> {
        let text = text.trim();
        if text == "straight" {
            return Ok(Self::STRAIGHT);
        }
        let (long, short) = text.split_once(':').unwrap_or((text, "1"));
        match (long.trim().parse::<f64>(), short.trim().parse::<f64>()) {
            (Ok(long), Ok(short)) if short > 0.0 => Self::new(long / short),
            _ => {
                Err(RhythmError(format!("{text:?} is no swing; write straight, or a ratio like 2:1 or 1.5")))
            }
        }
    }
}

/// The rhythm of a run: how fast, in which metre, in which notes, straight or swung.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Rhythm {
    /// How fast.
    pub tempo: Tempo,
    /// The metre.
    pub metre: Metre,
    /// The notes.
    pub value: Value,
    /// How they are swung.
    pub swing: Swing,
    /// Ticks of the grid on which the notes of a phrase begin, which are of several values; `None` where all are of
    /// `value`.
    pub(crate) grid: Option<u32>,
}

impl Rhythm {
    /// A rhythm.
    ///
    /// # Errors
    /// If the notes cannot be swung.
    pub fn new(tempo: Tempo, metre: Metre, value: Value, swing: Swing) -> Result<Self, RhythmError> {
        let rhythm = Self { tempo, metre, value, swing, grid: None };
        if swing != Swing::STRAIGHT && !rhythm.can_swing() {
            return Err(RhythmError(format!(
                "{value} in {metre} are not swung; eighths and sixteenths of a quarter are"
            )));
        }
        Ok(rhythm)
    }

    /// Eighths as a band in a groove has them, at a tempo.
    pub fn of_groove(groove: Groove, tempo: Tempo) -> Self {
        let metre = match groove {
            Groove::SlowTwelve => Metre::TWELVE_EIGHT,
            Groove::Waltz => Metre::THREE_FOUR,
            Groove::Straight | Groove::Shuffle | Groove::Swing | Groove::Train => Metre::COMMON,
        };
        // A beat of three eighths is swung by its metre.
        let swing = if metre.is_compound() { Swing::STRAIGHT } else { Swing(groove.swing()) };
        Self { tempo, metre, value: Value::EIGHTHS, swing, grid: None }
    }

    /// Whether its notes come in pairs that can be swung: eighths and sixteenths of a quarter.
    pub(crate) fn can_swing(&self) -> bool {
        self.value.swings() && !self.metre.is_compound()
    }

    /// The rhythm of notes of several values that begin at these ticks. What is swung is their eighths; triplets are as
    /// they are.
    ///
    /// # Errors
    /// If the notes cannot be swung: the metre divides its beats by three, or a beat holds triplets and eighths at
    /// once.
    pub(super) fn of_notes(
        tempo: Tempo,
        (metre, swing): (Metre, Swing),
        starts: impl Iterator<Item = u32>,
    ) -> Result<Self, RhythmError> {
        let plain = Self::new(tempo, metre, Value::EIGHTHS, swing)?;
        let starts: Vec<u32> = starts.collect();
        let in_three = |start: &&u32| start.is_multiple_of(QUARTER / 6) && !start.is_multiple_of(QUARTER / 2);
        let beats = || starts.iter().filter(in_three).map(|start| start / QUARTER);
        let swung =
            |start: &u32| !start.is_multiple_of(TRIPLET) && beats().any(|beat| beat == start / QUARTER);
        if swing != Swing::STRAIGHT
            && let Some(start) = starts.iter().find(|start| swung(start))
        {
            return Err(RhythmError(format!(
                "in bar {} a beat holds triplets and other notes at once, which cannot be swung; write swing = \"straight\"",
                start / metre.bar() + 1
            )));
        }
        Ok(Self { grid: Some(starts.iter().fold(metre.beat(), |a, b| common(a, *b))), ..plain })
    }

    /// The same at another tempo.
    #[must_use]
    pub fn at(self, tempo: Tempo) -> Self {
        Self { tempo, ..self }
    }

    /// Seconds of a beat.
    pub fn beat_s(&self) -> f64 {
        self.tempo.beat_s()
    }

    /// Seconds of a bar.
    pub fn bar_s(&self) -> f64 {
        self.beat_s() * f64::from(self.metre.beats())
    }

    /// Seconds from the beginning to a tick. Of two swung notes the second begins later than halfway.
    pub fn seconds(&self, ticks: u32) -> f64 {
        let pair = 2 * self.value.ticks();
        let warped = if self.swing == Swing::STRAIGHT || ticks.is_multiple_of(TRIPLET) {
            f64::from(ticks)
        } else {
            let (whole, part) = (ticks / pair * pair, f64::from(ticks % pair) / f64::from(pair));
            let turn = self.swing.0 / (1.0 + self.swing.0);
            let within =
                if part < 0.5 { part * 2.0 * turn } else { turn + (part - 0.5) * 2.0 * (1.0 - turn) };
            f64::from(whole) + within * f64::from(pair)
        };
        warped / f64::from(self.metre.beat()) * self.beat_s()
    }

    /// Ticks of a step: the longest with which every beat and every note begins a step.
    fn step(&self) -> u32 {
        self.grid.unwrap_or_else(|| common(self.metre.beat(), self.value.ticks()))
    }

    /// How many steps a beat has. Every beat and every note begins one: eighths in 4/4 give two, quarter triplets
    /// three.
    pub fn steps_of_beat(&self) -> u32 {
        self.metre.beat() / self.step()
    }

    /// Seconds from the first beat to the beginning of a step, counted from 0.
    pub fn step_s(&self, step: u32) -> f64 {
        self.seconds(step * self.step())
    }

    /// The metre, the tempo and the notes in words: "eighths at 80, 4/4", with the swing if there is any.
    pub fn words(&self) -> String {
        let swing = if self.swing == Swing::STRAIGHT {
            String::new()
        } else {
            format!(", swung {}:1", (self.swing.0 * 100.0).round() / 100.0)
        };
        let notes = if self.grid.is_some() { String::new() } else { format!("{} ", self.value) };
        format!("{notes}at {}, {}{swing}", self.tempo, self.metre)
    }
}

/// The greatest common divisor (Euclid).
fn common(mut a: u32, mut b: u32) -> u32 {
    while b > 0 {
        (a, b) = (b, a % b);
    }
    a
}
