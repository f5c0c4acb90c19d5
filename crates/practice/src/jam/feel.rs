//! How a band plays a form: its rhythm, and the tempo in which that is usual.

use crate::run::{Metre, Rhythm, Swing, Tempo, Value};
use layout::{UnknownName, plain_name};
use serde::Serialize;
use std::fmt;
use std::str::FromStr;

/// A feel: in which metre the band plays, and how it divides the beat. The band of `synth` has the same.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Feel {
    /// Even eighths, four beats.
    Straight,
    /// Four beats, each divided two to one: the usual blues.
    #[default]
    Shuffle,
    /// Four beats with a walking bass, divided two to one.
    Swing,
    /// Four slow beats of three eighths each.
    SlowTwelve,
    /// Four fast beats, sixteenths on the snare as a train runs.
    Train,
    /// Three beats.
    Waltz,
}

impl Feel {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Straight, Self::Shuffle, Self::Swing, Self::SlowTwelve, Self::Train, Self::Waltz];

    /// The name by which it is asked for.
    pub fn name(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Shuffle => "shuffle",
            Self::Swing => "swing",
            Self::SlowTwelve => "slow 12/8",
            Self::Train => "train",
            Self::Waltz => "waltz",
        }
    }

    /// The metre.
    pub fn metre(self) -> Metre {
        match self {
            Self::Straight | Self::Shuffle | Self::Swing | Self::Train => Metre::COMMON,
            Self::SlowTwelve => Metre::TWELVE_EIGHT,
            Self::Waltz => Metre::THREE_FOUR,
        }
    }

    /// The tempo where none is given. Common practice, no source.
    pub fn usual_tempo(self) -> Tempo {
        Tempo::written(match self {
            Self::SlowTwelve => 60.0,
            Self::Straight | Self::Shuffle => 100.0,
            Self::Swing => 120.0,
            Self::Train => 110.0,
            Self::Waltz => 108.0,
        })
    }

    /// The rhythm at a tempo.
    pub fn rhythm(self, tempo: Tempo) -> Rhythm {
        let swing = match self {
            Self::Shuffle | Self::Swing => Swing::TWO_TO_ONE,
            Self::Straight | Self::SlowTwelve | Self::Train | Self::Waltz => Swing::STRAIGHT,
        };
        Rhythm { tempo, metre: self.metre(), value: Value::EIGHTHS, swing, grid: None }
    }
}

impl fmt::Display for Feel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Feel {
    type Err = UnknownName;

    fn from_str(text: &str) -> Result<Self, UnknownName> {
        let wanted = plain_name(text);
        let found = Self::ALL.into_iter().find(|feel| plain_name(feel.name()) == wanted);
        found.ok_or_else(|| UnknownName::new("feel", text.trim(), Self::ALL.map(Self::name), []))
    }
}
