//! How the even harmonics of each reed stand among the odd ones while it sounds alone, learned from what is heard.
//!
//! A lone reed may have any spectrum, but it has the same one each time (within a few decibels; where it differs, it
//! differs smoothly along the harmonics, which the comparison with the neighbours takes out). A reed an octave above
//! changes the even harmonics and nothing else. On average it adds to them, so of two ways in which a reed is heard
//! the one with less in its even harmonics is that of the lone reed.

use super::fit::HARMONICS;

/// Harmonics that are remembered: the even ones are compared with their odd neighbours on both sides.
pub(super) const COMPARED: usize = 9;
/// Looks from the beginning of a sound that are remembered one by one, because reeds find their spectra one harmonic
/// after the other; all later ones are remembered together.
const AGES: usize = 13;
/// Reeds that are remembered: semitones from the lowest pitch up.
const SEMITONES: usize = 80;
const LOWEST_HZ: f64 = 50.0;
/// What is this far below the strongest harmonic is not compared, decibels.
const FAINT: f64 = 45.0;
/// What a single harmonic can say at most, decibels.
const MOST: f64 = 12.0;
/// Looks of a sound from which something is learned.
const ENOUGH: usize = 8;
/// The most that is believed of what was learned, sounds.
const REMEMBERED: f64 = 4.0;
/// What departs and has not so much more in its even harmonics, decibels, is one reed, and what was remembered was not.
const MORE: f64 = 0.5;
/// How far the even harmonics must be from how they were heard, decibels, and against how far the odd ones are.
const OTHER: f64 = 4.2;
const MARGIN: f64 = 2.5;
/// How far odd harmonics are expected to be before any was compared, decibels, and how much of it is learned from each
/// sound (the looks at one sound say the same): until reeds have shown that they repeat themselves, little is believed.
const UNLIKE: f64 = 5.0;
const UNLIKE_FOLLOWS: f64 = 0.25;

/// The level of each harmonic against the strongest, decibels; `None` where that cannot be told.
pub(super) type Levels = [Option<f64>; COMPARED];

/// The levels of one sound, or of one reed, look by look.
#[derive(Clone, Copy, Debug)]
struct Course {
    means: [[f64; COMPARED]; AGES],
    counts: [[f64; COMPARED]; AGES],
}

impl Course {
    const NONE: Self = Self { means: [[0.0; COMPARED]; AGES], counts: [[0.0; COMPARED]; AGES] };

    fn take(&mut self, age: usize, levels: &Levels, most: f64) {
        let age = age.min(AGES - 1);
        let kept = self.means[age].iter_mut().zip(&mut self.counts[age]);
        for ((mean, count), new) in kept.zip(levels) {
            if let Some(new) = new {
                *count = (*count + 1.0).min(most);
                *mean += (new - *mean) / *count;
            }
        }
    }

    /// What is known of an age, or of the next one at which anything is known.
    fn at(&self, age: usize) -> Levels {
        let age = age.min(AGES - 1);
        let known = |at: &usize| self.counts[*at].iter().any(|count| *count > 0.0);
        let nearest = (0..AGES).filter(known).min_by_key(|at| at.abs_diff(age));
        nearest.map_or([None; COMPARED], |at| {
            let mut all = [None; COMPARED];
            for ((one, mean), count) in all.iter_mut().zip(&self.means[at]).zip(&self.counts[at]) {
                *one = (*count > 0.0).then_some(*mean);
            }
            all
        })
    }
}

/// How far what is heard is from what was learned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Departure {
    /// Mean distance of the even harmonics, decibels.
    pub(super) off: f64,
    /// Mean difference: by how much more the even harmonics have now.
    more: f64,
    /// Mean distance of the odd harmonics, which an octave leaves as they are; `None` if none can be compared.
    odd: Option<f64>,
}

impl Departure {
    /// On the way from this one to a newer one.
    pub(super) fn towards(&self, newer: &Self, share: f64) -> Self {
        let between = |a: f64, b: f64| a + share * (b - a);
        Self { off: between(self.off, newer.off), more: between(self.more, newer.more), odd: newer.odd }
    }
}

/// The departure of one spectrum from another: by how much the difference at the even harmonics differs from that at
/// their odd neighbours, and the same for the odd harmonics among themselves. `None` if they have too little in common.
fn departure(levels: &Levels, known: &Levels) -> Option<Departure> {
    let difference = |i: usize| levels.get(i)?.zip(*known.get(i)?).map(|(now, before)| now - before);
    let stands_out = |i: usize, apart: usize| {
        let beside = match (i.checked_sub(apart).and_then(difference), difference(i + apart)) {
            (Some(below), Some(above)) => f64::midpoint(below, above),
            (below, above) => below.or(above)?,
        };
        Some((difference(i)? - beside).clamp(-MOST, MOST))
    };
    let mean = |all: &mut dyn Iterator<Item = f64>| {
        let (sum, count) = all.fold((0.0, 0.0), |(sum, count), one| (sum + one, count + 1.0));
        (count > 0.0).then(|| sum / count)
    };
    let even = || (1..COMPARED).step_by(2).filter_map(|i| stands_out(i, 1));
    let odd = || (0..COMPARED).step_by(2).filter_map(|i| stands_out(i, 2));
    Some(Departure {
        off: mean(&mut even().map(f64::abs))?,
        more: mean(&mut even())?,
        odd: mean(&mut odd().map(f64::abs)),
    })
}

/// What is remembered of the reeds, and of the sound that goes on.
#[derive(Clone, Debug)]
pub(super) struct Timbres {
    known: Vec<Course>,
    now: Course,
    looks: usize,
    /// How far odd harmonics have been from how they were heard before, decibels: how well these reeds repeat
    /// themselves.
    unlike: f64,
    /// The sum of that over the looks at the sound that goes on, and their number.
    odd: (f64, usize),
}

impl Timbres {
    pub(super) fn new() -> Self {
        Self {
            known: vec![Course::NONE; SEMITONES],
            now: Course::NONE,
            looks: 0,
            unlike: UNLIKE,
            odd: (0.0, 0),
        }
    }

    /// Forgets everything.
    pub(super) fn reset(&mut self) {
        self.known.fill(Course::NONE);
        self.drop_sound();
        self.unlike = UNLIKE;
    }

    /// Takes in how a reed sounds at some age, counted in looks, as long as it may be alone.
    pub(super) fn take(&mut self, age: usize, levels: &Levels) {
        self.now.take(age, levels, f64::INFINITY);
        self.looks += 1;
    }

    /// How far a reed is from how it was heard alone; `None` if it was not.
    pub(super) fn departure(&mut self, slot: usize, age: usize, levels: &Levels) -> Option<Departure> {
        let departure = departure(levels, &self.known.get(slot)?.at(age))?;
        if let Some(odd) = departure.odd {
            self.odd = (self.odd.0 + odd, self.odd.1 + 1);
        }
        Some(departure)
    }

    /// How far no lone reed would be, decibels, where the odd harmonics are this far.
    fn most_of_one(&self, odd: Option<f64>) -> f64 {
        OTHER.max(MARGIN * odd.unwrap_or(MOST).max(self.unlike))
    }

    /// Whether a departure is that of an octave, as far as this share of what it takes.
    pub(super) fn octave(&self, departure: &Departure, share: f64) -> bool {
        departure.more >= MORE && departure.off > share * self.most_of_one(departure.odd)
    }

    /// The sound is over. How well its odd harmonics repeated themselves is learned from every sound.
    pub(super) fn drop_sound(&mut self) {
        let (sum, looks) = self.odd;
        if looks >= ENOUGH {
            self.unlike += UNLIKE_FOLLOWS * (sum / looks as f64 - self.unlike);
        }
        (self.now, self.looks, self.odd) = (Course::NONE, 0, (0.0, 0));
    }

    /// The sound is over and was that of this reed alone.
    pub(super) fn learn(&mut self, slot: usize) {
        if let Some(known) = self.known.get_mut(slot).filter(|_| self.looks >= ENOUGH) {
            let (mut off, mut more) = (0.0, 0.0);
            for departure in (0..AGES).filter_map(|age| departure(&self.now.at(age), &known.at(age))) {
                off += departure.off / AGES as f64;
                more += departure.more / AGES as f64;
            }
            if off > OTHER && more < MORE {
                *known = Course::NONE;
            }
            for age in 0..AGES {
                if self.now.counts[age].iter().any(|count| *count > 0.0) {
                    known.take(age, &self.now.at(age), REMEMBERED);
                }
            }
        }
        self.drop_sound();
    }
}

/// Where a reed of this pitch is remembered; two reeds of one pitch are one here.
pub(super) fn slot(hz: f64) -> usize {
    (12.0 * (hz / LOWEST_HZ).log2()).round().max(0.0) as usize
}

/// The levels of the harmonics of a voice, as far as these are clear of other voices.
pub(super) fn levels(amplitudes: &[f64; HARMONICS], clear: &[bool; COMPARED]) -> Levels {
    let strongest = amplitudes.iter().copied().fold(1.0e-9, f64::max);
    let db = |amplitude: f64| (20.0 * (amplitude / strongest).max(1.0e-9).log10()).max(-FAINT);
    std::array::from_fn(|i| (clear[i] && amplitudes[i] > 0.0).then(|| db(amplitudes[i])))
}
