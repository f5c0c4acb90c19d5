//! Two notes at once: octaves, fifths, sixths and thirds, by neighbouring holes or with the tongue between.

use layout::{Breath, Harp};
use theory::{Grip, HarpChord};

/// An interval and where it lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IntervalRow {
    /// "octaves", "thirds".
    pub name: &'static str,
    /// Pairs of holes on the blow, such as `1+4`; the tongue covers those between.
    pub blow: String,
    /// Pairs of holes on the draw.
    pub draw: String,
}

/// What is listed: name and sizes in semitones.
const LISTED: [(&str, &[u8]); 4] =
    [("octaves", &[12]), ("fifths", &[7]), ("sixths", &[8, 9]), ("thirds", &[3, 4])];

pub(super) fn rows(harp: &Harp) -> Vec<IntervalRow> {
    let pairs: Vec<HarpChord> =
        HarpChord::all(harp).filter(|pair| pair.grip == Grip::Outer || pair.high - pair.low == 1).collect();
    LISTED
        .iter()
        .map(|(name, sizes)| IntervalRow {
            name,
            blow: list(&pairs, Breath::Blow, sizes),
            draw: list(&pairs, Breath::Draw, sizes),
        })
        .filter(|row| !(row.blow.is_empty() && row.draw.is_empty()))
        .collect()
}

fn list(pairs: &[HarpChord], breath: Breath, sizes: &[u8]) -> String {
    let fits = |pair: &&HarpChord| {
        pair.breath == breath && pair.interval().is_some_and(|interval| sizes.contains(&interval.semitones()))
    };
    pairs.iter().filter(fits).map(|pair| format!("{}+{}", pair.low, pair.high)).collect::<Vec<_>>().join(", ")
}
