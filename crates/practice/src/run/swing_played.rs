//! How far a player swings.

use super::{Rhythm, Swing};
use scoring::timed::{NoteVerdict, median};

/// A swing is told from at least this many pairs.
const PAIRS: usize = 4;
/// Two onsets are the same moment within this, seconds: sums of fractions of a beat are not exact.
const HAIR_S: f64 = 1e-6;

/// How long the first note of a pair was played against the second, as a ratio: the median over all pairs that were
/// played whole, with the note after them. `None` where notes do not come in pairs, or if fewer than four were played.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::{Metre, Tempo, Value};
    use layout::{Breath, Technique, Way};
    use scoring::reeds::Holes;
    use scoring::timed::{AskedNote, PlayedAt};

    /// Straight eighths at 60 beats a minute, half a second each, from the eighth number `first` on, played at these
    /// moments.
    fn told(first: usize, played_s: &[f64]) -> Option<f64> {
        let tempo = Tempo::new(60.0).unwrap();
        let rhythm = Rhythm::new(tempo, Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT).unwrap();
        let verdict = |(at, onset_s): (usize, &f64)| {
            let way = Way::new(4, Breath::Blow, Technique::Natural);
            let (note, asked_s) = ("C5".parse().unwrap(), (first + at) as f64 / 2.0);
            let (bar, holes) = (0, Holes::NONE);
            let asked = AskedNote { way, note, onset_s: asked_s, length_s: 0.5, bar, joined: false, holes };
            let onset_s = *onset_s;
            let played = PlayedAt { note, onset_s, ended_s: onset_s + 0.1, held: None, chord: None };
            NoteVerdict {
                asked,
                played: Some(played),
                pitch: None,
                chord: None,
                cents: None,
                late_s: None,
                timing: None,
            }
        };
        let notes: Vec<NoteVerdict> = played_s.iter().enumerate().map(verdict).collect();
        swing_played(&rhythm, &notes)
    }

    /// So many pairs of a second each, with the second note `second_s` after the first, and the note behind the last
    /// pair.
    fn pairs(count: usize, second_s: f64) -> Vec<f64> {
        let pair = |at: usize| [at as f64, at as f64 + second_s];
        (0..count).flat_map(pair).chain([count as f64]).collect()
    }

    #[test]
    fn a_swing_is_that_of_four_pairs_at_least() {
        assert!((told(0, &pairs(4, 0.6)).unwrap() - 1.5).abs() < 1e-9);
        assert_eq!(told(0, &pairs(3, 0.6)), None);
    }

    /// Two notes from off the beat are the short one of a pair and the long one of the next: they are no pair.
    #[test]
    fn a_pair_begins_on_a_beat() {
        let all = pairs(5, 2.0 / 3.0);
        // From the second eighth on there are four pairs with a note behind them; without the last two notes there are
        // three.
        assert!((told(1, &all[1..]).unwrap() - 2.0).abs() < 1e-9);
        assert_eq!(told(1, &all[1..9]), None);
    }

    #[test]
    fn notes_that_come_at_once_or_the_wrong_way_round_swing_nothing() {
        for second_s in [0.0, 1.0, -0.1, 1.1] {
            assert_eq!(told(0, &pairs(4, second_s)), None, "{second_s}");
        }
    }
}
