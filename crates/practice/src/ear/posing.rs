//! What of a question may be known before its verdict, and what is sounded.

use super::{Asks, EarPlan, Named, Posed, Question, Shape, Sounds, Tone, Wanted};
use layout::Harp;
use scoring::timed::AskedNote;

/// A drone sounds for this long at most, seconds: it is answered while it sounds where the microphone hears through it, or else from
/// memory when it is over.
const DRONE_S: f64 = 12.0;
/// A tone that is heard, seconds; of two the second sounds longer.
const TONE_S: f64 = 1.0;
const LONG_TONE_S: f64 = 1.6;

/// What of a question may be known.
pub(super) fn posed(plan: &EarPlan, question: &Question) -> Posed {
    let sounded = plan.sounded && (plan.has_to_sound() || plan.shape == Shape::Drone);
    let Question { number, attempt, .. } = *question;
    let named = named(plan, &question.asks);
    Posed { shape: plan.shape, number, of: plan.questions, attempt, named, sounded }
}

fn named(plan: &EarPlan, asks: &Asks) -> Named {
    let home = plan.key.tonic();
    match asks {
        Asks::Call { answer, .. } => {
            Named::Notes(answer.len(), plan.elsewhere.as_ref().map(|key| (home, key.tonic())))
        }
        Asks::Drone(to) if !plan.sounded => Named::Degree(to.degree, home),
        Asks::Interval { from, .. } if plan.heard => Named::From(from.way, from.note),
        Asks::Interval { from, to } => {
            let up = i32::from(to.note.midi()) - i32::from(from.note.midi());
            Named::Interval(from.way, from.note, up)
        }
        Asks::Degree { .. } if plan.heard => Named::Tonic(home),
        Asks::Degree { to, .. } => Named::Degree(to.degree, home),
        Asks::Depth(to) if plan.hole_told => Named::Natural(to.way.natural()),
        Asks::Drone(_) | Asks::Depth(_) => Named::Nothing,
    }
}

/// What is sounded of a question, after so many seconds; nothing where nothing is.
pub(super) fn sounds(plan: &EarPlan, question: &Question, (harp, lead_s): (&Harp, f64)) -> Option<Sounds> {
    let tone = |wanted: &Wanted, onset_s: f64, length_s: f64| {
        Some(Tone { hz: harp.hz(wanted.way)?, onset_s, length_s, way: None })
    };
    let two = |from, to| Some(vec![tone(from, 0.0, TONE_S)?, tone(to, TONE_S, LONG_TONE_S)?]);
    let tones = match &question.asks {
        Asks::Call { sounded, .. } => {
            let reed = |note: &AskedNote| {
                let hz = harp.hz(note.way)?;
                Some(Tone { hz, onset_s: note.onset_s, length_s: note.length_s, way: Some(note.way) })
            };
            sounded.iter().map(reed).collect()
        }
        Asks::Drone(to) => Some(vec![tone(to, 0.0, DRONE_S)?]),
        Asks::Interval { from, to } if plan.heard => two(from, to),
        Asks::Degree { tonic, to } if plan.heard => two(tonic, to),
        Asks::Interval { .. } | Asks::Degree { .. } => None,
        Asks::Depth(to) => Some(vec![tone(to, 0.0, LONG_TONE_S)?]),
    };
    Some(Sounds { lead_s, tones: tones? })
}
