//! The state of the map: which harp, position, scale and ability are looked at, and what follows from them.

mod chords;
mod turn;

use crate::InTime;
use crate::keys::Command;
use layout::{Breath, Harp, KnownTuning, Note, Temperament, Tuning, Tunings, Way};
use practice::Drill;
use practice::run::{
    Clicking, Material, Metre, Over, Plan, Rhythm, ScaleRun, Shape, StartAt, Swing, Tempi, Tempo, Value,
};
use theory::{
    Ability, Level, Named, PlayerNote, Position, Progressions, Purpose, Scale, ScaleInKey, ScaleMap, Scales,
    for_player,
};

pub(crate) use chords::ChordLine;
pub(crate) use turn::turned;

/// The scale that the map shows first: what most players of the harp play (common practice, no source).
const USUAL_SCALE: &str = "blues";

/// What the map can choose from, and what the list offers besides the drills.
#[derive(Clone, Debug)]
pub struct Library {
    /// Tunings.
    pub tunings: Vec<KnownTuning>,
    /// Temperaments, equal temperament first.
    pub temperaments: Vec<Temperament>,
    /// Scales.
    pub scales: Scales,
    /// Progressions, over which a jam goes.
    pub progressions: Progressions,
    /// What the player commands.
    pub ability: Ability,
    /// What is played in time.
    pub in_time: Vec<InTime>,
}

impl Default for Library {
    fn default() -> Self {
        Self {
            tunings: Tunings::ours().iter().cloned().collect(),
            temperaments: Temperament::ours(),
            scales: Scales::ours(),
            progressions: Progressions::ours(),
            ability: Ability::default(),
            in_time: InTime::ours(),
        }
    }
}

impl Library {
    /// The temperament of the harp's reeds, if it is one that has a name.
    pub(crate) fn temperament_of(&self, harp: &Harp) -> Option<&Temperament> {
        self.temperaments.get(self.temperament_index(harp)?)
    }

    /// The place of the scale of that name, or of the usual one.
    fn scale_index(&self, name: Option<&str>) -> usize {
        let called = |name| self.scales.iter().position(|scale| scale.is_called(name));
        name.and_then(called).or_else(|| called(USUAL_SCALE)).unwrap_or(0)
    }

    /// The scale of that name, or the usual one; `None` if there is none at all.
    pub(crate) fn scale(&self, name: Option<&str>) -> Option<&Scale> {
        self.scales.iter().nth(self.scale_index(name))
    }

    /// The scale before or after the one of that name; `None` if there is none at all.
    pub(crate) fn scale_beside(&self, name: Option<&str>, forward: bool) -> Option<&Scale> {
        let count = self.scales.iter().count();
        self.scales.iter().nth(turn::wrapped(self.scale_index(name), forward, count))
    }

    fn temperament_index(&self, harp: &Harp) -> Option<usize> {
        let reeds = || (1..=harp.holes()).flat_map(|hole| [(hole, Breath::Blow), (hole, Breath::Draw)]);
        self.temperaments.iter().position(|temperament| {
            let bare = Harp::new(harp.key(), harp.tuning().clone(), harp.concert());
            let tempered = bare.with_reed_cents(temperament.reed_cents(harp.tuning()));
            reeds().all(|(hole, breath)| harp.reed_cents(hole, breath) == tempered.reed_cents(hole, breath))
        })
    }
}

/// The map of a harp.
#[derive(Clone, Debug)]
pub(crate) struct Mapping {
    library: Library,
    position: Position,
    scale: usize,
    /// The level that is looked at instead of the player's own.
    level: Option<Level>,
    /// The note looked at.
    note: Option<Note>,
    /// The chord looked at.
    chord: Option<usize>,
    drawn_from: Drawn,
}

/// What follows from the choices; made anew when one of them changes.
#[derive(Clone, Debug)]
struct Drawn {
    key: ScaleInKey,
    ability: Ability,
    notes: Vec<PlayerNote>,
    chords: Vec<ChordLine>,
    purpose: Purpose,
    reach: Vec<Reach>,
}

/// A position, its tonic, and how many notes of the scale the player reaches there, of how many.
type Reach = (Position, String, usize, usize);

impl Drawn {
    fn new(harp: &Harp, key: ScaleInKey, ability: Ability) -> Self {
        let notes = for_player(harp, ScaleMap::new(harp, &key).notes_either_way(), &ability);
        let chords = ChordLine::all(harp, &key);
        let purpose = Purpose::new(harp, &key);
        let reach = Position::all().map(|position| reach(harp, (position, key.scale()), &ability)).collect();
        Self { key, ability, notes, chords, purpose, reach }
    }
}

/// How much of a scale a player reaches in a position.
fn reach(harp: &Harp, (position, scale): (Position, &Scale), ability: &Ability) -> Reach {
    let key = ScaleInKey::in_position(scale.clone(), harp, position);
    let map = ScaleMap::new(harp, &key);
    let reached = map.notes().iter().filter(|note| note.ways.iter().any(|way| ability.reaches(*way))).count();
    (position, key.tonic().to_string(), reached, map.notes().len())
}

impl Mapping {
    /// The map of `harp` in `position` with the scale of that name, or the usual one; `None` if the library
    /// has no scale.
    pub(crate) fn new(
        library: Library,
        harp: &Harp,
        position: Position,
        scale: Option<&str>,
    ) -> Option<Self> {
        let usual = library.scale_index(scale);
        let scale = library.scales.iter().nth(usual)?.clone();
        let key = ScaleInKey::in_position(scale, harp, position);
        let drawn_from = Drawn::new(harp, key, library.ability.clone());
        let mut map =
            Self { library, position, scale: usual, level: None, note: None, chord: None, drawn_from };
        map.note =
            map.notes().iter().find(|note| note.note.is.step.semitones() == 0).map(|note| note.note.note);
        Some(map)
    }

    /// Works out anew what follows from the choices.
    pub(crate) fn rebuild(&mut self, harp: &Harp) {
        let scale = self.library.scales.iter().nth(self.scale).unwrap_or_else(|| self.drawn_from.key.scale());
        let key = ScaleInKey::in_position(scale.clone(), harp, self.position);
        self.drawn_from = Drawn::new(harp, key, self.ability_looked_at());
        self.chord = self.chord.filter(|chord| *chord < self.chords().len());
        let wanted = self.note.map_or(0, |note| i32::from(note.midi()));
        let near = |note: &&PlayerNote| (i32::from(note.note.note.midi()) - wanted).abs();
        self.note = self.notes().iter().min_by_key(near).map(|note| note.note.note);
    }

    fn ability_looked_at(&self) -> Ability {
        let own = &self.library.ability;
        self.level.map_or_else(|| own.clone(), |level| own.on_level(level))
    }

    /// What the player is taken to command, in words.
    pub(crate) fn ability_words(&self) -> String {
        match self.level {
            Some(level) => format!("if you play {}", level.about()),
            None if self.library.ability.departures().next().is_some() => {
                format!("for you: {}, with your own exceptions", self.library.ability.level().about())
            }
            None => format!("for you: {}", self.library.ability.level().about()),
        }
    }

    /// The position.
    pub(crate) fn position(&self) -> Position {
        self.position
    }

    /// The scale on its tonic.
    pub(crate) fn key(&self) -> &ScaleInKey {
        &self.drawn_from.key
    }

    /// What the player is taken to command: the level looked at, or his own.
    pub(crate) fn ability(&self) -> &Ability {
        &self.drawn_from.ability
    }

    /// Every note of the scale over the harp, from the lowest.
    pub(crate) fn notes(&self) -> &[PlayerNote] {
        &self.drawn_from.notes
    }

    /// The note looked at.
    pub(crate) fn note(&self) -> Option<&PlayerNote> {
        self.notes().iter().find(|note| Some(note.note.note) == self.note)
    }

    /// The chords of the harp.
    pub(crate) fn chords(&self) -> &[ChordLine] {
        &self.drawn_from.chords
    }

    /// What the position is for, in a few parts, each of which says something by itself.
    pub(crate) fn purpose_words(&self) -> Vec<String> {
        let purpose = &self.drawn_from.purpose;
        // What stands after a colon is the reason, for which a line has no room.
        let suits =
            purpose.suits.and_then(|words| words.split(':').next()).map(|words| format!("for {words}"));
        let rest = [purpose.chord_names(self.key()), purpose.lack_names()];
        suits.into_iter().chain(rest).collect()
    }

    /// How much of the scale the player reaches in each position.
    pub(crate) fn reach(&self) -> &[Reach] {
        &self.drawn_from.reach
    }

    /// Which chord is looked at.
    pub(crate) fn chord_index(&self) -> Option<usize> {
        self.chord
    }

    /// The chord looked at.
    pub(crate) fn chord(&self) -> Option<&ChordLine> {
        self.chords().get(self.chord?)
    }

    /// Looks at another note of the scale: the next one up or down, an octave up or down, the lowest, the highest.
    pub(crate) fn step_note(&mut self, command: Command) {
        let notes: Vec<Note> = self.notes().iter().map(|note| note.note.note).collect();
        let now = notes.iter().position(|note| Some(*note) == self.note).unwrap_or(0);
        let octave = |half_steps: i32| {
            let wanted = i32::from(notes.get(now)?.midi()) + half_steps;
            (0..notes.len()).min_by_key(|i| (i32::from(notes[*i].midi()) - wanted).abs())
        };
        let next = match command {
            Command::Up => Some(now + 1),
            Command::Down => now.checked_sub(1),
            Command::PageUp => octave(12),
            Command::PageDown => octave(-12),
            Command::First => Some(0),
            Command::Last => notes.len().checked_sub(1),
            _ => None,
        };
        self.note = next.and_then(|next| notes.get(next).copied()).or(self.note);
    }

    /// A drill of the notes of the scale that the player can reach, upwards; `None` if there are none. Its title is
    /// true on a harp of any key.
    pub(crate) fn drill(&self) -> Option<Drill> {
        let ways: Vec<Way> = self.notes().iter().filter_map(|note| note.way).collect();
        let title = format!("Up the {} scale, {}", self.key().scale().name(), self.position);
        (!ways.is_empty()).then(|| Drill::of_ways(title, ways))
    }

    /// Runs over the scale up and down, in eighths at the tempo of the last run, or at the usual one; `None` if the
    /// player reaches nothing of it. The delay is left open, because it depends on the source of the sound.
    pub(crate) fn plan(&self, harp: &Harp, tempo: Option<Tempo>) -> Option<Plan> {
        let rhythm =
            Rhythm::new(tempo.unwrap_or(Tempo::USUAL), Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT)
                .ok()?;
        let (key, shape) = (self.key(), Shape::Both);
        let run = ScaleRun { key, shape, range: None, ability: self.ability(), seed: 0 };
        let material = run.material(harp, rhythm).ok()?;
        let over = over_home(&self.library.progressions, (key, harp), &material);
        Some(plan_of(material, over))
    }

    /// Looks at the next chord, and after the last one at none.
    pub(crate) fn step_chord(&mut self) {
        let next = self.chord.map_or(0, |chord| chord + 1);
        self.chord = (next < self.chords().len()).then_some(next);
    }

    /// The frequencies of the scale's octave around the note looked at, up and down again, hertz.
    pub(crate) fn run(&self, harp: &Harp) -> Vec<Vec<f64>> {
        let Some(around) = self.note else { return Vec::new() };
        let map = ScaleMap::new(harp, self.key());
        let octaves = map.octaves();
        let octave = octaves
            .iter()
            .find(|octave| octave.range().is_some_and(|(low, high)| low <= around && around < high))
            .or(octaves.last());
        let Some((low, high)) = octave.and_then(theory::Octave::range) else { return Vec::new() };
        let (up, down) = (map.run_up(low, high), map.run_down(high, low));
        up.iter()
            .chain(down.iter().skip(1))
            .filter_map(|note| Some(vec![harp.hz(note.simplest()?)?]))
            .collect()
    }
}

/// How many runs one practice has. Our own choice.
const RUNS: u32 = 4;

/// The band that suits notes in a key: over the chord of home, silent until it is wanted.
pub(crate) fn over_home(
    progressions: &Progressions,
    (key, harp): (&ScaleInKey, &Harp),
    material: &Material,
) -> Option<Over> {
    let home = Over::home(key.tonic().pitch_class(), material.classes(harp));
    let over = Over::new(progressions.find(home).ok()?, (key, harp), &material.rhythm).ok()?;
    Some(Over { sounds: false, ..over })
}

/// Runs from a count-in, faster after clean ones, to the click. The delay depends on the source of the sound and
/// is left open.
pub(crate) fn plan_of(material: Material, over: Option<Over>) -> Plan {
    Plan {
        material,
        start: StartAt::CountIn,
        runs: RUNS,
        tempi: Tempi::Steps,
        own_tempo_first: false,
        clicking: Clicking::default(),
        over,
        delay_s: None,
    }
}

/// The harp with this tuning, its reeds in this temperament if there is one.
pub(crate) fn harp_with(harp: &Harp, tuning: Tuning, temperament: Option<&Temperament>) -> Harp {
    let cents = temperament.map(|temperament| temperament.reed_cents(&tuning)).unwrap_or_default();
    Harp::new(harp.key(), tuning, harp.concert()).with_reed_cents(cents)
}
