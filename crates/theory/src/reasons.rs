//! Why a choice stands where it stands, in words.

use crate::{Choice, ChoiceChord, ChoiceNote, Chord, ChordGroup, Function};
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
    /// reach, where the tonic lies, and which chords of the song lie under the mouth.
    pub fn reasons(&self, style: &TabStyle) -> Vec<String> {
        let kinds = KINDS.iter().enumerate().filter_map(|(i, words)| self.of_kind(i, words, style));
        [self.plain()]
            .into_iter()
            .chain(self.wanted(style))
            .chain(kinds)
            .chain(self.learning(style))
            .chain(self.stand_ins(style))
            .chain(self.gaps())
            .chain([self.tonic(style)])
            .chain(self.tonic_chord())
            .chain(self.other_chords())
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

    /// The blue notes that the player bends: "2 bends that the blues wants: -3' (♭3), -4' (♭5)".
    fn wanted(&self, style: &TabStyle) -> Option<String> {
        let notes: Vec<ChoiceNote> = self.notes.iter().copied().filter(ChoiceNote::is_wanted_bend).collect();
        let word = if notes.len() == 1 { "bend" } else { "bends" };
        (!notes.is_empty())
            .then(|| format!("{} {word} that the blues wants: {}", notes.len(), tabs(style, &notes)))
    }

    /// The other notes of one kind of technique: "2 bends: -3'' (2), -2'' (♭7)".
    fn of_kind(&self, index: usize, (one, many): &(&str, &str), style: &TabStyle) -> Option<String> {
        let mut notes = self.asking(|way| kind(way) == Some(index));
        notes.retain(|note| note.bent_from.is_none());
        let word = if notes.len() == 1 { one } else { many };
        (!notes.is_empty()).then(|| format!("{} {word}: {}", notes.len(), tabs(style, &notes)))
    }

    /// The notes that the player is still learning.
    fn learning(&self, style: &TabStyle) -> Option<String> {
        let notes: Vec<ChoiceNote> = self.notes.iter().copied().filter(|note| note.learning).collect();
        (!notes.is_empty()).then(|| format!("still being learned: {}", tabs(style, &notes)))
    }

    /// The blue notes for which the note above them stands in.
    fn stand_ins(&self, style: &TabStyle) -> Option<String> {
        let notes = self.notes.iter().filter(|note| !note.is_wanted_bend());
        let words = |note: &ChoiceNote| {
            let degree = note.is.step.degree;
            note.bent_from.map(|above| format!("{} for {} ({degree})", style.print(above), name(note)))
        };
        let words: Vec<String> = notes.filter_map(words).collect();
        (!words.is_empty()).then(|| format!("the note above stands in for a blue note: {}", words.join(", ")))
    }

    /// The notes out of reach.
    fn gaps(&self) -> Option<String> {
        let gaps = self.notes.iter().filter(|note| note.way.is_none() && note.bent_from.is_none());
        let gaps: Vec<String> =
            gaps.map(|note| format!("{} ({})", name(note), note.is.step.degree)).collect();
        (!gaps.is_empty()).then(|| format!("out of reach: {}", gaps.join(", ")))
    }

    /// Where the tonic lies on the whole harp.
    pub(crate) fn tonic(&self, style: &TabStyle) -> String {
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

    /// What the chord on the tonic is under the mouth, against the chord that the song has there.
    pub(crate) fn tonic_chord(&self) -> Option<String> {
        let own = self.chords.iter().find(|own| own.chord.is_tonic())?;
        let wanted = own.chord.function;
        let fits =
            own.sounds.then(|| self.holes(wanted, Third::AsWanted)).flatten().map(|(holes, sounds)| {
                if sounds == wanted {
                    format!("{holes} sound the chord of the tonic, {sounds}")
                } else {
                    format!("{holes} sound {sounds}, which fits the chord of the tonic, {wanted}")
                }
            });
        let clashes =
            own.clashes.then(|| self.holes(wanted, Third::Other)).flatten().map(|(holes, sounds)| {
                format!("{holes} sound {sounds}, which clashes with the chord of the tonic, {wanted}")
            });
        match (fits, clashes) {
            (Some(fits), Some(clashes)) => Some(format!("{fits}; but {clashes}")),
            (None, None) => Some(format!("no neighbouring holes sound the chord of the tonic, {wanted}")),
            (one, other) => one.or(other),
        }
    }

    /// The other chords of the song under the mouth: "also under the mouth: IV on blow 1 to 10".
    fn other_chords(&self) -> Option<String> {
        let others = self.chords.iter().filter(|own| !own.chord.is_tonic() && own.sounds);
        let words = |own: &ChoiceChord| {
            let (holes, sounds) = self.holes(own.chord.function, Third::AsWanted)?;
            Some(format!("{sounds} on {holes}"))
        };
        let words: Vec<String> = others.filter_map(words).collect();
        (!words.is_empty()).then(|| format!("also under the mouth: {}", words.join(", ")))
    }

    /// The holes that most simply sound a chord of the song, or that chord with the other third, and what they sound.
    fn holes(&self, wanted: Function, which: Third) -> Option<(String, Function)> {
        let root = wanted.root(&self.scale).pitch_class();
        let fits = |chord: &Chord| {
            let sounds = chord.kind.bits();
            let has_third = sounds & wanted.kind.bits() & (1 << 3 | 1 << 4) != 0;
            let is_part = sounds & !wanted.kind.bits() == 0;
            let no_third = wanted.kind.bits() & (1 << 3 | 1 << 4) == 0;
            match which {
                Third::AsWanted => is_part && (has_third || no_third),
                Third::Other => chord.kind.is_minor() != wanted.kind.is_minor() && sounds & 1 << 7 != 0,
            }
        };
        let groups = ChordGroup::all(&self.harp);
        let found = groups.iter().filter_map(|group| {
            let chord = group.names.iter().find(|name| name.root == root && fits(name))?;
            let run = group.runs().into_iter().find(|run| run.at_least >= 3)?;
            Some((chord, group.breath, run))
        });
        let (chord, breath, run) = found.min_by_key(|(_, _, run)| (run.at_least, *run.holes.start()))?;
        let (low, high) = (run.holes.start(), run.holes.end());
        let sounds = Function { degree: wanted.degree, kind: chord.kind };
        Some((format!("{} {low} to {high}", breath.word()), sounds))
    }

    /// The notes whose way `which` picks.
    fn asking(&self, which: impl Fn(Way) -> bool) -> Vec<ChoiceNote> {
        self.notes.iter().copied().filter(|note| note.way.is_some_and(&which)).collect()
    }
}

impl ChoiceNote {
    /// Whether the player makes it as the bend that the song wants.
    fn is_wanted_bend(&self) -> bool {
        let bend = |above: Way| Way { technique: Technique::Bend(1), ..above };
        self.bent_from.is_some_and(|above| self.way == Some(bend(above)))
    }
}

/// Which third a chord has, against the one that the song wants.
#[derive(Clone, Copy)]
enum Third {
    AsWanted,
    Other,
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
