//! The note that sounds, and what it takes to believe in another.

use crate::consensus::Estimate;

/// Two pitches closer than this are one note, ratio (70 cents).
const SAME: f64 = 1.041;
/// A note whose power falls to this share of its peak (-11 dB) and comes back to that one has been struck again.
const DIP: f64 = 0.08;
const BACK: f64 = 0.4;
/// A sound that rises to so many times the power of the note (6 dB) is more than the note, and looks it takes to tell.
const RISE: f64 = 4.0;
const CONTEST: u32 = 16;
/// Looks in a row that must find no odd harmonics to take a note up that has begun.
const HOLLOW: u32 = 4;
const SURELY_HOLLOW: u32 = 6;
/// Share of a new look in the usual clarity of a note, and what is too little (a note in noise as strong has 0.5).
const CLARITY_NEWS: f64 = 0.05;
const UNCLEAR: f64 = 0.5;

/// Whether two frequencies are one note.
pub(crate) fn near(a: f64, b: f64) -> bool {
    a < b * SAME && b < a * SAME
}

/// Whether a ratio is a whole number within a share of itself.
pub(crate) fn is_whole(ratio: f64, tolerance: f64) -> bool {
    (ratio - ratio.round()).abs() < tolerance * ratio
}

/// Looks after which a note is settled (a tenth of a second).
const SETTLED: u32 = 40;

/// What the octave of a note rests on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Grounds {
    /// The first looks.
    #[default]
    Correlation,
    /// Odd harmonics have been found look after look, so one look without them says nothing.
    Halves,
    /// The same between every third harmonic.
    Thirds,
    /// The spectrum has set it right, so no shorter window may have another say.
    Spectrum,
}

/// A note while it sounds.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Note {
    pub(crate) pitch: Estimate,
    pub(crate) age: u32,
    pub(crate) misses: u32,
    /// How clear it usually is, from 1 at its beginning.
    pub(crate) usually: f64,
    /// Its usual mean square, and the most that it has been.
    pub(crate) power: f64,
    pub(crate) peak: f64,
    /// Its level has fallen well below its peak.
    dipped: bool,
    /// Looks for which the note must hold its own against all others, since something much louder began.
    contested: u32,
    /// Looks in a row at which only the harmonics of a higher octave sounded.
    hollow: u32,
    /// Its age when it was taken up an octave: what sounded before belongs to another note.
    pub(crate) lifted_at: u32,
    pub(crate) grounds: Grounds,
    /// The frequency that the spectrum prefers, and for how many looks it has.
    pub(crate) preferred: (f64, u32),
}

impl Note {
    /// A note that begins.
    pub(crate) fn new(frequency: f64) -> Self {
        Self { pitch: Estimate { frequency, ..Estimate::default() }, usually: 1.0, ..Self::default() }
    }

    /// The same note at another pitch: as exact, for the ratio, and what the spectrum preferred says nothing of this one.
    pub(crate) fn move_to(&mut self, frequency: f64) {
        self.pitch.sigma *= frequency / self.pitch.frequency;
        self.pitch.doubt *= frequency / self.pitch.frequency;
        self.pitch.frequency = frequency;
        (self.preferred, self.hollow) = ((frequency, 0), 0);
    }

    /// Takes the clarity of one more look into account, 0 where the note was not heard; says whether it has become so
    /// unclear that it was none. Whispering dwells on a resonance and seems to repeat now and again.
    pub(crate) fn fades(&mut self, clarity: f64) -> bool {
        self.usually += (clarity - self.usually) * CLARITY_NEWS;
        self.usually < UNCLEAR
    }

    /// Whether a pitch is the third harmonic of a note of which that one is the strongest: the spectrum would prefer it.
    pub(crate) fn is_its_third(&self, other: f64) -> bool {
        self.grounds == Grounds::Thirds && self.hollow == 0 && near(other, 3.0 * self.pitch.frequency)
    }

    /// Whether the note is taken up an octave, after one more look which says that only those harmonics sound (or not).
    /// One is enough at its beginning, when nothing speaks for the lower octave but the correlation; later the noise
    /// may hide the odd harmonics at a look, or a beat. It takes longest where more than a look has set the octave.
    pub(crate) fn is_lifted(&mut self, hollow: bool) -> bool {
        self.hollow = if hollow { self.hollow + 1 } else { 0 };
        let enough = match self.grounds {
            _ if self.age == 0 => 1,
            Grounds::Correlation => HOLLOW,
            _ => SURELY_HOLLOW,
        };
        let lifted = self.hollow >= enough;
        if lifted {
            (self.grounds, self.lifted_at) = (Grounds::Correlation, self.age);
        }
        lifted
    }

    /// How many looks more than in silence a rival must win to follow this note. A louder sound may just be a click
    /// on top of it; a pitch with a simple ratio to it may be the same note misheard.
    pub(crate) fn tenacity(&self, rival: f64, power: f64) -> u32 {
        if self.contested > 0 {
            return 1;
        }
        let ratio = (rival / self.pitch.frequency).max(self.pitch.frequency / rival);
        let kin = is_whole(ratio, 0.02);
        1 + if kin { 6 } else { 0 } + if self.louder(power) { 5 } else { 0 }
    }

    /// Whether a rival is a pitch that a settled note is an overtone of. Then the octave test decides, which looks for
    /// what the rival would add; the correlation finds it in every click that covers the note.
    pub(crate) fn is_overtone_of(&self, rival: f64) -> bool {
        let ratio = self.pitch.frequency / rival;
        let whole = ratio > 1.5 && is_whole(ratio, 0.02);
        whole && self.contested == 0 && self.is_settled()
    }

    /// Whether it has sounded for so long that nothing is learnt from one moment.
    pub(crate) fn is_settled(&self) -> bool {
        self.age > SETTLED
    }

    /// Whether the same note has just been struck again: its level fell well below its peak and came back.
    pub(crate) fn struck_again(&mut self, power: f64) -> bool {
        self.dipped |= power < DIP * self.peak;
        let back = self.dipped && power > BACK * self.peak;
        self.dipped &= !back;
        back
    }

    /// Whether something much louder than the note has begun a moment ago, so that all is judged as out of silence.
    pub(crate) fn contested(&mut self, power: f64) -> bool {
        let rises = power > RISE * self.power && self.age > 12;
        self.contested = if rises { CONTEST } else { self.contested.saturating_sub(1) };
        self.contested > 0
    }

    /// Whether something has come on top of the held note.
    pub(crate) fn louder(&self, power: f64) -> bool {
        let fading = self.power < 0.2 * self.peak;
        power > 1.4 * self.power && !fading && self.age > 12
    }
}
