//! The note that sounds, and what it takes to believe in another.

use crate::consensus::Estimate;

/// Two pitches closer than this are one note, ratio (70 cents).
const SAME: f64 = 1.041;
/// A note whose power falls to this share of its peak (-11 dB) and comes back to that one (-4 dB) has been struck again.
const DIP: f64 = 0.08;
const BACK: f64 = 0.4;
/// A sound that rises to so many times the power of the note (6 dB) is more than the note.
const RISE: f64 = 4.0;
/// A sound of so many times the power of the note (1.5 dB) has something on top of the note.
const LOUDER: f64 = 1.4;
/// A note below this share of its peak (-7 dB) is fading, and anything new is louder.
const FADING: f64 = 0.2;
/// Share of a new frame in the usual power of a note.
const POWER_NEWS: f64 = 0.1;
/// By how much the uncertainty of a note that is not heard grows from frame to frame, ratio.
const FORGETS: f64 = 1.1;
/// Tolerance of a whole ratio of two pitches, as a share of the ratio (34 cents), and of two lags of one frame (52 cents).
const WHOLE: f64 = 0.02;
pub(crate) const MULTIPLE: f64 = 0.03;

/// Whether two frequencies are one note.
pub(crate) fn near(a: f64, b: f64) -> bool {
    a < b * SAME && b < a * SAME
}

/// Whether a ratio is a whole number within a share of itself.
pub(crate) fn is_whole(ratio: f64, tolerance: f64) -> bool {
    (ratio - ratio.round()).abs() < tolerance * ratio
}

/// How long things take, in frames. The figures are seconds, measured on the development seed of the bench.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Durations {
    /// A note that is not heard for so long has ended.
    missed: u32,
    /// The same while the sound is as loud as the note was: something covers the note.
    covered: u32,
    /// A note that has sounded for so long may be covered, or come under something louder.
    heard: u32,
    /// A slow attack, and the window on it: for so long a note is read at a flattened amplitude.
    rising: u32,
    /// Nothing is learnt from a single frame about a note that has sounded for so long.
    settled: u32,
    /// After something much louder has begun, all is judged as out of silence for so long.
    contested: u32,
    /// What a rival must win longer than out of silence: any rival, one in a whole ratio to the note, one that is louder.
    rival: u32,
    kin: u32,
    loud: u32,
}

impl Durations {
    /// For a hop in seconds.
    pub(crate) fn new(hop_s: f64) -> Self {
        let frames = |seconds: f64| (seconds / hop_s).round() as u32;
        Self {
            missed: frames(0.010),
            covered: frames(0.030),
            heard: frames(0.030),
            rising: frames(0.050),
            settled: frames(0.100),
            contested: frames(0.040),
            rival: frames(0.0025),
            kin: frames(0.015),
            loud: frames(0.0125),
        }
    }
}

/// A note while it sounds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Note {
    pub(crate) pitch: Estimate,
    /// Frames in which it was heard.
    pub(crate) age: u32,
    /// Frames in a row in which it was not.
    pub(crate) misses: u32,
    /// Its age when it last moved to another octave: the sound before that may belong to another note.
    pub(crate) moved_at: u32,
    /// Its usual mean square, and the most that it has been.
    pub(crate) power: f64,
    pub(crate) peak: f64,
    /// Its level has fallen well below its peak.
    dipped: bool,
    /// Frames for which the note must hold its own against all others, since something much louder began.
    contested: u32,
    durations: Durations,
}

impl Note {
    /// A note that begins at a frequency in cycles per sample.
    pub(crate) fn new(frequency: f64, durations: Durations) -> Self {
        let pitch = Estimate { frequency, ..Estimate::default() };
        Self {
            pitch,
            age: 0,
            misses: 0,
            moved_at: 0,
            power: 0.0,
            peak: 0.0,
            dipped: false,
            contested: 0,
            durations,
        }
    }

    /// The same note at another octave: its uncertainty stays the same ratio.
    pub(crate) fn move_to(&mut self, frequency: f64) {
        self.pitch.sigma *= frequency / self.pitch.frequency;
        self.pitch.uncertainty *= frequency / self.pitch.frequency;
        self.pitch.frequency = frequency;
        self.moved_at = self.age;
    }

    /// Takes one more frame into account in which the note is heard, with this mean square.
    pub(crate) fn hear(&mut self, power: f64) {
        self.misses = 0;
        self.age += 1;
        self.power += (power - self.power) * POWER_NEWS.max(1.0 / f64::from(self.age));
        self.peak = self.peak.max(self.power);
    }

    /// Takes one more frame into account in which the note is not heard; whether it has ended.
    pub(crate) fn miss(&mut self, power: f64, hop: f64) -> bool {
        self.misses += 1;
        self.pitch.lag += hop;
        self.pitch.sigma *= FORGETS;
        self.pitch.uncertainty *= FORGETS;
        let covered = power > 0.5 * self.power && self.age > self.durations.heard;
        let patience = if covered { self.durations.covered } else { self.durations.missed };
        // A candidate that vanishes before its second frame never was a note.
        self.age == 0 || self.misses >= patience
    }

    /// How many frames more than in silence a rival must win to follow this note. A louder sound may just be a click
    /// on top of it; a pitch with a whole ratio to it may be the same note misheard.
    pub(crate) fn tenacity(&self, rival: f64, power: f64) -> u32 {
        let Durations { rival: any, kin, loud, .. } = self.durations;
        if self.is_contested() {
            return any;
        }
        let ratio = (rival / self.pitch.frequency).max(self.pitch.frequency / rival);
        let kin = if is_whole(ratio, WHOLE) { kin } else { 0 };
        any + kin + if self.louder(power) { loud } else { 0 }
    }

    /// Whether nothing is learnt about it from a single frame.
    pub(crate) fn is_settled(&self) -> bool {
        self.age > self.durations.settled
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

    /// Takes the power of a frame into account before anything is decided in it.
    pub(crate) fn update_contest(&mut self, power: f64) {
        let rises = power > RISE * self.power && self.age > self.durations.heard;
        self.contested = if rises { self.durations.contested } else { self.contested.saturating_sub(1) };
    }

    /// Whether something much louder than the note has begun a moment ago, so that all is judged as out of silence.
    pub(crate) fn is_contested(&self) -> bool {
        self.contested > 0
    }

    /// Whether something has come on top of the held note.
    pub(crate) fn louder(&self, power: f64) -> bool {
        power > LOUDER * self.power && self.power >= FADING * self.peak && self.age > self.durations.heard
    }
}
