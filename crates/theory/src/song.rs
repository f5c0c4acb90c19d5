//! A song as a player hears of it: its key, its scale, its chords, its feel, how far its notes reach.

use crate::{ChordKind, Degree, Feel, Function, NoteName, Progression, ScaleInKey, Scales};
use layout::Note;
use serde::{Serialize, Serializer};

/// The chords of a blues of which none are given; those of `assets/progressions.toml` (common practice, no source).
const BLUES: (&str, &str) = ("twelve-bar", "I7 | I7 | I7 | I7 | IV7 | IV7 | I7 | I7 | V7 | IV7 | I7 | V7");
/// The chords of a minor blues of which none are given.
const MINOR_BLUES: (&str, &str) =
    ("minor twelve-bar", "i7 | i7 | i7 | i7 | iv7 | iv7 | i7 | i7 | bVI7 | V7 | i7 | V7");

/// The scale of a song of which nothing is said but its key: most songs for which a harp is sought are blues (common
/// practice, no source).
const USUAL_SCALE: &str = "blues";

/// What is to be played.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Song {
    /// Its scale on its tonic.
    pub scale: ScaleInKey,
    /// Its feel, if that is said; [`Song::feel`] tells it in any case.
    pub feel: Option<Feel>,
    /// Its chords, if they are said; [`Song::chords`] tells them in any case.
    pub changes: Option<Progression>,
    /// How far its lowest and highest note lie apart, semitones; counted as an octave at least.
    pub span: u8,
    /// Its lowest and its highest note, where the pitch is fixed, as by a singer; the span does not count then.
    pub range: Option<(Note, Note)>,
}

/// A chord of a song.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SongChord {
    /// What it does in the key.
    #[serde(serialize_with = "as_printed")]
    pub function: Function,
    /// The part of the song's bars that it fills; all parts together make 1.
    pub share: f64,
}

impl SongChord {
    /// Whether it is the chord of home.
    pub fn is_tonic(&self) -> bool {
        self.function.degree == Degree::TONIC
    }
}

impl Song {
    /// A song over an octave and a fifth, as most are.
    pub fn new(scale: ScaleInKey) -> Self {
        Self { scale, feel: None, changes: None, span: 19, range: None }
    }

    /// A song of which no scale is said: of the usual scales of its feel, the first that lacks the fewest notes of its
    /// chords. With neither feel nor chords, or with the chords of a blues, it is taken for a blues.
    ///
    /// `None` if `scales` lacks the scale.
    pub fn assumed(
        tonic: NoteName,
        feel: Option<Feel>,
        changes: Option<&Progression>,
        scales: &Scales,
    ) -> Option<Self> {
        let on = |name: &&str| {
            let scale = ScaleInKey::new(scales.find(name).ok()?.clone(), tonic);
            Some(Self { feel, changes: changes.cloned(), ..Self::new(scale) })
        };
        let blues = on(&USUAL_SCALE);
        if changes.is_none() && feel.is_none() || changes.is_some_and(is_blues) {
            return blues;
        }
        let feel = feel.or_else(|| changes.and_then(tonic_of).map(feel_on)).unwrap_or(Feel::Major);
        usual_scales(feel).iter().filter_map(on).min_by_key(Self::chord_notes_outside)
    }

    /// Whether it is a blues: its scale or its chords are called so, I and IV are both dominant sevenths, or a scale
    /// with a minor third only is played over a dominant chord.
    pub fn is_blues(&self) -> bool {
        let scale = self.scale.scale();
        let mut names = std::iter::once(scale.name()).chain(scale.other_names().iter().map(String::as_str));
        let minor_over_dominant = || self.said_feel() == Some(Feel::Dominant) && self.has(3) && !self.has(4);
        names.any(says_blues) || self.changes.as_ref().is_some_and(is_blues) || minor_over_dominant()
    }

    /// Its feel: as said, or as its chord on the tonic has it, or its scale. A blues is dominant if nothing else is
    /// said; a scale with a minor third and no major one is minor.
    pub fn feel(&self) -> Feel {
        let has = |semitones| self.has(semitones);
        let by_scale = || match () {
            () if self.is_blues() => Feel::Dominant,
            () if has(3) && !has(4) => Feel::Minor,
            () if has(4) && has(10) => Feel::Dominant,
            () => Feel::Major,
        };
        self.said_feel().unwrap_or_else(by_scale)
    }

    /// Its feel as far as it was said, or as its changes have it. Where the chord on the tonic is a major chord
    /// without a seventh, the scale tells the seventh: if it has only the minor seventh, as under I, ♭VII and IV, the
    /// feel is dominant.
    fn said_feel(&self) -> Option<Feel> {
        let changes = self.changes.as_ref().and_then(tonic_of);
        let flat_seventh = self.has(10) && !self.has(11);
        let by_changes = |chord: Function| match feel_on(chord) {
            Feel::Major if chord.kind.degrees().count() == 3 && flat_seventh => Feel::Dominant,
            feel => feel,
        };
        self.feel.or_else(|| changes.map(by_changes))
    }

    /// The chords that it is played over: its changes; for a blues the twelve-bar; or else the chord on the tonic that
    /// the scale has.
    pub fn chords(&self) -> Vec<SongChord> {
        match self.form() {
            Some(form) => shares(&form),
            None => {
                self.tonic_chord().map(|function| SongChord { function, share: 1.0 }).into_iter().collect()
            }
        }
    }

    /// Its changes; for a blues without any the twelve-bar of its feel.
    pub fn form(&self) -> Option<Progression> {
        let twelve_bar = || {
            let (name, bars) = if self.feel() == Feel::Minor { MINOR_BLUES } else { BLUES };
            // The texts stand above, and a test reads them, so `ok` hides no mistake.
            Progression::new(name, bars).ok()
        };
        self.changes.clone().or_else(|| if self.is_blues() { twelve_bar() } else { None })
    }

    /// The chord of home: that of the changes, or the one which the scale stacks up in thirds on its tonic.
    pub(crate) fn tonic_chord(&self) -> Option<Function> {
        let said = self.form().and_then(|form| tonic_of(&form));
        said.or_else(|| {
            let feel = self.feel();
            let third = if feel == Feel::Minor { 3 } else { 4 };
            let third = (self.has(3) || self.has(4)).then_some(third);
            let fifth = [7, 6, 8].into_iter().find(|fifth| self.has(*fifth));
            let sevenths: &[u8] = match feel {
                Feel::Dominant => &[10],
                Feel::Major => &[11],
                Feel::Minor => &[10, 11],
            };
            let seventh = sevenths.iter().copied().find(|seventh| self.has(*seventh));
            let triad = [Some(0), third, fifth];
            let kind = |tones: &[Option<u8>]| {
                let bits = tones.iter().flatten().fold(0_u16, |bits, tone| bits | 1 << tone);
                ChordKind::ALL.iter().find(|kind| kind.bits() == bits)
            };
            let kind = kind(&[triad[0], triad[1], triad[2], seventh]).or_else(|| kind(&triad))?;
            Some(Function { degree: Degree::TONIC, kind })
        })
    }

    fn has(&self, semitones: u8) -> bool {
        self.scale.scale().degrees().iter().any(|step| step.semitones() == semitones)
    }

    /// How many different notes of its chords its scale lacks.
    fn chord_notes_outside(&self) -> u32 {
        let own = self.scale.scale().degrees().iter().fold(0_u16, |bits, step| bits | 1 << step.semitones());
        let chords = self.chords().into_iter().fold(0_u16, |bits, chord| bits | tones(chord.function));
        (chords & !own).count_ones()
    }
}

fn as_printed<S: Serializer>(function: &Function, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(function)
}

/// The scales by which a feel is usually played, the commonest first (common practice, no source).
fn usual_scales(feel: Feel) -> &'static [&'static str] {
    match feel {
        Feel::Major => &["major", "Mixolydian", "Lydian"],
        Feel::Dominant => &["Mixolydian"],
        Feel::Minor => &["natural minor", "Dorian", "harmonic minor", "Phrygian"],
    }
}

/// The notes of a chord as bits, bit n for n semitones above the tonic of the key.
pub(crate) fn tones(function: Function) -> u16 {
    let root = function.degree.in_octave();
    function.kind.degrees().fold(0, |bits, degree| bits | 1 << ((root + degree.in_octave()) % 12))
}

fn says_blues(name: &str) -> bool {
    name.to_lowercase().contains("blues")
}

fn is_blues(changes: &Progression) -> bool {
    let called = says_blues(changes.name()) || changes.other_names().iter().any(|name| says_blues(name));
    let chords = changes.chords();
    let dominant = |root| {
        chords.iter().any(|chord| chord.degree.in_octave() == root && feel_on(*chord) == Feel::Dominant)
    };
    called || dominant(0) && dominant(5)
}

/// The chord on the tonic, the first if there are several.
fn tonic_of(changes: &Progression) -> Option<Function> {
    changes.chords().into_iter().find(|chord| chord.degree == Degree::TONIC)
}

/// The feel that a chord gives to its root.
fn feel_on(chord: Function) -> Feel {
    let minor_seventh = 1 << 10;
    match () {
        () if chord.kind.is_minor() => Feel::Minor,
        () if chord.kind.bits() & minor_seventh != 0 => Feel::Dominant,
        () => Feel::Major,
    }
}

/// The chords of a progression with the part of the bars that each fills; a bar is shared evenly.
fn shares(changes: &Progression) -> Vec<SongChord> {
    let bars = changes.bars();
    let of_bar = |bar: &Vec<Function>, function| {
        let times = bar.iter().filter(|chord| **chord == function).count();
        times as f64 / bar.len().max(1) as f64
    };
    let share =
        |function| bars.iter().map(|bar| of_bar(bar, function)).sum::<f64>() / bars.len().max(1) as f64;
    changes.chords().into_iter().map(|function| SongChord { function, share: share(function) }).collect()
}
