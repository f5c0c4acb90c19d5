//! Why a choice stands where it stands, in words.

use crate::{Choice, ChoiceNote, ChordGroup};
use layout::{Breath, TabStyle, Technique, Way};

/// What a way is called when ways are counted: one of them, several of them.
const KINDS: [(&str, &str); 3] = [("bend", "bends"), ("overblow", "overblows"), ("overdraw", "overdraws")];

impl Choice {
    /// "D harp, Richter, 2nd position (cross)".
    pub fn title(&self) -> String {
        let name = self.position.customary_name().map_or(String::new(), |name| format!(" ({name})"));
        format!("{} harp, {}, {}{name}", self.harp.key(), self.harp.tuning().name(), self.position)
    }

    /// What speaks for it and against it, a line each: how many notes need nothing, which need what, which are out of
    /// reach, where the tonic lies, and where its chord.
    pub fn reasons(&self, style: &TabStyle) -> Vec<String> {
        let kinds = KINDS.iter().enumerate().filter_map(|(i, words)| self.of_kind(i, words, style));
        let chord = self.tonic_chord();
        let tonic = [self.tonic(style)].into_iter();
        [self.plain()]
            .into_iter()
            .chain(kinds)
            .chain(self.learning(style))
            .chain(self.gaps())
            .chain(tonic)
            .chain(chord)
            .collect()
    }

    /// How many notes need nothing, and where that is.
    fn plain(&self) -> String {
        let plain = self.asking(|way| kind(way).is_none()).len();
        let range = match (self.notes.first(), self.notes.last()) {
            (Some(low), Some(high)) => format!(" from {} to {}", name(low), name(high)),
            _ => String::new(),
        };
        match self.notes.len() {
            all if all == plain => format!("every note{range} is a natural note"),
            all => format!("{plain} of the {all} notes{range} are natural notes"),
        }
    }

    /// The notes of one kind of technique: "2 bends: -3' (♭3), -4' (♭5)".
    fn of_kind(&self, index: usize, (one, many): &(&str, &str), style: &TabStyle) -> Option<String> {
        let notes = self.asking(|way| kind(way) == Some(index));
        let word = if notes.len() == 1 { one } else { many };
        (!notes.is_empty()).then(|| format!("{} {word}: {}", notes.len(), tabs(style, &notes)))
    }

    /// The notes that the player is still learning.
    fn learning(&self, style: &TabStyle) -> Option<String> {
        let notes: Vec<ChoiceNote> = self.notes.iter().copied().filter(|note| note.learning).collect();
        (!notes.is_empty()).then(|| format!("still being learned: {}", tabs(style, &notes)))
    }

    /// The notes out of reach.
    fn gaps(&self) -> Option<String> {
        let gaps = self.notes.iter().filter(|note| note.way.is_none());
        let gaps: Vec<String> =
            gaps.map(|note| format!("{} ({})", name(note), note.is.step.degree)).collect();
        (!gaps.is_empty()).then(|| format!("out of reach: {}", gaps.join(", ")))
    }

    /// Where the tonic lies on the whole harp.
    fn tonic(&self, style: &TabStyle) -> String {
        let reeds = self.position.tonic_reeds(&self.harp);
        let made = self.position.tonic_ways(&self.harp);
        let (words, ways) = match (reeds.is_empty(), made.is_empty()) {
            (false, _) => ("the tonic is a natural note: ", reeds),
            (true, false) => ("the tonic has to be bent or overbent: ", made),
            (true, true) => ("the harp cannot sound the tonic", made),
        };
        let tabs: Vec<String> = ways.into_iter().map(|(_, way)| style.print(way)).collect();
        format!("{words}{}", tabs.join(" "))
    }

    /// Where the chord on the tonic lies under the mouth, the fullest of the lowest holes.
    fn tonic_chord(&self) -> Option<String> {
        let tonic = self.scale.tonic().pitch_class();
        let groups = ChordGroup::all(&self.harp);
        let with_root = groups.iter().filter_map(|group| {
            let chord = group.names.iter().find(|name| name.root == tonic)?;
            let run = group.runs().into_iter().find(|run| run.at_least >= 3)?;
            Some((chord, group.breath, run))
        });
        let (chord, breath, run) = with_root.min_by_key(|(_, _, run)| (run.at_least, *run.holes.start()))?;
        let (low, high) = (run.holes.start(), run.holes.end());
        let function = chord.function(&self.scale);
        Some(format!("{} {low} to {high} sound the chord of the tonic, {function}", breath.word()))
    }

    /// The notes whose way `which` picks.
    fn asking(&self, which: impl Fn(Way) -> bool) -> Vec<ChoiceNote> {
        self.notes.iter().copied().filter(|note| note.way.is_some_and(&which)).collect()
    }
}

/// Which of [`KINDS`] a way is; none for a natural note.
fn kind(way: Way) -> Option<usize> {
    match (way.technique, way.breath) {
        (Technique::Natural, _) => None,
        (Technique::Bend(_), _) => Some(0),
        (Technique::Overbend, Breath::Blow) => Some(1),
        (Technique::Overbend, Breath::Draw) => Some(2),
    }
}

/// Tab with degrees: "-3' (♭3), -4' (♭5)".
fn tabs(style: &TabStyle, notes: &[ChoiceNote]) -> String {
    let tab = |note: &ChoiceNote| Some(format!("{} ({})", style.print(note.way?), note.is.step.degree));
    notes.iter().filter_map(tab).collect::<Vec<_>>().join(", ")
}

fn name(note: &ChoiceNote) -> String {
    note.is.name.with_octave(note.note)
}
