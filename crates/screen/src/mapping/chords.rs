//! The chords of a harp as the map lists them.

use layout::{Harp, Technique, Way};
use theory::{ChordGroup, Grip, HarpChord, HoleRun, ScaleInKey};

/// Chords of fewer notes than this are intervals and stand in no list.
const LEAST_NOTES: usize = 3;

/// One chord: what it does in the key, what it is called, where it lies.
#[derive(Clone, Debug)]
pub(crate) struct ChordLine {
    /// The roman numeral.
    pub(crate) function: String,
    /// The symbol.
    pub(crate) symbol: String,
    /// The holes, in words.
    pub(crate) holes: String,
    /// Its lowest grip.
    pub(crate) grip: HarpChord,
    /// Semitones of the root above the tonic, and the number of notes: the order of the list.
    order: (u8, usize),
}

impl ChordLine {
    /// Every chord that neighbouring holes sound, by what it does in the key.
    pub(crate) fn all(harp: &Harp, key: &ScaleInKey) -> Vec<Self> {
        let mut lines: Vec<Self> =
            ChordGroup::all(harp).iter().filter_map(|group| Self::new(group, key)).collect();
        lines.sort_by_key(|line| line.order);
        lines
    }

    fn new(group: &ChordGroup, key: &ScaleInKey) -> Option<Self> {
        let name = group.names.first()?;
        let notes = name.kind.degrees().count();
        let runs = group.runs();
        let grip = group.grips.iter().find(|grip| grip.grip == Grip::Together)?.clone();
        let function = name.function(key);
        (notes >= LEAST_NOTES).then(|| Self {
            function: function.to_string(),
            symbol: name.symbol(key),
            holes: format!(
                "{} {}",
                group.breath.word(),
                runs.iter().map(holes).collect::<Vec<_>>().join(", ")
            ),
            grip,
            order: (function.degree.in_octave(), notes),
        })
    }

    /// The frequencies of its lowest grip, hertz.
    pub(crate) fn hz(&self, harp: &Harp) -> Vec<f64> {
        let way = |hole| Way::new(hole, self.grip.breath, Technique::Natural);
        self.grip.holes().filter_map(|hole| harp.hz(way(hole))).collect()
    }
}

/// A row of holes: "2-5", "1-3, 2-4", "1-3 to 8-10" for any three neighbours of ten.
fn holes(run: &HoleRun) -> String {
    let grips: Vec<String> = run.narrowest().map(|(low, high)| format!("{low}-{high}")).collect();
    match &grips[..] {
        [first, _, .., last] if grips.len() > 2 => format!("{first} to {last}"),
        _ => grips.join(", "),
    }
}
