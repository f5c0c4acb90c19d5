//! The built-in player answers what it is asked by ear: it hears the question as it is made, and errs at every fourth.

use super::{Coach, Order, SAMPLE_RATE};
use layout::{Breath, Harp, Technique, Way};
use practice::Exercise;
use practice::ear::{Asks, Posed, Question, Sounds};

/// What the built-in player takes to think before it answers, seconds.
const THINKS_S: f64 = 0.9;
/// How long a single note is held at least, so that it can be judged, seconds.
const HOLDS_S: f64 = 1.6;
/// How long a note of a longer answer lasts, and the time from one note to the next, seconds.
const NOTE_S: f64 = 0.5;
/// It errs at each question whose number this divides, so that there is something to see of wrong answers.
const ERRS_AT: u32 = 4;

impl Coach {
    /// Answers what is only named.
    pub(super) fn posed(&mut self, posed: &Posed, exercise: &Exercise) {
        if !posed.sounded {
            self.answer(exercise, THINKS_S);
        }
    }

    /// Answers what is sounded: a drone while it sounds, everything else behind it.
    pub(super) fn sounds(&mut self, sounds: &Sounds, exercise: &Exercise) {
        let is_drone =
            matches!(exercise.by_ear().and_then(|it| it.question()).map(|it| &it.asks), Some(Asks::Drone(_)));
        let after_s = if is_drone { sounds.lead_s } else { sounds.ends_s() };
        self.answer(exercise, after_s + THINKS_S);
    }

    fn answer(&mut self, exercise: &Exercise, after_s: f64) {
        let Some(question) = exercise.by_ear().and_then(|by_ear| by_ear.question()) else { return };
        self.hush();
        let ways = ways(question, exercise.harp());
        let begins = exercise.now().samples as f64 + after_s * SAMPLE_RATE;
        if let [way] = ways[..] {
            let gesture = self.learner.answer(way, HOLDS_S);
            return self.send(Order::PlayAt(Box::new(gesture), begins));
        }
        for (at, way) in ways.into_iter().enumerate() {
            let (gesture, late_s) = self.learner.in_time(way, NOTE_S);
            let onset = begins + (at as f64 * NOTE_S + late_s) * SAMPLE_RATE;
            self.send(Order::PlayAt(Box::new(gesture), onset));
        }
    }
}

/// What it plays: what is asked, or, where it errs, the last two notes in reverse order or a note of the next hole.
fn ways(question: &Question, harp: &Harp) -> Vec<Way> {
    let errs = question.number.is_multiple_of(ERRS_AT) && question.attempt == 1;
    match &question.asks {
        Asks::Call { answer, .. } => {
            let mut ways: Vec<Way> = answer.iter().map(|note| note.way).collect();
            if let ([.., _, _], true) = (&ways[..], errs) {
                let last = ways.len() - 1;
                ways.swap(last - 1, last);
            }
            ways
        }
        asks => {
            let wanted = asks.wanted().map(|wanted| wanted.way);
            let start = match asks {
                Asks::Degree { tonic: from, .. } | Asks::Interval { from, .. } => {
                    Some(from.note.pitch_class())
                }
                _ => None,
            };
            let beside = |way: Way| {
                let holes = [way.hole + 1, way.hole.saturating_sub(1)];
                let breaths = [way.breath, Breath::other(way.breath)];
                let beside = holes
                    .into_iter()
                    .flat_map(|hole| breaths.map(|breath| Way::new(hole, breath, Technique::Natural)));
                beside
                    .into_iter()
                    .filter_map(|other| Some((other, harp.note(other)?)))
                    .find(|(_, note)| Some(*note) != harp.note(way) && Some(note.pitch_class()) != start)
                    .map(|(other, _)| other)
            };
            wanted.map(|way| if errs { beside(way).unwrap_or(way) } else { way }).into_iter().collect()
        }
    }
}
