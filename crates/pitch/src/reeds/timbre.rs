//! What the spectrum says for a reed an octave above another: the upper one adds to the even harmonics and to no others.
//!
//! By how much the even harmonics of a lone reed stand out from the odd ones beside them differs from reed to reed, but
//! each reed sounds about the same each time (where it does not, it differs smoothly along the harmonics, which the
//! comparison with the neighbours takes out). So that is learned of every reed that sounds without another an octave above,
//! together with how well these reeds repeat themselves; and each even harmonic is weighed under both, the lone reed and
//! the octave (a Bayes factor), from what is expected of any reed and what was heard of this one, as far as either is sure.

/// Harmonics that are compared: each even one with its odd neighbours on both sides.
pub(super) const COMPARED: usize = 11;
/// Looks from the beginning of a sound that are remembered one by one, because reeds find their spectra one harmonic
/// after the other; all later ones are remembered together.
const AGES: usize = 13;
/// Reeds that are remembered: semitones from the lowest pitch up.
const SEMITONES: usize = 80;
const LOWEST_HZ: f64 = 50.0;
/// What is this far below the strongest harmonic is not compared, decibels.
const FAINT: f64 = 45.0;
/// What a single harmonic can say at most, decibels.
const MOST: f64 = 15.0;
/// Looks of a sound from which something is learned.
const ENOUGH: usize = 8;
/// The most that is believed of what was learned, sounds.
const REMEMBERED: f64 = 4.0;
/// What has less in its even harmonics by so many decibels is one reed, and what was remembered was not.
const LESS: f64 = 3.0;
/// By how much an even harmonic of any lone reed stands out, and the standard deviation of that; what an octave adds to it,
/// and the standard deviation of that, decibels (sampled and additive reeds).
const LONE: (f64, f64) = (0.0, 7.0);
const ADDED: (f64, f64) = (6.0, 6.0);
/// The standard deviation of an even harmonic of a lone reed against how it was heard before, decibels: before anything
/// is known of that, at least, and how much of it is learned from each sound.
const STRAYS: f64 = 8.0;
const STRAYS_LEAST: f64 = 1.2;
const STRAYS_FOLLOW: f64 = 0.25;
/// And against how far the odd harmonics are at the same look.
const AS_ODD: f64 = 1.4;
/// Degrees of freedom of Student's distribution, whose tails outliers have.
const FREEDOM: f64 = 4.0;
/// The even harmonics of one look say this share of what they would say if each were chance alone.
const SHARED: f64 = 0.6;
/// The most that the spectrum says, nats.
pub(super) const SAID_MOST: f64 = 4.0;

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
            std::array::from_fn(|i| (self.counts[at][i] > 0.0).then_some(self.means[at][i]))
        })
    }
}

/// By how much harmonic `i` (the fundamental is 0) stands out from those so far apart on both sides, decibels.
fn stands_out(levels: &Levels, i: usize, apart: usize) -> Option<f64> {
    let level = |i: usize| levels.get(i).copied().flatten();
    let beside = match (i.checked_sub(apart).and_then(level), level(i + apart)) {
        (Some(below), Some(above)) => f64::midpoint(below, above),
        (below, above) => below.or(above)?,
    };
    Some((level(i)? - beside).clamp(-MOST, MOST))
}

/// By how much each harmonic lies above where it was known to lie.
fn against(levels: &Levels, known: &Levels) -> Levels {
    std::array::from_fn(|i| levels[i].zip(known[i]).map(|(now, before)| now - before))
}

/// The even harmonics; the fundamental is number 0.
fn even() -> impl Iterator<Item = usize> {
    (1..COMPARED).step_by(2)
}

/// What was heard of one reed in the sound that goes on.
#[derive(Clone, Debug)]
pub(super) struct Heard {
    course: Course,
    looks: usize,
}

impl Heard {
    pub(super) const NOTHING: Self = Self { course: Course::NONE, looks: 0 };
}

/// What is remembered of the reeds.
#[derive(Clone, Debug)]
pub(super) struct Timbres {
    known: Vec<Course>,
    /// The variance of an even harmonic of a lone reed against how it was heard before, square of decibels.
    strays: f64,
}

impl Timbres {
    pub(super) fn new() -> Self {
        Self { known: vec![Course::NONE; SEMITONES], strays: STRAYS * STRAYS }
    }

    /// Forgets everything.
    pub(super) fn reset(&mut self) {
        self.known.fill(Course::NONE);
        self.strays = STRAYS * STRAYS;
    }

    /// Takes in how a reed sounds at some age, counted in looks, and tells what that says for an octave, nats.
    pub(super) fn hear(&self, slot: usize, heard: &mut Heard, (age, levels): (usize, &Levels)) -> f64 {
        heard.course.take(age, levels, f64::INFINITY);
        heard.looks += 1;
        let known = self.known.get(slot).map_or([None; COMPARED], |known| known.at(age));
        let against = against(levels, &known);
        let odd = (0..COMPARED).step_by(2).filter_map(|i| stands_out(&against, i, 2));
        let (sum, count) = odd.fold((0.0, 0.0), |(sum, count), one| (sum + one.abs(), count + 1.0));
        let strays = self.strays.max((AS_ODD * sum / f64::max(count, 1.0)).powi(2));
        let log = |off: f64, variance: f64| {
            -0.5 * ((FREEDOM + 1.0) * (off * off / (FREEDOM * variance)).ln_1p() + variance.ln())
        };
        let mut said = 0.0;
        for i in even() {
            let Some(any) = stands_out(levels, i, 1).map(|excess| excess - LONE.0) else { continue };
            let variance = LONE.1 * LONE.1;
            let (more, variance) = stands_out(&against, i, 1).map_or((any, variance), |own| {
                let share = variance / (variance + strays);
                (share * own + (1.0 - share) * any, share * strays)
            });
            said += SHARED * (log(more - ADDED.0, variance + ADDED.1 * ADDED.1) - log(more, variance));
        }
        said.clamp(-SAID_MOST, SAID_MOST)
    }

    /// The sound of this reed, which had no other an octave above, is over. How well reeds repeat themselves is learned
    /// from all of these, how this one sounds only if it was `alone`: what nobody told may lie on the lines of a chord.
    pub(super) fn learn(&mut self, slot: usize, heard: &Heard, alone: bool) {
        let Some(known) = self.known.get_mut(slot).filter(|_| heard.looks >= ENOUGH) else { return };
        let (mut more, mut square, mut count) = (0.0, 0.0, 0.0);
        for age in 0..AGES {
            let against = against(&heard.course.at(age), &known.at(age));
            for own in even().filter_map(|i| stands_out(&against, i, 1)) {
                (more, square, count) = (more + own, square + own * own, count + 1.0);
            }
        }
        if count > 0.0 {
            self.strays += STRAYS_FOLLOW * (square / count - self.strays);
            self.strays = self.strays.max(STRAYS_LEAST * STRAYS_LEAST);
            if alone && more < -LESS * count {
                *known = Course::NONE;
            }
        }
        for age in (0..AGES).filter(|_| alone) {
            if heard.course.counts[age].iter().any(|count| *count > 0.0) {
                known.take(age, &heard.course.at(age), REMEMBERED);
            }
        }
    }
}

/// Where a reed of this pitch is remembered; two reeds of one pitch are one here.
pub(super) fn slot(hz: f64) -> usize {
    (12.0 * (hz / LOWEST_HZ).log2()).round().max(0.0) as usize
}

/// The levels of the harmonics of a voice; `None` where no level can be told.
pub(super) fn levels(amplitudes: &[Option<f64>; COMPARED]) -> Levels {
    let strongest = amplitudes.iter().flatten().copied().fold(1.0e-9, f64::max);
    let db = |amplitude: f64| (20.0 * (amplitude / strongest).max(1.0e-9).log10()).max(-FAINT);
    amplitudes.map(|amplitude| amplitude.map(db))
}
