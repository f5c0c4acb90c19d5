//! Which reed stands where.

use crate::Breath;
use std::fmt;

/// The reeds of a harp, in semitones above the blow reed of hole 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tuning {
    name: String,
    blow: Vec<i8>,
    draw: Vec<i8>,
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
        Ok(Self { name: name.to_owned(), blow: blow.to_vec(), draw: draw.to_vec() })
    }

    /// The Richter layout (OEIS A291810).
    pub fn richter() -> Self {
        Self {
            name: "Richter".to_owned(),
            blow: vec![0, 4, 7, 12, 16, 19, 24, 28, 31, 36],
            draw: vec![2, 7, 11, 14, 17, 21, 23, 26, 29, 33],
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
}

impl fmt::Display for TuningError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Uneven(blow, draw) => {
                write!(f, "{blow} blow reeds but {draw} draw reeds; every hole needs one of each")
            }
            Self::Holes(holes) => write!(f, "{holes} holes; a harp here has 4 to 16"),
            Self::Far(hole, breath, reed) => write!(
                f,
                "{hole} {} lies {reed} semitones from hole 1 blow; stay within {} and {}",
                breath.word(),
                REACH.start(),
                REACH.end()
            ),
        }
    }
}

impl std::error::Error for TuningError {}
