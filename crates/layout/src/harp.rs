//! A harp: key, tuning, reference pitch, and what can be played on it.

use crate::{Breath, ConcertPitch, HarpKey, Note, PitchClass, Technique, Tuning, Way};
use serde::{Deserialize, Serialize};

/// Cent offsets of the single reeds from equal temperament, one entry per hole.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ReedCents {
    /// Offsets of the blow reeds from hole 1 upwards; a missing entry is 0.
    pub blow: Vec<f64>,
    /// Offsets of the draw reeds from hole 1 upwards; a missing entry is 0.
    pub draw: Vec<f64>,
}

impl ReedCents {
    /// The sum of two sets of offsets, reed by reed, such as those of a temperament and of a worn harp.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        Self { blow: sums(&self.blow, &other.blow), draw: sums(&self.draw, &other.draw) }
    }
}

/// The sums of two lists, the shorter one filled with zeros.
fn sums(a: &[f64], b: &[f64]) -> Vec<f64> {
    let at = |list: &[f64], i: usize| list.get(i).copied().unwrap_or(0.0);
    (0..a.len().max(b.len())).map(|i| at(a, i) + at(b, i)).collect()
}

/// A harp in the hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Harp {
    key: HarpKey,
    tuning: Tuning,
    concert: ConcertPitch,
    reed_cents: ReedCents,
}

impl Harp {
    /// A harp of any tuning, reeds in equal temperament.
    pub fn new(key: HarpKey, tuning: Tuning, concert: ConcertPitch) -> Self {
        Self { key, tuning, concert, reed_cents: ReedCents::default() }
    }

    /// A Richter harp at A4 = 440 Hz.
    pub fn richter(key: HarpKey) -> Self {
        Self::new(key, Tuning::richter(), ConcertPitch::ISO)
    }

    /// The same harp with its reeds off equal temperament by these cents.
    #[must_use]
    pub fn with_reed_cents(self, reed_cents: ReedCents) -> Self {
        Self { reed_cents, ..self }
    }

    /// How far each of its reeds lies from equal temperament.
    pub fn all_reed_cents(&self) -> &ReedCents {
        &self.reed_cents
    }

    /// The key it is stamped with.
    pub fn key(&self) -> HarpKey {
        self.key
    }

    /// The tonic of its first position.
    pub fn home(&self) -> PitchClass {
        self.key.pitch_class().up(i32::from(self.tuning.home()))
    }

    /// Its reeds.
    pub fn tuning(&self) -> &Tuning {
        &self.tuning
    }

    /// Its reference pitch.
    pub fn concert(&self) -> ConcertPitch {
        self.concert
    }

    /// Number of holes.
    pub fn holes(&self) -> u8 {
        self.tuning.holes()
    }

    /// The note of a reed, or `None` if the harp has no such hole (or the reed lies outside MIDI).
    pub fn reed(&self, hole: u8, breath: Breath) -> Option<Note> {
        let reeds = match breath {
            Breath::Blow => self.tuning.blow(),
            Breath::Draw => self.tuning.draw(),
        };
        let semitones = reeds.get(usize::from(hole).checked_sub(1)?)?;
        self.key.blow_1().up(i32::from(*semitones))
    }

    /// The cents by which a reed lies above equal temperament.
    pub fn reed_cents(&self, hole: u8, breath: Breath) -> f64 {
        let offsets = match breath {
            Breath::Blow => &self.reed_cents.blow,
            Breath::Draw => &self.reed_cents.draw,
        };
        usize::from(hole).checked_sub(1).and_then(|i| offsets.get(i)).copied().unwrap_or(0.0)
    }

    /// The breath that bends in this hole: the breath of the higher reed. `None` where both reeds sound the same note.
    pub fn bending_breath(&self, hole: u8) -> Option<Breath> {
        let (blow, draw) = (self.reed(hole, Breath::Blow)?, self.reed(hole, Breath::Draw)?);
        match draw.cmp(&blow) {
            std::cmp::Ordering::Greater => Some(Breath::Draw),
            std::cmp::Ordering::Less => Some(Breath::Blow),
            std::cmp::Ordering::Equal => None,
        }
    }

    /// How many semitones the hole bends: the gap between its reeds less one (see [`Harp::play`]).
    pub fn deepest_bend(&self, hole: u8) -> u8 {
        match (self.reed(hole, Breath::Blow), self.reed(hole, Breath::Draw)) {
            (Some(blow), Some(draw)) => blow.midi().abs_diff(draw.midi()).saturating_sub(1),
            _ => 0,
        }
    }

    /// What sounds when this way is played, or `None` where the harp cannot do it ([`Harp::play`] says why).
    pub fn note(&self, way: Way) -> Option<Note> {
        self.play(way).ok()
    }

    /// The frequency at which this way is in tune: the reed's own pitch for a natural note, the note of equal
    /// temperament for a bend or an overbend, whose pitch the player makes.
    pub fn hz(&self, way: Way) -> Option<f64> {
        let cents = match way.technique {
            Technique::Natural => self.reed_cents(way.hole, way.breath),
            Technique::Bend(_) | Technique::Overbend => 0.0,
        };
        Some(self.concert.hz(self.note(way)?, cents))
    }

    /// Every way to play, hole by hole: blow, draw, the bends from shallow to deep, the overbend.
    pub fn ways(&self) -> impl Iterator<Item = Way> + '_ {
        (1..=self.holes()).flat_map(move |hole| self.ways_of_hole(hole))
    }

    /// The ways of one hole, in the order of [`Harp::ways`].
    pub fn ways_of_hole(&self, hole: u8) -> impl Iterator<Item = Way> + '_ {
        let naturals =
            [Breath::Blow, Breath::Draw].map(move |breath| Way::new(hole, breath, Technique::Natural));
        let bending = self.bending_breath(hole);
        let bends = bending.into_iter().flat_map(move |breath| {
            (1..=self.deepest_bend(hole)).map(move |depth| Way::new(hole, breath, Technique::Bend(depth)))
        });
        let overbend = bending.map(|breath| Way::new(hole, breath.other(), Technique::Overbend));
        naturals.into_iter().chain(bends).chain(overbend).filter(move |way| self.note(*way).is_some())
    }

    /// All the ways to sound `note`, the simplest technique first: natural, then shallow bends, then overbends.
    pub fn ways_to(&self, note: Note) -> Vec<Way> {
        let mut ways: Vec<Way> = self.ways().filter(|way| self.note(*way) == Some(note)).collect();
        ways.sort_by_key(|way| way.technique);
        ways
    }
}
