//! The cases: which reeds of which harp, and what is right.

use layout::{Breath, Harp, HarpKey, Technique, Way};
use pitch::reeds::Sounding;

/// The harps that are measured.
pub(crate) const HARPS: [&str; 3] = ["C", "low F", "high G"];

/// What kind of set a case is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Kind {
    Lone,
    Bend,
    Pair,
    Triple,
    Four,
    Octave,
}

/// Some ways at once.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    pub(crate) kind: Kind,
    pub(crate) ways: Vec<Way>,
}

pub(crate) fn harp(key: &str) -> Harp {
    Harp::richter(key.parse::<HarpKey>().expect("a key"))
}

/// The reeds as the ear wants them.
pub(crate) fn holes(harp: &Harp) -> Vec<[f64; 2]> {
    let hz = |hole, breath| harp.hz(Way::new(hole, breath, Technique::Natural)).expect("a reed");
    (1..=harp.holes()).map(|hole| [hz(hole, Breath::Blow), hz(hole, Breath::Draw)]).collect()
}

/// All lone reeds, bends, adjacent pairs, triples and fours, and octave splits of a harp.
pub(crate) fn cases(harp: &Harp) -> Vec<Case> {
    let mut all = Vec::new();
    for way in harp.ways().filter(|way| matches!(way.technique, Technique::Bend(_))) {
        all.push(Case { kind: Kind::Bend, ways: vec![way] });
    }
    for breath in [Breath::Blow, Breath::Draw] {
        let natural = |hole| Way::new(hole, breath, Technique::Natural);
        for (kind, count) in [(Kind::Lone, 1), (Kind::Pair, 2), (Kind::Triple, 3), (Kind::Four, 4)] {
            for first in 1..=(harp.holes() - count + 1) {
                all.push(Case { kind, ways: (first..first + count).map(natural).collect() });
            }
        }
        for low in 1..=harp.holes() {
            for high in low + 2..=(low + 4).min(harp.holes()) {
                let ways = vec![natural(low), natural(high)];
                let midi = |way: Way| harp.note(way).expect("a reed").midi();
                if midi(ways[1]) == midi(ways[0]) + 12 {
                    all.push(Case { kind: Kind::Octave, ways });
                }
            }
        }
    }
    all
}

/// Whether the voices are those of the case: as many, each within 60 cents of one of its ways. (Two reeds of the same
/// note, such as 2 draw and 3 blow, sound the same.)
pub(crate) fn right(sounding: &Sounding, harp: &Harp, ways: &[Way]) -> bool {
    let near = |way: &Way| {
        let hz = harp.hz(*way).expect("a note");
        sounding.voices().any(|voice| (1_200.0 * (voice.hz / hz).log2()).abs() < 60.0)
    };
    sounding.voices().count() == ways.len() && ways.iter().all(near)
}
