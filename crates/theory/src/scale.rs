//! Scales: sets of degrees above a tonic.

use crate::{Degree, DegreeError, NoteName};
use layout::PitchClass;
use serde::Serialize;
use std::fmt;

/// One step of a scale: its degree, and a second name for the same note if texts differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct ScaleDegree {
    /// The degree by which the note is named and spelled.
    pub degree: Degree,
    /// Another degree for the same note, such as the ♯4 that others call ♭5.
    pub also: Option<Degree>,
}

/// A scale without a tonic: a name and degrees from the tonic upwards.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Scale {
    name: String,
    also: Vec<String>,
    rising: Vec<ScaleDegree>,
    falling: Option<Vec<ScaleDegree>>,
}

/// A list of degrees that is no scale: the mistake and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleError {
    /// Byte offset of the mistaken word in the list.
    pub offset: usize,
    /// What is wrong there.
    pub mistake: ScaleMistake,
}

/// What is wrong with a list of degrees.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ScaleMistake {
    /// A word that names no degree.
    Degree(DegreeError),
    /// A degree above 7, which is another one an octave higher.
    Above7(Degree),
    /// The first degree is not 1.
    NoTonic,
    /// A degree that is not higher than the one before it.
    NotRising(Degree),
    /// Two names joined by a slash that are different notes.
    NotTheSame(Degree, Degree),
}

impl ScaleDegree {
    /// Semitones above the tonic, 0 to 11.
    pub fn semitones(self) -> u8 {
        self.degree.in_octave()
    }
}

impl Scale {
    /// A scale from its degrees, such as `1 b3 4 b5/#4 5 b7`.
    ///
    /// # Errors
    /// If a word is no degree, the list does not begin with 1 or does not rise within one octave.
    pub fn new(name: &str, degrees: &str) -> Result<Self, ScaleError> {
        let rising = parse_degrees(degrees)?;
        Ok(Self { name: name.to_owned(), also: Vec::new(), rising, falling: None })
    }

    /// The same scale with other names it goes by.
    #[must_use]
    pub fn with_other_names(self, also: Vec<String>) -> Self {
        Self { also, ..self }
    }

    /// The same scale with other degrees on the way down, as the melodic minor has them; they too are written upwards.
    ///
    /// # Errors
    /// As [`Scale::new`].
    pub fn with_falling(self, degrees: &str) -> Result<Self, ScaleError> {
        Ok(Self { falling: Some(parse_degrees(degrees)?), ..self })
    }

    /// The name it goes by.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Other names for it.
    pub fn other_names(&self) -> &[String] {
        &self.also
    }

    /// Its degrees from the tonic upwards, without the octave.
    pub fn degrees(&self) -> &[ScaleDegree] {
        &self.rising
    }

    /// The degrees used on the way down, written upwards; the same as [`Scale::degrees`] for nearly every scale.
    pub fn falling_degrees(&self) -> &[ScaleDegree] {
        self.falling.as_deref().unwrap_or(&self.rising)
    }

    /// Its pitch classes above a tonic, from the tonic upwards.
    pub fn pitch_classes(&self, tonic: PitchClass) -> impl Iterator<Item = PitchClass> + '_ {
        self.rising.iter().map(move |step| above(tonic, step.semitones()))
    }

    /// The degree of a pitch class above a tonic, or `None` if the scale has no such note.
    pub fn degree_of(&self, tonic: PitchClass, class: PitchClass) -> Option<ScaleDegree> {
        self.rising.iter().copied().find(|step| above(tonic, step.semitones()) == class)
    }

    /// The notes on a tonic, spelled letter by letter as the degrees demand.
    pub fn spelled(&self, tonic: NoteName) -> impl Iterator<Item = NoteName> + '_ {
        self.rising.iter().map(move |step| tonic.at(step.degree))
    }
}

fn above(tonic: PitchClass, semitones: u8) -> PitchClass {
    tonic.up(i32::from(semitones))
}

fn parse_degrees(text: &str) -> Result<Vec<ScaleDegree>, ScaleError> {
    let mut steps: Vec<ScaleDegree> = Vec::new();
    for (offset, word) in words(text) {
        let fail = |mistake| ScaleError { offset, mistake };
        let step = parse_step(word).map_err(fail)?;
        match steps.last() {
            None if step.degree != Degree::TONIC => return Err(fail(ScaleMistake::NoTonic)),
            Some(last) if step.degree.semitones() <= last.degree.semitones() => {
                return Err(fail(ScaleMistake::NotRising(step.degree)));
            }
            _ => steps.push(step),
        }
    }
    if steps.is_empty() { Err(ScaleError { offset: 0, mistake: ScaleMistake::NoTonic }) } else { Ok(steps) }
}

/// The words of a text, each with its byte offset.
pub(crate) fn words(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.split_whitespace().map(|word| (word.as_ptr() as usize - text.as_ptr() as usize, word))
}

fn parse_step(word: &str) -> Result<ScaleDegree, ScaleMistake> {
    let read = |text: &str| {
        let degree: Degree = text.parse().map_err(ScaleMistake::Degree)?;
        if degree.number() > 7 { Err(ScaleMistake::Above7(degree)) } else { Ok(degree) }
    };
    let Some((main, other)) = word.split_once('/') else {
        return Ok(ScaleDegree { degree: read(word)?, also: None });
    };
    let (degree, also) = (read(main)?, read(other)?);
    if degree.semitones() != also.semitones() {
        return Err(ScaleMistake::NotTheSame(degree, also));
    }
    Ok(ScaleDegree { degree, also: Some(also) })
}

impl fmt::Display for ScaleMistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Degree(error) => error.fmt(f),
            Self::Above7(degree) => write!(f, "{degree} lies an octave up; a scale uses the degrees 1 to 7"),
            Self::NoTonic => write!(f, "the degrees must begin with 1, the tonic"),
            Self::NotRising(degree) => write!(f, "{degree} does not lie above the degree before it"),
            Self::NotTheSame(a, b) => {
                write!(f, "{a} and {b} are different notes; a slash joins two names of one")
            }
        }
    }
}

impl fmt::Display for ScaleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.mistake.fmt(f)
    }
}

impl std::error::Error for ScaleError {}
