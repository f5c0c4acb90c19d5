//! Which reed stands where.

use crate::Breath;
use serde::Serialize;
use std::fmt;

/// The reeds of a harp, in semitones above the blow reed of hole 1.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct Tuning {
    name: String,
    blow: Vec<i8>,
    draw: Vec<i8>,
    home: u8,
    labelled: Vec<u8>,
}

/// How far a reed may lie from hole 1 blow, semitones. Every harp key keeps its reeds and their overbends within
/// MIDI's numbers (41 − 24 to 67 + 59 + 1).
const REACH: std::ops::RangeInclusive<i8> = -24..=59;

/// A set of reeds that is no harp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TuningError {
    /// Blow and draw lists differ in length (blow, draw).
    Uneven(usize, usize),
    /// Fewer than 4 or more than 16 holes.
    Holes(usize),
    /// A reed too far from hole 1 blow: its hole and breath, and its distance in semitones.
    Far(u8, Breath, i8),
}

impl Tuning {
    /// A tuning from its reeds, one entry per hole.
    ///
    /// # Errors
    /// If the lists differ in length, have fewer than 4 or more than 16 entries, or a reed is out of range.
    pub fn new(name: &str, blow: &[i8], draw: &[i8]) -> Result<Self, TuningError> {
        if blow.len() != draw.len() {
            return Err(TuningError::Uneven(blow.len(), draw.len()));
        }
        if !(4..=16).contains(&blow.len()) {
            return Err(TuningError::Holes(blow.len()));
        }
        for (breath, reeds) in [(Breath::Blow, blow), (Breath::Draw, draw)] {
            if let Some((hole, reed)) = (1..).zip(reeds).find(|(_, reed)| !REACH.contains(*reed)) {
                return Err(TuningError::Far(hole, breath, *reed));
            }
        }
        Ok(Self {
            name: name.to_owned(),
            blow: blow.to_vec(),
            draw: draw.to_vec(),
            home: 0,
            labelled: vec![1],
        })
    }

    /// The same reeds, with the tonic of the first position this many semitones above hole 1 blow (within an octave).
    #[must_use]
    pub fn with_home(self, semitones: i32) -> Self {
        Self { home: semitones.rem_euclid(12) as u8, ..self }
    }

    /// The same reeds, named by makers after the tonics of these positions, the usual one first.
    #[must_use]
    pub fn with_labels(self, positions: Vec<u8>) -> Self {
        Self { labelled: positions, ..self }
    }

    /// The same ladder of notes begun on another step of it, counted from 1 at the tonic of the first position.
    ///
    /// It works for tunings that climb without a break (blow, draw, blow, draw …) through one scale that repeats at
    /// the octave, such as the circular and the diminished ones. `None` for the others, and where there is no such
    /// step.
    pub fn begun_on(&self, step: u8) -> Option<Self> {
        let ladder: Vec<i32> =
            self.blow.iter().zip(&self.draw).flat_map(|(b, d)| [i32::from(*b), i32::from(*d)]).collect();
        let steps = steps_per_octave(&ladder)?;
        let home = ladder.iter().take(steps).position(|note| note.rem_euclid(12) == i32::from(self.home))?;
        let from = (home + usize::from(step).checked_sub(1).filter(|from| *from < steps)?) % steps;
        let octaves = (0_i32..).flat_map(|octave| ladder[..steps].iter().map(move |note| note + 12 * octave));
        let notes: Vec<i8> =
            octaves.skip(from).take(ladder.len()).map(|note| (note - ladder[from]) as i8).collect();
        let side = |breath: usize| notes.iter().copied().skip(breath).step_by(2).collect::<Vec<i8>>();
        let tuning = Self::new(&format!("{} from {step}", self.name), &side(0), &side(1)).ok()?;
        Some(tuning.with_home(i32::from(self.home) - ladder[from]).with_labels(self.labelled.clone()))
    }

    /// The Richter layout (OEIS A291810).
    pub fn richter() -> Self {
        Self {
            name: "Richter".to_owned(),
            blow: vec![0, 4, 7, 12, 16, 19, 24, 28, 31, 36],
            draw: vec![2, 7, 11, 14, 17, 21, 23, 26, 29, 33],
            home: 0,
            labelled: vec![1],
        }
    }

    /// The name it goes by.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Number of holes, 4 to 16.
    pub fn holes(&self) -> u8 {
        self.blow.len() as u8
    }

    /// Blow reeds from hole 1 upwards, semitones above hole 1 blow.
    pub fn blow(&self) -> &[i8] {
        &self.blow
    }

    /// Draw reeds from hole 1 upwards, semitones above hole 1 blow.
    pub fn draw(&self) -> &[i8] {
        &self.draw
    }

    /// The tonic of the first position, semitones above hole 1 blow, 0 to 11. It is 0 except where a tuning says
    /// otherwise.
    pub fn home(&self) -> u8 {
        self.home
    }

    /// The positions after whose tonic makers name the harp, the usual one first; `[1]` for most tunings.
    pub fn labelled(&self) -> &[u8] {
        &self.labelled
    }
}

/// After how many notes a ladder repeats an octave higher; `None` if it does not rise or never repeats.
fn steps_per_octave(ladder: &[i32]) -> Option<usize> {
    let rises = ladder.is_sorted_by(|a, b| a < b);
    let repeats = |steps: &usize| ladder.iter().skip(*steps).zip(ladder).all(|(high, low)| high - low == 12);
    (1..ladder.len()).find(repeats).filter(|_| rises)
}

impl fmt::Display for TuningError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Uneven(blow, draw) => {
                write!(f, "{blow} blow reeds but {draw} draw reeds; every hole needs one of each")
            }
            Self::Holes(holes) => write!(f, "number of holes: {holes}; a harp here has 4 to 16"),
            Self::Far(hole, breath, reed) => {
                let (far, breath) = (reed.unsigned_abs(), breath.word());
                let side = if *reed < 0 { "below" } else { "above" };
                let (below, above) = (REACH.start().unsigned_abs(), REACH.end());
                write!(f, "{hole} {breath} lies {far} semitones {side} hole 1 blow; ")?;
                write!(f, "a reed lies at most {below} below or {above} above it")
            }
        }
    }
}

impl std::error::Error for TuningError {}
