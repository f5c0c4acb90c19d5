//! How far a player swings.

use super::{Rhythm, Swing};
use scoring::timed::{NoteVerdict, median};

/// A swing is told by so many pairs at least.
const PAIRS: usize = 4;
/// Two onsets are the same moment within this, seconds: sums of fractions of a beat are not exact.
const HAIR_S: f64 = 1e-6;

/// How long the first of two notes was played against the second: the median of all pairs that were played whole, with the
/// note after them. `None` where notes do not come in pairs, and of fewer than four pairs.
pub(crate) fn swing_played(rhythm: &Rhythm, notes: &[NoteVerdict]) -> Option<f64> {
    if !rhythm.can_swing() {
        return None;
    }
    let straight = Rhythm { swing: Swing::STRAIGHT, ..*rhythm };
    let pair_s = straight.seconds(2 * rhythm.value.ticks());
    let second_s = rhythm.seconds(rhythm.value.ticks());
    let long_share = |three: &[NoteVerdict]| {
        let asked = |note: &NoteVerdict| note.asked.onset_s;
        let start_s = asked(&three[0]);
        let is_pair = ((start_s / pair_s).round() * pair_s - start_s).abs() < HAIR_S
            && (asked(&three[1]) - start_s - second_s).abs() < HAIR_S
            && (asked(&three[2]) - start_s - pair_s).abs() < HAIR_S;
        let onset = |note: &NoteVerdict| note.played.map(|played| played.onset_s);
        let (start, second, next) = (onset(&three[0])?, onset(&three[1])?, onset(&three[2])?);
        (is_pair && start < second && second < next).then(|| (second - start) / (next - start))
    };
    let shares: Vec<f64> = notes.windows(3).filter_map(long_share).collect();
    let middle = median(shares.clone()).filter(|_| shares.len() >= PAIRS)?;
    Some(middle / (1.0 - middle))
}
