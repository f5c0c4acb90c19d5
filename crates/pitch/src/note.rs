//! The note that sounds, and what it takes to believe in another.

/// Two pitches closer than this are one note, ratio (70 cents).
pub(crate) const SAME: f64 = 1.041;
/// A note whose power falls to `DIP` of its peak (-11 dB) and then rises to `BACK` of its peak (-4 dB) has been struck
/// again.
const DIP: f64 = 0.08;
const BACK: f64 = 0.4;
/// Time constant of the running averages of a note's power, of residuals and of drift, seconds. What half and double of it
/// would do was not measured.
const SETTLES_S: f64 = 0.020;
/// A ratio of two pitches or of two lags counts as whole within this share of itself (34 cents).
const WHOLE: f64 = 0.02;

/// Whether two frequencies are one note.
pub(crate) fn near(a: f64, b: f64) -> bool {
    a < b * SAME && b < a * SAME
}

/// Whether a ratio is as good as a whole number.
pub(crate) fn is_whole(ratio: f64) -> bool {
    (ratio - ratio.round()).abs() < WHOLE * ratio
}

/// How long things take, counted in frames. `new` has them in seconds, as measured on the development seed of the bench.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Durations {
    /// A note that is not heard for so long has ended.
    missed: u32,
    /// A note that was heard for so long is known. If the sound stays as loud, it may be missed in as many frames, not
    /// only in `missed`.
    heard: u32,
    /// A slow attack, and a window of 20 ms behind it. Until then a note is read at a flattened amplitude.
    rising: u32,
    /// After so long the sound in the shortest of the long windows is all new.
    renewed: u32,
    /// Share of a new frame in the running averages.
    pub(crate) news: f64,
}

impl Durations {
    /// For a hop in seconds.
    pub(crate) fn new(hop_s: f64) -> Self {
        let frames = |seconds: f64| (seconds / hop_s).round() as u32;
        Self {
            missed: frames(0.010),
            heard: frames(0.030),
            rising: frames(0.040),
            renewed: frames(0.040),
            news: 1.0 - (-hop_s / SETTLES_S).exp(),
        }
    }
}

/// The pitch of a note.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Pitch {
    /// Cycles per sample.
    pub(crate) frequency: f64,
    /// How long ago the moment lies for which the pitch is told, samples.
    pub(crate) lag: f64,
    /// The standard deviation that the user is told, cycles per sample.
    pub(crate) uncertainty: f64,
}

/// A note while it sounds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Note {
    pub(crate) pitch: Pitch,
    /// Frames in which it was heard.
    pub(crate) age: u32,
    /// By how many frames more it was missed of late than heard. So a note that is missed in most frames ends.
    pub(crate) misses: u32,
    /// Its usual mean square, and the most that it has been.
    pub(crate) power: f64,
    pub(crate) peak: f64,
    /// Its level has fallen well below its peak.
    dipped: bool,
    pub(crate) durations: Durations,
}

impl Note {
    /// A note that begins at a frequency in cycles per sample.
    pub(crate) fn new(frequency: f64, durations: Durations) -> Self {
        let pitch = Pitch { frequency, ..Pitch::default() };
        Self { pitch, age: 0, misses: 0, power: 0.0, peak: 0.0, dipped: false, durations }
    }

    /// The same note at another octave: its uncertainty stays the same ratio.
    pub(crate) fn move_to(&mut self, frequency: f64) {
        self.pitch.uncertainty *= frequency / self.pitch.frequency;
        self.pitch.frequency = frequency;
    }

    /// Takes one more frame into account in which the note is heard, with this mean square.
    pub(crate) fn hear(&mut self, power: f64) {
        self.misses = self.misses.saturating_sub(1);
        self.age += 1;
        self.power += (power - self.power) * self.durations.news.max(1.0 / f64::from(self.age));
        self.peak = self.peak.max(self.power);
    }

    /// Takes one more frame into account in which the note is not heard; whether it has ended.
    pub(crate) fn miss(&mut self, power: f64, hop: f64) -> bool {
        self.misses += 1;
        self.pitch.lag += hop;
        // Where the sound stays as loud, something may cover the note.
        let covered = self.is_known() && power > 0.5 * self.power;
        let patience = if covered { self.durations.heard } else { self.durations.missed };
        // A candidate that vanishes before its second frame never was a note.
        self.age == 0 || self.misses >= patience
    }

    fn is_known(&self) -> bool {
        self.age > self.durations.heard
    }

    /// Whether long windows are looked through for another octave in this frame: once in `renewed` frames, because from
    /// one frame to the next a long window holds nearly the same sound.
    pub(crate) fn is_due_in_long_windows(&self) -> bool {
        self.age.is_multiple_of(self.durations.renewed)
    }

    /// Whether its level still rises from its attack.
    pub(crate) fn is_rising(&self) -> bool {
        self.age < self.durations.rising
    }

    /// Whether the same note has just been struck again: its level fell well below its peak and came back.
    pub(crate) fn struck_again(&mut self, power: f64) -> bool {
        self.dipped |= power < DIP * self.peak;
        let back = self.dipped && power > BACK * self.peak;
        self.dipped &= !back;
        back
    }
}
