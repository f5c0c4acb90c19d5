//! Second thoughts about a note that has sounded for a while: another octave, a chord's common divisor, or what the
//! correlation would choose afresh.

use crate::note::{Note, near};
use crate::spectrum::Spectrum;
use std::ops::RangeInclusive;

/// How much better another pitch must explain the spectrum, and for how many looks.
const BETTER: f32 = 1.15;
const CONVINCED: u32 = 3;
/// The same for a settled note that the correlation still hears: the fundamentals of two detuned reeds vanish for a
/// moment in every beat, and the rest is no other note (60 ms).
const PATIENT: u32 = 12;
/// What a note may be taken for, as ratios of it.
const KIN: [f64; 11] = [0.2, 0.25, 1.0 / 3.0, 0.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];

/// Asks the spectrum.
#[derive(Clone, Debug)]
pub(crate) struct Octave {
    spectrum: Spectrum,
    range: RangeInclusive<f64>,
}

impl Octave {
    /// For a working rate (hertz), harmonics up to `highest` and fundamentals in `range` (cycles per sample).
    pub(crate) fn new(rate: f64, highest: f64, range: RangeInclusive<f64>) -> Self {
        Self { spectrum: Spectrum::new(rate, highest), range }
    }

    /// Samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.spectrum.span()
    }

    /// The spectrum of the last look.
    pub(crate) fn spectrum(&self) -> &Spectrum {
        &self.spectrum
    }

    /// The pitch that explains the spectrum better than that of the note does, look after look, if there is one.
    pub(crate) fn reconsider(&mut self, history: &[f32], note: &mut Note, fresh: Option<f64>) -> Option<f64> {
        self.spectrum.look(history);
        let frequency = note.pitch.frequency;
        let others = KIN
            .into_iter()
            .map(|ratio| ratio * frequency)
            .chain(fresh)
            .filter(|other| !note.is_its_third(*other))
            .filter(|other| self.range.contains(other) && !near(*other, frequency));
        let least = self.spectrum.salience(frequency) * BETTER;
        let judged = others.map(|other| (other, self.spectrum.salience(other)));
        let best = judged.fold((frequency, least), |a, b| if b.1 > a.1 { b } else { a }).0;
        let agrees = near(best, note.preferred.0);
        note.preferred = (best, if agrees { note.preferred.1 + 1 } else { 1 });
        let heard = note.is_settled() && fresh.is_some_and(|fresh| near(fresh, frequency));
        let convinced = if heard { PATIENT } else { CONVINCED };
        (best != frequency && note.preferred.1 >= convinced).then_some(best)
    }
}
