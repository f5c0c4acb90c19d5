//! What is told: the reeds that sound at one moment, and how loudly.

/// The most voices that are told.
pub const MAX_VOICES: usize = 5;

/// A reed of the harp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reed {
    /// Its hole, counted from 1.
    pub hole: u8,
    /// True for the draw reed, false for the blow reed.
    pub draw: bool,
}

/// One voice of what sounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Voice {
    /// The reed that sounds it; `None` where no harp is known.
    pub reed: Option<Reed>,
    /// True if the reed is bent: more than half a semitone below its natural pitch.
    pub bent: bool,
    /// Its fundamental, hertz.
    pub hz: f64,
    /// Its level over the window, decibels relative to a full-scale sine.
    pub level_dbfs: f32,
}

/// What sounds together at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sounding {
    /// The sample in the middle of the stretch that was heard.
    pub time: u64,
    /// Samples taken in until this was known.
    pub known: u64,
    voices: [Option<Voice>; MAX_VOICES],
    unsure: [Option<Reed>; MAX_VOICES],
}

impl Sounding {
    /// What sounds at sample `time` and is known at sample `known`: the voices, of which the strongest
    /// [`MAX_VOICES`] are kept.
    pub fn new(time: u64, known: u64, voices: impl IntoIterator<Item = Voice>) -> Self {
        let mut strongest = [None; MAX_VOICES];
        for voice in voices {
            let weaker =
                |other: &Option<Voice>| other.is_none_or(|other| other.level_dbfs < voice.level_dbfs);
            if let Some(at) = strongest.iter().position(weaker) {
                strongest[at..].rotate_right(1);
                strongest[at] = Some(voice);
            }
        }
        Self { time, known, voices: strongest, unsure: [None; MAX_VOICES] }
    }

    /// The same, with reeds of which it cannot be told whether they sound; at most [`MAX_VOICES`] are kept.
    #[must_use]
    pub fn with_unsure(self, reeds: impl IntoIterator<Item = Reed>) -> Self {
        let mut reeds = reeds.into_iter().fuse();
        Self { unsure: std::array::from_fn(|_| reeds.next()), ..self }
    }

    /// The voices, the strongest first; none in silence.
    pub fn voices(&self) -> impl Iterator<Item = &Voice> {
        self.voices.iter().flatten()
    }

    /// Reeds that are none of the voices, but of which it cannot be told whether they sound: an octave above a voice,
    /// all their harmonics fall onto harmonics of it. Nobody is to be blamed for one of these.
    pub fn unsure(&self) -> impl Iterator<Item = Reed> {
        self.unsure.iter().flatten().copied()
    }
}
