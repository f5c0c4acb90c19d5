//! A first guess in each frame which of the candidates is the note. Its octave is provisional: `octave` mends it.

use crate::candidates::Candidate;
use crate::note::is_whole;

/// The correlation of a note may lie this far below the strongest one, because a second reed takes its share.
const SHARE: f32 = 0.14;

/// The shortest period that explains the sound nearly as well as the strongest one does. This is a first guess: where the
/// first guess is a strong second or third harmonic, `octave` finds out.
pub(crate) fn choose(candidates: &[Candidate]) -> Option<Candidate> {
    let strongest = strongest(candidates);
    candidates.iter().find(|c| c.strength >= strongest - SHARE).copied()
}

fn strongest(candidates: &[Candidate]) -> f32 {
    candidates.iter().map(|c| c.strength).fold(0.0, f32::max)
}

/// Whether a candidate explains the sound nearly as well as any other does.
pub(crate) fn is_there(candidates: &[Candidate], one: &Candidate) -> bool {
    one.strength >= strongest(candidates) - SHARE
}

/// Whether a pitch explains the sound nearly as well as any other does.
pub(crate) fn still_there(candidates: &[Candidate], is_note: impl Fn(f64) -> bool) -> bool {
    candidates.iter().any(|c| is_note(c.period.recip()) && is_there(candidates, c))
}

/// Whether a pitch is perhaps not there, but seems so because its period is a high multiple of the best one: the sound of a
/// high note repeats after so many of its periods that one of them is always near.
pub(crate) fn mere_multiple(best_period: f64, frequency: f64) -> bool {
    let times = (best_period * frequency).recip();
    times > 4.5 && is_whole(times)
}
