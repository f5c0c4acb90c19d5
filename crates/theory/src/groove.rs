//! The groove of a band: how it divides the beat.

use layout::{UnknownName, plain_name};
use serde::Serialize;
use std::fmt;
use std::str::FromStr;

/// How the beats of a band are divided and who plays on which; players call it the feel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Groove {
    /// Even eighths, four beats; the bass on the first and third.
    Straight,
    /// Four beats, each divided two to one, a bass that walks up the chord: the usual blues.
    #[default]
    Shuffle,
    /// Four beats divided two to one, a walking bass, sparse chords.
    Swing,
    /// Four slow beats of three eighths each; a chord on each eighth up to 100 beats a minute, on each beat above that.
    SlowTwelve,
    /// Four fast beats. Up to 140 beats a minute the brushes play even sixteenths, as a train runs, and bass and chords
    /// take turns on the halves of a beat. Above that the brushes play eighths, and bass and chords take turns on the
    /// beats.
    Train,
    /// Three beats: the bass on the first, the chords on the others.
    Waltz,
}

impl Groove {
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

    /// Beats of a bar, where nothing else is said: 12/8 has four, of three eighths each.
    pub fn beats(self) -> u32 {
        if self == Self::Waltz { 3 } else { 4 }
    }

    /// How long the first of two eighths is against the second: 1 where they are even, 2 where they are swung. In slow
    /// 12/8 a beat has three eighths, and the third of them falls where a swung eighth would.
    pub fn swing(self) -> f64 {
        match self {
            Self::Shuffle | Self::Swing | Self::SlowTwelve => 2.0,
            Self::Straight | Self::Train | Self::Waltz => 1.0,
        }
    }
}

impl fmt::Display for Groove {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Groove {
    type Err = UnknownName;

    fn from_str(text: &str) -> Result<Self, UnknownName> {
        let wanted = plain_name(text);
        let found = Self::ALL.into_iter().find(|groove| plain_name(groove.name()) == wanted);
        found.ok_or_else(|| UnknownName::new("feel", text.trim(), Self::ALL.map(Self::name), []))
    }
}
