//! Which of the candidates is the note: the octave chosen afresh at each look.

use crate::candidates::Candidate;
use crate::note::{is_whole, near};

/// Correlation that a note may fall short of the strongest by, for a second reed takes its share.
const SHARE: f32 = 0.14;

/// The shortest period that explains the sound nearly as well as the best one does, unless a longer one explains enough
/// of what that leaves over. Its double is a reed with a strong second harmonic if it explains three quarters of it; a
/// higher multiple may just be the common period of two reeds, and must explain nearly all of it; a period that is no
/// multiple is another pitch, and need only be clearly better.
pub(crate) fn choose(candidates: &[Candidate]) -> Option<Candidate> {
    let strongest = candidates.iter().map(|c| c.strength).fold(0.0, f32::max);
    let mut within = candidates.iter().filter(|c| c.strength >= strongest - SHARE);
    let first = *within.next()?;
    Some(within.fold(first, |best, longer| {
        let ratio = longer.period / best.period;
        let multiple = is_whole(ratio, 0.03);
        let (lacks, lacked) = (1.0 - longer.strength, 1.0 - best.strength);
        let better = match ratio.round() as u32 {
            _ if !multiple => lacks < lacked - 0.05,
            2 => lacks < 0.25 * lacked && lacks < lacked - 0.01,
            n => n > 1 && lacks < 0.06 * lacked && lacks < lacked - 0.03,
        };
        if better { *longer } else { best }
    }))
}

/// Whether a pitch explains the sound nearly as well as any other does.
pub(crate) fn still_there(candidates: &[Candidate], is_note: impl Fn(f64) -> bool) -> bool {
    candidates.iter().any(|c| is_note(c.period.recip()) && is_there(candidates, c))
}

/// Whether one of the candidates explains the sound nearly as well as any other does.
pub(crate) fn is_there(candidates: &[Candidate], one: &Candidate) -> bool {
    candidates.iter().all(|c| one.strength >= c.strength - SHARE)
}

/// Whether a pitch may only seem to be there because its period is a high multiple of the best one: the sound of a
/// high note repeats after so many of its periods that one is always near.
pub(crate) fn mere_multiple(best: Candidate, frequency: f64) -> bool {
    let times = (best.period * frequency).recip();
    times > 4.5 && is_whole(times, 0.03)
}

/// Whether the harp has something near a frequency; one that is not known could have anything.
pub(crate) fn can_sound(harp: &[f64], frequency: f64) -> bool {
    harp.is_empty() || harp.iter().any(|has| near(*has, frequency))
}

/// Moves a candidate by an octave if the harp has nothing near it but something an octave away.
pub(crate) fn rule_out(harp: &[f64], candidate: Candidate) -> Candidate {
    if can_sound(harp, candidate.period.recip()) {
        return candidate;
    }
    let octaves = [candidate.period / 2.0, candidate.period * 2.0];
    octaves
        .into_iter()
        .find(|period| can_sound(harp, period.recip()))
        .map_or(candidate, |period| Candidate { period, ..candidate })
}
