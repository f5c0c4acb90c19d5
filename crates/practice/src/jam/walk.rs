//! What the built-in player plays over a form.

use super::{FormChord, JamPlan};
use layout::{Harp, Note, Way};
use oorandom::Rand32;
use scoring::reeds::Holes;
use scoring::timed::AskedNote;
use theory::{ScaleMap, for_player};

/// How often an eighth is a rest, and how often a note goes on for a quarter, of a hundred.
const RESTS: u32 = 25;
const GOES_ON: u32 = 40;
/// How often the note at a change is one of the new chord, of a hundred.
const MEETS: u32 = 85;
/// A step goes so many notes of the scale at most.
const STEP: usize = 2;

impl JamPlan {
    /// What the built-in player plays over some bars, counted from 0 at the first beat: a walk over the scale's notes
    /// within the player's ability, in eighths with rests, mostly to a note of the chord where the chord changes. It
    /// begins a third of the way up. The same seed plays the same.
    pub fn walk(&self, harp: &Harp, bars: std::ops::Range<usize>, seed: u64) -> Vec<AskedNote> {
        let map = ScaleMap::new(harp, &self.scale);
        let notes = for_player(harp, map.notes(), &self.ability).into_iter();
        let notes: Vec<(Note, Way)> = notes.filter_map(|note| Some((note.note.note, note.way?))).collect();
        if notes.is_empty() {
            return Vec::new();
        }
        let mut random = Rand32::new(seed.wrapping_add(bars.start as u64));
        let steps = self.rhythm.metre.beats() * self.rhythm.steps_of_beat();
        let mut at = notes.len() / 3;
        let (mut line, mut before): (Vec<AskedNote>, Option<String>) = (Vec::new(), None);
        for bar in bars {
            let mut step = 0;
            while step < steps {
                let place = bar as f64 + f64::from(step) / f64::from(steps);
                let Some((chord, ..)) = self.form.chord_at(place + 1e-9) else { return line };
                let changes = before.as_ref() != Some(&chord.symbol);
                let rests = random.rand_range(0..100) < RESTS && !changes;
                let long = random.rand_range(0..100) < GOES_ON && step + 2 <= steps;
                let length = if long { 2 } else { 1 };
                if !rests {
                    let wanted = random.rand_range(0..2 * STEP as u32 + 1) as usize;
                    at = (at + wanted).saturating_sub(STEP).min(notes.len() - 1);
                    if changes && random.rand_range(0..100) < MEETS {
                        at = nearest(&notes, at, chord).unwrap_or(at);
                    }
                    let onset_s = bar as f64 * self.rhythm.bar_s() + self.rhythm.step_s(step);
                    let end_s = bar as f64 * self.rhythm.bar_s() + self.rhythm.step_s(step + length);
                    let (note, way) = notes[at];
                    line.push(AskedNote {
                        way,
                        note,
                        onset_s,
                        length_s: end_s - onset_s,
                        bar,
                        joined: false,
                        holes: Holes::NONE,
                    });
                }
                before = Some(chord.symbol.clone());
                step += length;
            }
        }
        line
    }
}

/// The note of a chord that is nearest in the scale.
fn nearest(notes: &[(Note, Way)], at: usize, chord: &FormChord) -> Option<usize> {
    let of_chord = |index: &usize| chord.degree(notes[*index].0.pitch_class()).is_some();
    (0..notes.len()).filter(of_chord).min_by_key(|index| index.abs_diff(at))
}
