//! Kinds of chords: which degrees above the root make them, what they are called.

use crate::Degree;

/// A kind of chord, such as the dominant seventh. The list is [`ChordKind::ALL`].
#[derive(Debug, PartialEq, Eq, Hash)]
pub struct ChordKind {
    symbol: &'static str,
    name: &'static str,
    /// What follows the roman numeral.
    suffix: &'static str,
    /// Number and alteration of each note's degree above the root, the root first.
    degrees: &'static [(u8, i8)],
    /// The notes as a set: bit n for n semitones above the root, within the octave.
    bits: u16,
}

const fn kind(
    symbol: &'static str,
    name: &'static str,
    suffix: &'static str,
    degrees: &'static [(u8, i8)],
) -> ChordKind {
    ChordKind { symbol, name, suffix, degrees, bits: bits_of(degrees) }
}

/// The set of notes that some degrees make, worked out when the program is built.
const fn bits_of(degrees: &[(u8, i8)]) -> u16 {
    let mut bits = 0;
    let mut index = 0;
    while index < degrees.len() {
        let (number, alteration) = degrees[index];
        bits |= 1 << crate::degree::semitones(number, alteration).rem_euclid(12);
        index += 1;
    }
    bits
}

impl ChordKind {
    /// Every kind that is named, the plainest first. The degrees are those of any theory primer; the tests hold them
    /// against a general-purpose library.
    pub const ALL: &'static [Self] = &[
        kind("", "major", "", &[(1, 0), (3, 0), (5, 0)]),
        kind("m", "minor", "", &[(1, 0), (3, -1), (5, 0)]),
        kind("7", "dominant seventh", "7", &[(1, 0), (3, 0), (5, 0), (7, -1)]),
        kind("m7", "minor seventh", "7", &[(1, 0), (3, -1), (5, 0), (7, -1)]),
        kind("maj7", "major seventh", "maj7", &[(1, 0), (3, 0), (5, 0), (7, 0)]),
        kind("ø7", "half-diminished seventh", "ø7", &[(1, 0), (3, -1), (5, -1), (7, -1)]),
        kind("°", "diminished", "°", &[(1, 0), (3, -1), (5, -1)]),
        kind("°7", "diminished seventh", "°7", &[(1, 0), (3, -1), (5, -1), (7, -2)]),
        kind("+", "augmented", "+", &[(1, 0), (3, 0), (5, 1)]),
        kind("6", "major sixth", "add6", &[(1, 0), (3, 0), (5, 0), (6, 0)]),
        kind("m6", "minor sixth", "add6", &[(1, 0), (3, -1), (5, 0), (6, 0)]),
        kind("9", "dominant ninth", "9", &[(1, 0), (3, 0), (5, 0), (7, -1), (9, 0)]),
        kind("m9", "minor ninth", "9", &[(1, 0), (3, -1), (5, 0), (7, -1), (9, 0)]),
        kind("maj9", "major ninth", "maj9", &[(1, 0), (3, 0), (5, 0), (7, 0), (9, 0)]),
        kind("7♭9", "dominant seventh, flat ninth", "7♭9", &[(1, 0), (3, 0), (5, 0), (7, -1), (9, -1)]),
        kind("6/9", "sixth with ninth", "add6/9", &[(1, 0), (3, 0), (5, 0), (6, 0), (9, 0)]),
        kind("add9", "major with added ninth", "add9", &[(1, 0), (3, 0), (5, 0), (9, 0)]),
        kind("m(add9)", "minor with added ninth", "add9", &[(1, 0), (3, -1), (5, 0), (9, 0)]),
        kind("m(maj7)", "minor with major seventh", "maj7", &[(1, 0), (3, -1), (5, 0), (7, 0)]),
        kind("+7", "augmented seventh", "+7", &[(1, 0), (3, 0), (5, 1), (7, -1)]),
        kind("+maj7", "augmented major seventh", "+maj7", &[(1, 0), (3, 0), (5, 1), (7, 0)]),
        kind("7♭5", "dominant seventh, flat fifth", "7♭5", &[(1, 0), (3, 0), (5, -1), (7, -1)]),
        kind("sus4", "suspended fourth", "sus4", &[(1, 0), (4, 0), (5, 0)]),
        kind("sus2", "suspended second", "sus2", &[(1, 0), (2, 0), (5, 0)]),
        kind("7sus4", "seventh, suspended fourth", "7sus4", &[(1, 0), (4, 0), (5, 0), (7, -1)]),
        kind("7(no5)", "dominant seventh without fifth", "7(no5)", &[(1, 0), (3, 0), (7, -1)]),
        kind("m7(no5)", "minor seventh without fifth", "7(no5)", &[(1, 0), (3, -1), (7, -1)]),
        kind("maj7(no5)", "major seventh without fifth", "maj7(no5)", &[(1, 0), (3, 0), (7, 0)]),
        kind("5", "power chord", "5", &[(1, 0), (5, 0)]),
    ];

    /// What follows the root in a chord symbol: `m7`; nothing for a major chord.
    pub fn symbol(&self) -> &'static str {
        self.symbol
    }

    /// The kind in words: "minor seventh".
    pub fn name(&self) -> &'static str {
        self.name
    }

    /// What follows the roman numeral: `7`, `°`, `ø7`. The added sixth is `add6`, because a bare 6 after a numeral is
    /// the figure of a first inversion.
    pub fn suffix(&self) -> &'static str {
        self.suffix
    }

    /// The degrees of its notes above the root, the root first.
    pub fn degrees(&self) -> impl Iterator<Item = Degree> {
        self.degrees.iter().filter_map(|(number, alteration)| Degree::new(*number, *alteration))
    }

    /// Whether its third is minor: the roman numeral is written small.
    pub fn is_minor(&self) -> bool {
        self.degrees.contains(&(3, -1))
    }

    /// Whether its fifth is diminished above a minor third.
    pub fn is_diminished(&self) -> bool {
        self.is_minor() && self.degrees.contains(&(5, -1))
    }

    /// Its notes as a set of bits, bit n for n semitones above the root.
    pub(crate) fn bits(&self) -> u16 {
        self.bits
    }

    /// Whether it divides the octave evenly, so that each of its notes is as good a root as any other.
    pub(crate) fn is_even(&self) -> bool {
        matches!(self.symbol, "+" | "°7")
    }
}
