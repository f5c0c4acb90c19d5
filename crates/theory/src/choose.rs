//! Which harp and which position for a song.
//!
//! A choice is judged as a teacher would judge it, in points a note, by five things:
//!
//! 1. **The notes.** Each note of the song costs what the player's cheapest way to it costs ([`crate::cost`]), as the
//!    mean over the octaves in which it occurs, on the stretch of the harp where the song lies best. The notes do not
//!    matter equally: home most, then what carries the chords, then what colours the scale ([`Song::notes`]). A blues
//!    is judged by the chords of its form and by both its thirds, not by the six notes of the blues scale. Its blue
//!    notes are meant to be bent: a half-step bend from the third or from the fifth of the chord costs nothing, and a
//!    player who cannot make that bend yet plays the note above it for a point.
//! 2. **Home**, over the whole harp: how many of its home notes have to be made by technique. In a blues the lowest one
//!    should be a draw note besides, which the mouth can lean on.
//! 3. **The chords under the mouth.** A chord of the song that no three neighbouring holes sound is missed; a chord on
//!    the tonic with the wrong third is worse than none, because it sounds by accident: draw 1 to 4 of the second
//!    position are major in a minor song.
//! 4. **The harp.** Other tunings than Richter have to be bought besides, made to order or learned anew, and so have to
//!    be worth it.
//! 5. **Custom**, at most half of [`TIE`](crate::TIE): of positions that cost nearly the same, most players take the
//!    second.
//!
//! Only the last part knows which position it looks at, and it only decides ties. Costs are the same in every key. No
//! part costs more for a player who commands more. A choice costs the same whatever other harps there are.

use crate::custom::{of_harp, of_position};
use crate::keyboard::Keyboard;
use crate::song::SongChord;
use crate::under_mouth::{self, UnderMouth};
use crate::weights::SongNote;
use crate::{Ability, Mastery, Position, ScaleInKey, ScaleNote, Song};
use layout::{Breath, ConcertPitch, Harp, HarpKey, Note, PitchClass, Tunings, Way};
use serde::Serialize;

/// The least span of a song, semitones: every degree occurs in it.
const OCTAVE: u8 = 12;

/// What the mean cost of the home notes over the whole harp is multiplied by: a song that lies well in one octave
/// suffers a little if home is bent in the others. Ours; common practice, no source.
const HOME_ELSEWHERE: f64 = 0.15;
/// The most points that one home note counts in that mean, a little more than the deepest bend: an octave without home
/// does not rule out a harp that has home in another octave. Ours; common practice, no source.
const HOME_AT_MOST: u32 = 6;
/// Points for a blues whose lowest home note is not a draw note: a draw note can be leaned on and bent. Ours; common
/// practice, no source.
const HOME_NOT_DRAWN: f64 = 0.25;

/// A harp and a position for a song, with what the song costs the player there.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Choice {
    /// The harp.
    pub harp: Harp,
    /// The position in which it plays on the song's tonic.
    pub position: Position,
    /// The song's scale.
    pub scale: ScaleInKey,
    /// What a note of the song costs, in points: all parts together.
    pub cost: f64,
    /// That cost, in points, with the notes of the whole harp instead of those where the song lies best.
    pub cost_everywhere: f64,
    /// What the cost is made of.
    pub parts: CostParts,
    /// The chords of the song and whether they lie under the mouth.
    pub chords: Vec<ChoiceChord>,
    /// What each degree of the song costs and how much it matters, from the tonic upwards.
    pub degrees: Vec<ChoiceDegree>,
    /// The notes of the song in the stretch where it lies best, from the lowest up.
    pub notes: Vec<ChoiceNote>,
}

/// The five parts of what a choice costs, points.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CostParts {
    /// The notes of the song where it lies best: the mean over its degrees by their weight.
    pub notes: f64,
    /// The home notes of the whole harp.
    pub home: f64,
    /// The chords under the mouth.
    pub chords: f64,
    /// What it takes to have such a harp and to know it: nothing for a Richter harp.
    pub harp: f64,
    /// What most players do, at most half of [`TIE`](crate::TIE).
    pub custom: f64,
}

/// A chord of the song on a harp.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ChoiceChord {
    /// The chord.
    pub chord: SongChord,
    /// Whether three neighbouring holes sound it: its root, its third and none but its notes.
    pub sounds: bool,
    /// Whether three neighbouring holes sound it with the other third, major for minor or minor for major.
    pub clashes: bool,
}

/// A degree of the song on a harp.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ChoiceDegree {
    /// The degree and its name.
    pub is: ScaleNote,
    /// How much it matters, against the other degrees.
    pub weight: f64,
    /// What it costs, points: the mean over the octaves in which it occurs. A blue note may cost less than its
    /// technique.
    pub cost: f64,
}

/// A note of the song on a harp.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct ChoiceNote {
    /// What sounds.
    pub note: Note,
    /// Its degree and name.
    pub is: ScaleNote,
    /// The cheapest way that the player reaches.
    pub way: Option<Way>,
    /// Whether the player is still learning that way.
    pub learning: bool,
    /// What that way costs, [`MISSING`](crate::MISSING) if there is none.
    pub cost: u32,
    /// For a blue note: the natural note a half step above, from which the song wants it bent. A player who cannot bend
    /// it plays that natural note instead.
    pub bent_from: Option<Way>,
}

impl Choice {
    /// What each degree of the song costs, in the order of the song: the mean over the octaves in which it occurs.
    pub fn degree_costs(&self) -> Vec<f64> {
        self.degrees.iter().map(|degree| degree.cost).collect()
    }
}

impl CostParts {
    /// All parts together.
    pub fn sum(&self) -> f64 {
        self.without_custom() + self.custom
    }

    /// What the harp, the song and the player make of it, before custom breaks ties.
    pub fn without_custom(&self) -> f64 {
        self.notes + self.home + self.chords + self.harp
    }
}

/// The harps of the twelve usual keys in each of the tunings, tuning by tuning.
pub fn usual_harps(tunings: &Tunings, concert: ConcertPitch) -> Vec<Harp> {
    let harps = |known| HarpKey::usual_keys().map(move |key| (key, known));
    tunings.iter().flat_map(harps).map(|(key, known)| Harp::new(key, known.tuning.clone(), concert)).collect()
}

/// The harps in the order of what the song costs the player on them, the cheapest first. Between equally cheap harps
/// the cost over the whole harp decides, then the lower position, then the order of `harps`.
pub fn choose(song: &Song, harps: &[Harp], ability: &Ability) -> Vec<Choice> {
    let asked = Asked::new(song, ability);
    let mut choices: Vec<Choice> = harps.iter().filter_map(|harp| asked.on_harp(harp)).collect();
    choices.sort_by(|a, b| {
        let by_cost = a.cost.total_cmp(&b.cost).then(a.cost_everywhere.total_cmp(&b.cost_everywhere));
        by_cost.then(a.position.cmp(&b.position))
    });
    choices
}

/// What is asked of every harp.
struct Asked<'a> {
    song: &'a Song,
    ability: &'a Ability,
    notes: Vec<SongNote>,
    chords: Vec<SongChord>,
    is_blues: bool,
    tonic: PitchClass,
    /// The note of the song by semitones above its tonic, as an index into `notes`.
    by_step: [Option<usize>; 12],
}

impl<'a> Asked<'a> {
    fn new(song: &'a Song, ability: &'a Ability) -> Self {
        let notes = song.notes();
        let mut by_step = [None; 12];
        for (index, note) in notes.iter().enumerate() {
            by_step[usize::from(note.is.step.semitones() % 12)] = Some(index);
        }
        let tonic = song.scale.tonic().pitch_class();
        Self { song, ability, chords: song.chords(), is_blues: song.is_blues(), tonic, notes, by_step }
    }

    /// The choice that one harp offers; `None` for a harp without a note.
    fn on_harp(&self, harp: &Harp) -> Option<Choice> {
        let keyboard = Keyboard::new(harp, self.ability)?;
        let (low, high) = self.best_stretch(&keyboard)?;
        let position = Position::of(harp, self.tonic);
        let degrees = self.degrees(&keyboard, low, high);
        let chords = UnderMouth::new(harp, self.tonic).find(&self.chords);
        let parts = CostParts {
            notes: self.mean(&degrees),
            home: self.home(harp, &keyboard),
            chords: chords.iter().map(under_mouth::cost).sum(),
            harp: of_harp(harp),
            custom: of_position(position),
        };
        let top = keyboard.high.max(keyboard.low + u16::from(OCTAVE));
        let everywhere = self.mean(&self.degrees(&keyboard, keyboard.low, top));
        Some(Choice {
            harp: harp.clone(),
            scale: self.song.scale.clone(),
            position,
            cost: parts.sum(),
            cost_everywhere: parts.sum() - parts.notes + everywhere,
            parts,
            chords,
            degrees: self.notes.iter().zip(degrees).map(|(note, cost)| note.costing(cost)).collect(),
            notes: (low..=high).filter_map(|midi| self.note(&keyboard, midi)).collect(),
        })
    }

    /// The lowest and the highest MIDI key of the stretch where the notes of the song cost least.
    fn best_stretch(&self, keyboard: &Keyboard) -> Option<(u16, u16)> {
        if let Some((low, high)) = self.song.range {
            return Some((u16::from(low.midi()), u16::from(high.midi())));
        }
        let span = u16::from(self.song.span.max(OCTAVE));
        let mut starts = keyboard.starts(span);
        let first = starts.next()?;
        let mut sums = Sums::default();
        (first..=first + span).for_each(|midi| sums.add(self.points(keyboard, midi)));
        let mut best = (first, self.mean(&sums.means()));
        for low in starts {
            sums.remove(self.points(keyboard, low - 1));
            sums.add(self.points(keyboard, low + span));
            let cost = self.mean(&sums.means());
            if cost < best.1 {
                best = (low, cost);
            }
        }
        Some((best.0, best.0 + span))
    }

    /// What each note of the song costs between two MIDI keys, in points: the mean over its octaves. The order is that
    /// of the song's notes; the places after the last note hold 0.
    fn degrees(&self, keyboard: &Keyboard, low: u16, high: u16) -> [f64; 12] {
        let mut sums = Sums::default();
        (low..=high).for_each(|midi| sums.add(self.points(keyboard, midi)));
        sums.means()
    }

    /// Which note of the song a MIDI key is, and what it costs there. A blue note costs its technique or its price as a
    /// blue note, whichever is less.
    fn points(&self, keyboard: &Keyboard, midi: u16) -> Option<(usize, u32)> {
        let index = self.index(midi)?;
        let technique = keyboard.at(midi).1;
        let blue = if self.notes[index].blue { keyboard.blue(midi) } else { None };
        Some((index, blue.map_or(technique, |blue| blue.cost.min(technique))))
    }

    /// The mean of the notes' costs, in the order of the song, by their weights.
    fn mean(&self, costs: &[f64; 12]) -> f64 {
        let weight: f64 = self.notes.iter().map(|note| note.weight).sum();
        self.notes.iter().zip(costs).map(|(note, cost)| note.weight * cost).sum::<f64>() / weight
    }

    /// What the home notes of the whole harp cost.
    fn home(&self, harp: &Harp, keyboard: &Keyboard) -> f64 {
        let homes = (keyboard.low..=keyboard.high).filter(|midi| self.step(*midi) == 0);
        let (sum, count) = homes
            .fold((0, 0), |(sum, count), midi| (sum + keyboard.at(midi).1.min(HOME_AT_MOST), count + 1_u32));
        let drawn = if self.is_blues && !self.home_is_drawn(harp) { HOME_NOT_DRAWN } else { 0.0 };
        HOME_ELSEWHERE * f64::from(sum) / f64::from(count.max(1)) + drawn
    }

    /// Whether the lowest reed that sounds home is drawn.
    fn home_is_drawn(&self, harp: &Harp) -> bool {
        let reeds = (1..=harp.holes()).flat_map(|hole| [(hole, Breath::Blow), (hole, Breath::Draw)]);
        let homes = reeds.filter_map(|(hole, breath)| Some((harp.reed(hole, breath)?, breath)));
        let homes = homes.filter(|(reed, _)| reed.pitch_class() == self.tonic);
        homes
            .min_by_key(|(reed, breath)| (*reed, *breath == Breath::Blow))
            .is_some_and(|(_, b)| b == Breath::Draw)
    }

    /// A MIDI key as a note of the song.
    fn note(&self, keyboard: &Keyboard, midi: u16) -> Option<ChoiceNote> {
        let note = Note::new(i32::from(midi))?;
        let own = self.notes[self.index(midi)?];
        let (way, cost) = keyboard.at(midi);
        let learning = way.is_some_and(|way| self.ability.mastery(way) == Mastery::Learning);
        let blue = if own.blue { keyboard.blue(midi) } else { None };
        let bent_from = blue.filter(|blue| blue.cost < cost).map(|blue| blue.above);
        Some(ChoiceNote { note, is: own.is, way, learning, cost, bent_from })
    }

    /// Semitones of a MIDI key above the tonic, within the octave.
    fn step(&self, midi: u16) -> usize {
        usize::from((midi + 12 - u16::from(self.tonic.semitones())) % 12)
    }

    fn index(&self, midi: u16) -> Option<usize> {
        self.by_step[self.step(midi)]
    }
}

/// For each note of the song, in their order: what it costs in all octaves of a stretch together, and in how many it
/// occurs.
#[derive(Default)]
struct Sums([(u32, u32); 12]);

impl Sums {
    fn add(&mut self, note: Option<(usize, u32)>) {
        let Some((index, cost)) = note else { return };
        let (sum, count) = &mut self.0[index];
        *sum += cost;
        *count += 1;
    }

    /// Takes away a note that was added.
    fn remove(&mut self, note: Option<(usize, u32)>) {
        let Some((index, cost)) = note else { return };
        let (sum, count) = &mut self.0[index];
        *sum -= cost;
        *count -= 1;
    }

    fn means(&self) -> [f64; 12] {
        self.0.map(|(sum, count)| f64::from(sum) / f64::from(count.max(1)))
    }
}

impl SongNote {
    fn costing(&self, cost: f64) -> ChoiceDegree {
        ChoiceDegree { is: self.is, weight: self.weight, cost }
    }
}
