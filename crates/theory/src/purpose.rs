//! What a position is for: what it suits, which triads its three main chords are and where, and which notes it lacks.

use crate::{Chord, ChordGroup, Degree, Position, ScaleInKey};
use layout::{Breath, Harp, PitchClass, Tuning};
use std::collections::BTreeSet;

/// What the positions of a Richter harp suit, by their numbers (common practice, no source).
const SUITS: [(u8, &str); 12] = [
    (1, "tunes in a major key, and blues on the high holes"),
    (2, "blues, rock and country: home is the low draw chord, its blue notes are draw bends"),
    (3, "minor blues, and minor tunes with a major sixth"),
    (4, "tunes in natural minor"),
    (5, "minor pentatonic tunes, and minor ones with a flat second"),
    (6, "tense lines rather than tunes: there is no fifth above home"),
    (7, OVERBENT),
    (8, OVERBENT),
    (9, OVERBENT),
    (10, OVERBENT),
    (11, OVERBENT),
    (12, "slow tunes in a major key, also with a raised fourth"),
];

const OVERBENT: &str = "players who bend and overblow with certainty: home is no natural note";

/// The kinds of chord that count as a main chord, by their symbols: triads of any quality.
const TRIADS: [&str; 4] = ["", "m", "°", "+"];

/// What a position of a harp is for. All but [`Purpose::suits`] is derived from the reeds, so that it holds for every
/// tuning.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Purpose {
    /// What is played in it, on a harp with Richter reeds; common practice, no source. `None` for other reeds.
    pub suits: Option<&'static str>,
    /// The chords on the first, fourth and fifth degree, as they lie under the mouth.
    pub chords: [MainChord; 3],
    /// The degrees that no reed sounds.
    pub lacks: Vec<Degree>,
}

/// One of the three main chords of a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MainChord {
    /// `I`, `IV` or `V`.
    pub numeral: &'static str,
    /// The triads on it that neighbouring holes sound, each with its breath and its places; empty if there is none.
    pub triads: Vec<(Chord, ChordGroup)>,
}

impl Purpose {
    /// What the position with the tonic of `key` is for on `harp`.
    pub fn new(harp: &Harp, key: &ScaleInKey) -> Self {
        let tonic = key.tonic().pitch_class();
        let groups = ChordGroup::all(harp);
        let chord = |numeral, above| MainChord::new(numeral, tonic.up(above), &groups);
        let reeds = [Breath::Blow, Breath::Draw].into_iter();
        let sounding: BTreeSet<u8> = reeds
            .flat_map(|breath| (1..=harp.holes()).filter_map(move |hole| harp.reed(hole, breath)))
            .map(|note| tonic.semitones_to(note.pitch_class()))
            .collect();
        Self {
            suits: suits(harp.tuning(), Position::of(harp, tonic)),
            chords: [chord("I", 0), chord("IV", 5), chord("V", 7)],
            lacks: (0..12)
                .filter(|step| !sounding.contains(step))
                .map(|step| Degree::usual(step.into()))
                .collect(),
        }
    }

    /// Which triads the three main chords are and where they lie, in a sentence: "I is G, draw 3 or more neighbours of
    /// 1 to 4; IV is C, blow 3 or more neighbours of 1 to 10; V is Dm, draw 4 to 6, 8 to 10".
    pub fn chord_words(&self, key: &ScaleInKey) -> String {
        self.chords.iter().map(|chord| chord.words(key)).collect::<Vec<_>>().join("; ")
    }

    /// Which triads the three main chords are, as short as it goes: "I G, IV C, v Dm".
    pub fn chord_names(&self, key: &ScaleInKey) -> String {
        self.chords.iter().map(|chord| chord.name(key)).collect::<Vec<_>>().join(", ")
    }

    /// What no reed sounds, as short as it goes: "lacks ♭2 ♭3 ♭5 ♭6 7".
    pub fn lack_names(&self) -> String {
        let all: Vec<String> = self.lacks.iter().map(Degree::to_string).collect();
        if all.is_empty() { "lacks nothing".to_owned() } else { format!("lacks {}", all.join(" ")) }
    }

    /// What no reed sounds, in a sentence: "no reed sounds ♭2, ♭3, ♭5, ♭6 or 7".
    pub fn lack_words(&self) -> String {
        let all: Vec<String> = self.lacks.iter().map(Degree::to_string).collect();
        match &all[..] {
            [] => "the reeds sound every degree".to_owned(),
            [one] => format!("no reed sounds {one}"),
            [others @ .., last] => format!("no reed sounds {} or {last}", others.join(", ")),
        }
    }
}

impl MainChord {
    fn new(numeral: &'static str, root: PitchClass, groups: &[ChordGroup]) -> Self {
        let triad = |group: &ChordGroup| {
            let own = |chord: &&Chord| chord.root == root && TRIADS.contains(&chord.kind.symbol());
            let chord = *group.names.iter().find(own)?;
            (!group.runs().is_empty()).then(|| (chord, group.clone()))
        };
        Self { numeral, triads: groups.iter().filter_map(triad).collect() }
    }

    /// "V is Dm, draw 4 to 6, 8 to 10", "V has no chord".
    fn words(&self, key: &ScaleInKey) -> String {
        let triad = |(chord, group): &(Chord, ChordGroup)| {
            let runs: Vec<String> = group.runs().iter().map(ToString::to_string).collect();
            format!("{}, {} {}", chord.symbol(key), group.breath.word(), runs.join(", "))
        };
        match &self.triads[..] {
            [] => format!("{} has no chord", self.numeral),
            triads => {
                format!("{} is {}", self.numeral, triads.iter().map(triad).collect::<Vec<_>>().join(", or "))
            }
        }
    }

    /// "V D", "v Dm", "no V".
    fn name(&self, key: &ScaleInKey) -> String {
        let mut symbols: Vec<String> = self.triads.iter().map(|(chord, _)| chord.symbol(key)).collect();
        symbols.dedup();
        if symbols.is_empty() {
            return format!("no {}", self.numeral);
        }
        let is_minor = self.triads.iter().all(|(chord, _)| chord.kind.is_minor());
        let numeral = if is_minor { self.numeral.to_lowercase() } else { self.numeral.to_owned() };
        format!("{numeral} {}", symbols.join("/"))
    }
}

/// What a position suits, on reeds for which that is known.
fn suits(tuning: &Tuning, position: Position) -> Option<&'static str> {
    let richter = Tuning::richter();
    let is_richter = tuning.blow() == richter.blow() && tuning.draw() == richter.draw() && tuning.home() == 0;
    SUITS.iter().find(|(number, _)| is_richter && *number == position.number()).map(|(_, words)| *words)
}
