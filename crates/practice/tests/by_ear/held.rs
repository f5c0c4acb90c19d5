//! Answers of one note, and what has to be said of them.

use crate::blame::Played;
use crate::player::{gesture, near, others, way_to};
use layout::{Harp, Note, Technique, Way};
use oorandom::Rand64;
use practice::ear::{Answer, Answered, Asks, HeldAnswer, Question, Result};
use synth::Gesture;

/// Long enough to be told as wrong.
const LONG_S: f64 = 2.8;

fn held(answered: &Answered) -> &HeldAnswer {
    let Answer::Held(held) = &answered.answer else { panic!("{answered:?}") };
    held
}

/// A note after a rest.
fn note(way: Way, seconds: f64, random: &mut Rand64) -> Gesture {
    gesture(way, random).seconds(seconds).rest(0.3 + 0.6 * random.rand_float())
}

/// The note that is wanted, in turn by another way or in another octave where that counts, or after the note to start
/// from.
pub(crate) fn right(harp: &Harp, question: &Question, turn: usize, random: &mut Rand64) -> Played {
    let wanted = question.asks.wanted().unwrap();
    let mut way = wanted.way;
    let mut gestures = Vec::new();
    let by_name = matches!(question.asks, Asks::Interval { .. } | Asks::Degree { .. });
    if turn % 4 == 1 && by_name {
        let (Asks::Interval { from, .. } | Asks::Degree { tonic: from, .. }) = question.asks else {
            panic!("{question:?}")
        };
        gestures.push(note(from.way, 0.7 + random.rand_float(), random));
    }
    if turn % 4 == 2 {
        let octaves = [12, -12].into_iter().filter_map(|up| wanted.note.up(up));
        let octave =
            octaves.filter(|note| others(harp, &[]).contains(note)).map(|note| way_to(harp, note)).next();
        way = match question.asks {
            Asks::Degree { .. } => octave.unwrap_or(way),
            // 2 draw is 3 blow.
            Asks::Interval { .. } | Asks::Drone(_) => {
                let mut natural =
                    harp.ways_to(wanted.note).into_iter().filter(|way| way.technique == Technique::Natural);
                natural.next_back().unwrap_or(way)
            }
            Asks::Depth(_) | Asks::Call { .. } => way,
        };
    }
    let long = note(way, 2.3, random);
    // A note asked for by its name is right as long as it is nearer to that note than to any other.
    gestures.push(if turn % 4 == 3 && by_name { long.cents_off(32.0) } else { long });
    let fits = |answered: &Answered| answered.result == Result::Right;
    (gestures, Box::new(fits))
}

/// What is wrong with it, in turn.
pub(crate) fn wrong(harp: &Harp, question: &Question, turn: usize, random: &mut Rand64) -> Played {
    let wanted = question.asks.wanted().unwrap();
    match question.asks {
        Asks::Drone(_) => off(wanted.way, turn, random).unwrap_or_else(|| other(harp, question, random)),
        Asks::Depth(_) => {
            let depths = harp.ways_of_hole(wanted.way.hole).filter(|way| *way != wanted.way);
            let depths: Vec<Way> = depths
                .filter(|way| way.breath == wanted.way.breath && way.technique != Technique::Overbend)
                .collect();
            if turn % 4 == 2 {
                let way = depths[random.rand_range(0..depths.len() as u64) as usize];
                return as_note(way, harp.note(way).unwrap(), random);
            }
            off(wanted.way, turn, random).unwrap_or_else(|| other(harp, question, random))
        }
        _ => other(harp, question, random),
    }
}

/// The right note, but flat or sharp, in turn; nothing where it is another one's turn.
fn off(way: Way, turn: usize, random: &mut Rand64) -> Option<Played> {
    let cents = 36.0 + 18.0 * random.rand_float();
    let (cents, word) = match (turn % 4, way.technique) {
        (0, Technique::Natural) => (-cents, "flat"),
        (1, Technique::Natural) => (cents, "sharp"),
        (0, _) => (-cents, "past"),
        (1, _) => (cents, "short"),
        _ => return None,
    };
    let fits = move |answered: &Answered| {
        let verdict = held(answered).verdict;
        let near = verdict.figures.is_some_and(|figures| (figures.cents_off - cents).abs() < 5.0);
        answered.result == Result::Wrong && verdict.outcome.word() == word && near
    };
    Some((vec![note(way, LONG_S, random).cents_off(cents)], Box::new(fits)))
}

/// Another note.
fn other(harp: &Harp, question: &Question, random: &mut Rand64) -> Played {
    let wanted = question.asks.wanted().unwrap();
    let mut none = vec![wanted.note];
    match question.asks {
        Asks::Interval { from, .. } => none.push(from.note),
        Asks::Degree { tonic, .. } => {
            let class = [tonic.note.pitch_class(), wanted.note.pitch_class()];
            none.extend(others(harp, &[]).into_iter().filter(|note| class.contains(&note.pitch_class())));
        }
        _ => {}
    }
    let other = near(&others(harp, &none), wanted.note, random);
    as_note(way_to(harp, other), other, random)
}

/// A note that has to be named.
fn as_note(way: Way, played: Note, random: &mut Rand64) -> Played {
    let fits = move |answered: &Answered| {
        let held = held(answered);
        answered.result == Result::Wrong && held.played == Some(played)
    };
    (vec![note(way, LONG_S, random)], Box::new(fits))
}
