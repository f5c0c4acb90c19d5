//! Questions from a seed, the harp, the scale and what the player commands.

use super::{Asks, EarPlan, Question, Shape, Wanted};
use layout::{Harp, Note, Technique};
use oorandom::Rand64;
use scoring::reeds::Holes;
use scoring::timed::AskedNote;
use theory::{Degree, ScaleInKey, ScaleMap, for_player};

/// A note of a call, seconds: a beat at 90 a minute, slow enough to be sung back. The last one is longer.
const BEAT_S: f64 = 60.0 / 90.0;
const LAST_BEATS: f64 = 1.5;
/// Steps from note to note of the scale, negative down, each as likely as it stands here: melodies move by steps rather
/// than by leaps (common practice, no source).
const STEPS: [i32; 12] = [-3, -2, -2, -1, -1, -1, 1, 1, 1, 2, 2, 3];
/// The largest leap in a call, half steps: where notes are out of reach, the next one of the scale may lie far.
const LEAP: u8 = 9;
/// The largest interval that is asked, half steps.
const OCTAVE: u8 = 12;
/// So many calls are tried until one fits.
const TRIES: usize = 200;

/// A question of this number, a call of so many notes; `None` where the player reaches too little for one.
pub(super) fn question(plan: &EarPlan, harp: &Harp, (number, length): (u32, usize)) -> Option<Question> {
    let which = u64::from(number) << 8 | length as u64;
    let seed = mixed(plan.seed ^ mixed(which));
    let mut making = Making { plan, harp, random: Rand64::new(seed.into()) };
    let asks = match plan.shape {
        Shape::Call => making.call(length)?,
        Shape::Drone => Asks::Drone(making.one_of(&making.reached(&plan.key))?),
        Shape::Interval => making.interval()?,
        Shape::Degree => making.degree()?,
        Shape::Depth => making.depth()?,
    };
    Some(Question { number, attempt: 1, asks })
}

/// Numbers that differ little become numbers that differ in every bit, so that one question does not resemble the next:
/// the finalizer of `SplitMix64` (Steele, Lea & Flood, Fast splittable pseudorandom number generators, OOPSLA 2014;
/// from memory).
fn mixed(number: u64) -> u64 {
    let mut z = number.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A note as this player plays it, in a key; `None` where it is out of reach.
pub(super) fn wanted(plan: &EarPlan, harp: &Harp, (note, key): (Note, &ScaleInKey)) -> Option<Wanted> {
    let way = plan.ability.ways_to(harp, note).into_iter().find(|way| plan.ability.reaches(*way))?;
    Some(Wanted { note, way, degree: key.degree_of(note.pitch_class()) })
}

struct Making<'a> {
    plan: &'a EarPlan,
    harp: &'a Harp,
    random: Rand64,
}

impl Making<'_> {
    /// The notes of a scale that the player reaches, from the lowest up.
    fn reached(&self, key: &ScaleInKey) -> Vec<Wanted> {
        let map = ScaleMap::new(self.harp, key);
        let notes = for_player(self.harp, map.notes_either_way(), &self.plan.ability);
        let wanted = |note: &theory::PlayerNote| {
            Some(Wanted { note: note.note.note, way: note.way?, degree: note.note.is.step.degree })
        };
        notes.iter().filter_map(wanted).collect()
    }

    fn below(&mut self, count: usize) -> usize {
        self.random.rand_range(0..count.max(1) as u64) as usize
    }

    fn one_of(&mut self, notes: &[Wanted]) -> Option<Wanted> {
        let at = self.below(notes.len());
        notes.get(at).copied()
    }

    fn call(&mut self, length: usize) -> Option<Asks> {
        let notes = self.reached(&self.plan.key);
        (0..TRIES).find_map(|_| {
            let call = self.walk(&notes, length)?;
            let answer = match &self.plan.elsewhere {
                Some(other) => self.moved(&call, other)?,
                None => call.clone(),
            };
            Some(Asks::Call { sounded: in_time(&call), answer })
        })
    }

    /// A walk through the notes of the scale, never twice the same note in a row.
    fn walk(&mut self, notes: &[Wanted], length: usize) -> Option<Vec<Wanted>> {
        let mut at = self.below(notes.len());
        let mut walk = vec![*notes.get(at)?];
        while walk.len() < length {
            let step = STEPS[self.below(STEPS.len())];
            let next = usize::try_from(i64::try_from(at).ok()? + i64::from(step)).ok()?;
            let note = notes.get(next)?;
            if note.note.midi().abs_diff(walk.last()?.note.midi()) > LEAP {
                return None;
            }
            walk.push(*note);
            at = next;
        }
        Some(walk)
    }

    /// The same degrees on another tonic, as near as the player reaches all of them.
    fn moved(&self, call: &[Wanted], key: &ScaleInKey) -> Option<Vec<Wanted>> {
        let home = self.plan.key.tonic().pitch_class();
        let up = i32::from(home.semitones_to(key.tonic().pitch_class()));
        let mut shifts = [up, up - 12, up + 12, up - 24];
        shifts.sort_by_key(|shift| shift.abs());
        shifts.into_iter().filter(|shift| *shift != 0).find_map(|shift| {
            let moved = |note: &Wanted| {
                let moved = wanted(self.plan, self.harp, (note.note.up(shift)?, key))?;
                Some(Wanted { degree: note.degree, ..moved })
            };
            call.iter().map(moved).collect()
        })
    }

    /// An interval from a natural note: it is named by its hole.
    fn interval(&mut self) -> Option<Asks> {
        let notes = self.reached(&self.plan.key);
        let mut pairs = Vec::new();
        for from in notes.iter().filter(|note| note.way.technique == Technique::Natural) {
            let near = |to: &&Wanted| (1..=OCTAVE).contains(&from.note.midi().abs_diff(to.note.midi()));
            pairs.extend(notes.iter().filter(near).map(|to| (*from, *to)));
        }
        let at = self.below(pairs.len());
        pairs.get(at).map(|(from, to)| Asks::Interval { from: *from, to: *to })
    }

    fn degree(&mut self) -> Option<Asks> {
        let notes = self.reached(&self.plan.key);
        let is_tonic = |note: &&Wanted| note.degree == Degree::TONIC;
        // Each degree is as likely as any other, whether it is within reach in one octave or in three.
        let mut degrees: Vec<Degree> = notes.iter().map(|note| note.degree).collect();
        degrees.retain(|degree| *degree != Degree::TONIC);
        degrees.sort_unstable();
        degrees.dedup();
        let degree = *degrees.get(self.below(degrees.len()))?;
        let of_degree: Vec<Wanted> = notes.iter().filter(|note| note.degree == degree).copied().collect();
        let to = self.one_of(&of_degree)?;
        let tonics = || notes.iter().filter(is_tonic);
        let tonic = tonics().rfind(|tonic| tonic.note < to.note).or_else(|| tonics().next())?;
        Some(Asks::Degree { tonic: *tonic, to })
    }

    /// A bend whose note no reed sounds by itself: otherwise the ear could not ask for the bend.
    fn depth(&mut self) -> Option<Asks> {
        let (harp, ability) = (self.harp, &self.plan.ability);
        let is_bend = |way: &layout::Way| matches!(way.technique, Technique::Bend(_));
        let only_bent = |note: Note| harp.ways_to(note).iter().all(|way| way.technique != Technique::Natural);
        let bend = |way: layout::Way| {
            let note = harp.note(way).filter(|note| only_bent(*note))?;
            Some(Wanted { note, way, degree: self.plan.key.degree_of(note.pitch_class()) })
        };
        let bends: Vec<Wanted> = ability.ways(harp).filter(is_bend).filter_map(bend).collect();
        self.one_of(&bends).map(Asks::Depth)
    }
}

/// Notes on the beats, the last one longer.
fn in_time(call: &[Wanted]) -> Vec<AskedNote> {
    let note = |(at, wanted): (usize, &Wanted)| {
        let is_last = at + 1 == call.len();
        let length_s = if is_last { LAST_BEATS * BEAT_S } else { BEAT_S };
        let onset_s = at as f64 * BEAT_S;
        AskedNote {
            way: wanted.way,
            note: wanted.note,
            onset_s,
            length_s,
            bar: at / 4,
            joined: false,
            holes: Holes::NONE,
        }
    };
    call.iter().enumerate().map(note).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Way};

    /// The first three numbers of the generator with the seed 1234567, as they are given to check a `SplitMix64` by
    /// (from memory). Each is made of a state that is further by the same odd number than the one before.
    #[test]
    fn numbers_are_mixed_as_published() {
        let state = |at: u64| 1_234_567_u64.wrapping_add(at.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let numbers = [0, 1, 2].map(|at| mixed(state(at)));
        assert_eq!(
            numbers,
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]
        );
    }

    /// At 90 a minute a beat lasts two thirds of a second, and the last note one and a half beats.
    #[test]
    fn a_call_is_sounded_on_the_beats_four_to_a_bar_and_its_last_note_is_longer() {
        let way = Way::new(4, Breath::Blow, Technique::Natural);
        let note = Wanted { note: "C5".parse().unwrap(), way, degree: Degree::TONIC };
        let sounded = in_time(&[note; 5]);
        for (at, own) in sounded.iter().enumerate() {
            let length_s = if at == 4 { 1.0 } else { 2.0 / 3.0 };
            assert!((own.onset_s - at as f64 * 2.0 / 3.0).abs() < 1e-9, "{own:?}");
            assert!((own.length_s - length_s).abs() < 1e-9, "{own:?}");
        }
        assert_eq!(sounded.iter().map(|note| note.bar).collect::<Vec<_>>(), [0, 0, 0, 0, 1]);
    }
}
