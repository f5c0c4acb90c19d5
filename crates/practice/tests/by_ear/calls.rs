//! Answers to calls, and what has to be said of them.

use crate::blame::Played;
use crate::player::{gesture, near, others, way_to};
use layout::{Harp, Note, Technique};
use oorandom::Rand64;
use practice::ear::{Answer, Answered, Asks, NoteIs, Question, Result, Wanted};
use synth::Gesture;

fn wanted(question: &Question) -> &[Wanted] {
    let Asks::Call { answer, .. } = &question.asks else { panic!("{question:?}") };
    answer
}

/// Notes one after the other, each with a breath or a tongue of its own.
fn played(ways: &[layout::Way], random: &mut Rand64) -> Vec<Gesture> {
    let note = |(at, way): (usize, &layout::Way)| {
        let rest_s =
            if at == 0 { 0.3 + 0.7 * random.rand_float() } else { 0.05 + 0.25 * random.rand_float() };
        let seconds = 0.25 + 0.4 * random.rand_float();
        gesture(*way, random).seconds(seconds).rest(rest_s)
    };
    ways.iter().enumerate().map(note).collect()
}

/// As players do it, in turn: each note by itself, in one go, with vibrato, with bends that are let go or taken slowly,
/// and with a pause to think.
fn in_a_manner(notes: Vec<Gesture>, turn: usize, random: &mut Rand64) -> Vec<Gesture> {
    let is_bend = |note: &Gesture| note.ways().iter().any(|way| way.technique != Technique::Natural);
    let thought = random.rand_range(0..notes.len() as u64) as usize;
    let manner = |(at, note): (usize, Gesture)| match turn % 6 {
        1 if at > 0 => note.rest(0.015),
        2 => note.vibrato(5.5, 18.0).seconds(0.8),
        3 if is_bend(&note) => note.seconds(0.5).back(0.1, 0.25),
        4 if is_bend(&note) => note.dwell(0.25).glide(0.22).seconds(0.5),
        5 if at == thought => note.rest(1.6),
        _ => note,
    };
    notes.into_iter().enumerate().map(manner).collect()
}

pub(crate) fn right(question: &Question, turn: usize, random: &mut Rand64) -> Played {
    let ways: Vec<_> = wanted(question).iter().map(|note| note.way).collect();
    let count = ways.len();
    let fits = move |answered: &Answered| {
        let Answer::Notes(notes) = &answered.answer else { return false };
        answered.result == Result::Right && notes.len() == count
    };
    let notes = played(&ways, random);
    (in_a_manner(notes, turn, random), Box::new(fits))
}

/// What has to be said of each note: what it is, and what was played.
type Said = Vec<(NoteIs, Option<Note>)>;

/// One note is another one, is missing, is one too many, or is in another octave, in turn.
pub(crate) fn wrong(harp: &Harp, question: &Question, turn: usize, random: &mut Rand64) -> Played {
    let wanted = wanted(question);
    let notes: Vec<Note> = wanted.iter().map(|note| note.note).collect();
    let at = random.rand_range(0..notes.len() as u64) as usize;
    let mut ways: Vec<_> = wanted.iter().map(|note| note.way).collect();
    let mut said: Said = notes.iter().map(|note| (NoteIs::Right, Some(*note))).collect();
    let octave = [12, -12].into_iter().filter_map(|up| notes[at].up(up));
    let octave = octave.filter(|note| others(harp, &[]).contains(note)).find(|note| !notes.contains(note));
    // In a call of two notes that is answered elsewhere, another octave of one of them is another note all the same.
    match (turn % 4, octave) {
        (1, _) => {
            ways.remove(at);
            said[at] = (NoteIs::Missing, None);
        }
        (2, _) => {
            let extra = near(&others(harp, &notes), notes[at], random);
            ways.insert(at + 1, way_to(harp, extra));
            said.insert(at + 1, (NoteIs::Extra, Some(extra)));
        }
        (3, Some(octave)) => {
            ways[at] = way_to(harp, octave);
            said[at] = (NoteIs::Other, Some(octave));
        }
        _ => {
            let other = near(&others(harp, &notes), notes[at], random);
            ways[at] = way_to(harp, other);
            said[at] = (NoteIs::Other, Some(other));
        }
    }
    let fits = move |answered: &Answered| {
        let Answer::Notes(notes) = &answered.answer else { return false };
        let is: Said = notes.iter().map(|note| (note.is, note.played.map(|(note, _)| note))).collect();
        answered.result == Result::Wrong && is == said
    };
    (played(&ways, random), Box::new(fits))
}
