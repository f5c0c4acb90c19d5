//! Runs over the chords of a form: in each bar the notes of its chord.

use super::scale::best_octave;
use super::{ChordAt, Material, MaterialError, Rhythm, RunName};
use layout::{Harp, Note, Way};
use theory::{Ability, Function, Position, Progression, ScaleInKey, ScaleMap, chord_tones, for_player};

/// The chords of a form in a key, each broken into its notes.
#[derive(Clone, Debug)]
pub struct FormRun<'a> {
    /// The key, with the scale from which it is written.
    pub key: &'a ScaleInKey,
    /// The chords, bar by bar.
    pub form: &'a Progression,
    /// From where to where; `None` for the octave of the scale that costs the player least.
    pub range: Option<(Note, Note)>,
    /// What the player commands: notes beyond it are left out.
    pub ability: &'a Ability,
}

/// Where a line of notes is, and which way it goes.
#[derive(Clone, Copy, Debug)]
struct Line {
    last: Option<Note>,
    rises: bool,
}

impl FormRun<'_> {
    /// The notes of the form: within a chord from one of its notes to the next, up to the end of the range and down
    /// again; from chord to chord to the nearest note of the new one.
    ///
    /// # Errors
    /// If the player has none of the notes of a chord in the range, or the form is longer than a run.
    pub fn material(&self, harp: &Harp, rhythm: Rhythm) -> Result<Material, MaterialError> {
        Material::fits(self.form.bars().len())?;
        let range = self.range(harp).ok_or(MaterialError::Nothing)?;
        let (bar, value) = (rhythm.metre.bar(), rhythm.value.ticks());
        let mut line = Line { last: None, rises: true };
        let (mut notes, mut chords) = (Vec::new(), Vec::new());
        for (index, functions) in (0..).zip(self.form.bars()) {
            let count = u32::try_from(functions.len()).unwrap_or(u32::MAX);
            let (mut before, mut tones) = (None, Vec::new());
            for start in (0..bar).step_by(value as usize) {
                let which = (start * count / bar) as usize;
                let changes = before != Some(which);
                if changes {
                    tones = self.tones(harp, functions[which], range);
                    chords.push(self.chord(functions[which], index * bar + start));
                }
                let (note, way) = line.step(&tones, changes).ok_or_else(|| {
                    MaterialError::NoTone(index as usize + 1, self.symbol(functions[which]))
                })?;
                (line.last, before) = (Some(note), Some(which));
                notes.push((index * bar + start, value.min(bar - start), way));
            }
        }
        Material::of_notes(self.name(harp), notes, rhythm).map(|material| material.with_chords(chords))
    }

    fn name(&self, harp: &Harp) -> RunName {
        let (form, tonic) = (self.form.name(), self.key.tonic());
        let position = Position::of(harp, tonic.pitch_class());
        RunName {
            title: format!("{form} in {tonic}, chord by chord"),
            kept_as: format!("{form} in {position}, chord by chord"),
        }
    }

    fn range(&self, harp: &Harp) -> Option<(Note, Note)> {
        let map = ScaleMap::new(harp, self.key);
        self.range.or_else(|| best_octave(&for_player(harp, map.notes(), self.ability)))
    }

    /// The notes of a chord that the player has in the range, the lowest first.
    fn tones(&self, harp: &Harp, function: Function, (low, high): (Note, Note)) -> Vec<(Note, Way)> {
        let tones = for_player(harp, &chord_tones(harp, self.key, function), self.ability);
        let within = tones.into_iter().filter(|tone| (low..=high).contains(&tone.note.note));
        within.filter_map(|tone| Some((tone.note.note, tone.way?))).collect()
    }

    fn symbol(&self, function: Function) -> String {
        function.chord(self.key).symbol(self.key)
    }

    fn chord(&self, function: Function, start: u32) -> ChordAt {
        ChordAt { start, symbol: self.symbol(function), numeral: function.to_string() }
    }
}

impl Line {
    /// The next note of a chord; a chord that is new begins on its note nearest to the last one.
    fn step(&mut self, tones: &[(Note, Way)], changes: bool) -> Option<(Note, Way)> {
        let Some(last) = self.last else { return tones.first().copied() };
        let above = tones.iter().find(|(note, _)| *note > last).copied();
        let below = tones.iter().rev().find(|(note, _)| *note < last).copied();
        let (ahead, behind) = if self.rises { (above, below) } else { (below, above) };
        let far =
            |tone: Option<(Note, Way)>| tone.map_or(u8::MAX, |(note, _)| note.midi().abs_diff(last.midi()));
        let turns = ahead.is_none() || changes && far(behind) < far(ahead);
        if turns && behind.is_some() {
            self.rises = !self.rises;
            return behind;
        }
        // A chord of which the player has but one note repeats it.
        ahead.or_else(|| tones.first().copied())
    }
}
