//! What the band sounds: a note or a stroke, and when.

/// A sound that begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Event {
    /// Beats since its bar began.
    pub(super) beat: f64,
    /// What sounds.
    pub(super) sound: Sound,
    /// How strongly, against the usual stroke of 1.
    pub(super) strength: f64,
}

/// What sounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Sound {
    /// A note of the bass: MIDI key number, and for how many beats.
    Bass(i32, f64),
    /// A note of the chords, likewise.
    Chord(i32, f64),
    /// A stroke on the kit.
    Kit(Stroke),
}

/// A stroke on the kit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stroke {
    /// The big drum, by foot.
    Kick,
    /// A brush that taps the snare drum.
    Tap,
    /// A brush drawn across the snare drum.
    Sweep,
    /// The cymbal, lightly.
    Cymbal,
}

/// One of the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BandPart {
    /// The bass.
    Bass,
    /// Who plays the chords.
    Chords,
    /// The kit.
    Kit,
}

impl Sound {
    /// Who plays it.
    pub(super) fn part(self) -> BandPart {
        match self {
            Self::Bass(..) => BandPart::Bass,
            Self::Chord(..) => BandPart::Chords,
            Self::Kit(_) => BandPart::Kit,
        }
    }
}
