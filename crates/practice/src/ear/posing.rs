//! What of a question may be known before its verdict, and what is sounded.

use super::{Asks, EarPlan, Named, Posed, Question, Shape, Sounds, Tone, Wanted};
use layout::Harp;
use scoring::timed::AskedNote;

/// A drone sounds for this long at most, seconds: it is answered while it sounds where the microphone hears through it,
/// or else from memory when it is over.
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

/// What is sounded of a question, after `lead_s` seconds of silence; `None` where nothing is sounded.
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

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{Breath, Technique, Way};
    use theory::{Ability, Degree, Level, Position, ScaleInKey, Scales};

    fn harp() -> Harp {
        Harp::richter("C".parse().unwrap())
    }

    /// A plan in G, the second position of a C harp.
    fn plan(shape: Shape) -> EarPlan {
        let scale = Scales::ours().find("blues").unwrap().clone();
        EarPlan {
            shape,
            heard: false,
            questions: 10,
            key: ScaleInKey::in_position(scale, &harp(), Position::new(2).unwrap()),
            elsewhere: None,
            ability: Ability::new(Level::DrawBends),
            seed: 1,
            hole_told: false,
            sounded: true,
        }
    }

    fn wanted(note: &str, hole: u8, technique: Technique) -> Wanted {
        Wanted {
            note: note.parse().unwrap(),
            way: Way::new(hole, Breath::Draw, technique),
            degree: Degree::TONIC,
        }
    }

    /// G4 is 2 draw, D5 4 draw, B♭4 3 draw bent by a half step.
    fn all() -> [Asks; 4] {
        let (g, d) = (wanted("G4", 2, Technique::Natural), wanted("D5", 4, Technique::Natural));
        let bend = wanted("B♭4", 3, Technique::Bend(1));
        [
            Asks::Drone(d),
            Asks::Interval { from: g, to: d },
            Asks::Degree { tonic: g, to: d },
            Asks::Depth(bend),
        ]
    }

    fn told(plan: &EarPlan, asks: Asks) -> Posed {
        posed(plan, &Question { number: 3, attempt: 2, asks })
    }

    #[test]
    fn what_is_to_be_heard_is_not_named() {
        let [drone, interval, degree, depth] = all();
        let home = plan(Shape::Drone).key.tonic();
        let from = (Way::new(2, Breath::Draw, Technique::Natural), "G4".parse().unwrap());
        assert_eq!(told(&plan(Shape::Drone), drone.clone()).named, Named::Nothing);
        let silent = EarPlan { sounded: false, ..plan(Shape::Drone) };
        assert_eq!(told(&silent, drone).named, Named::Degree(Degree::TONIC, home));
        // From G4 up to D5 is a fifth, seven half steps, and back down as many.
        assert_eq!(told(&plan(Shape::Interval), interval.clone()).named, Named::Interval(from.0, from.1, 7));
        let Asks::Interval { from: g, to: d } = interval else { panic!("{interval:?}") };
        let down = Asks::Interval { from: d, to: g };
        let d_way = Way::new(4, Breath::Draw, Technique::Natural);
        let named = told(&plan(Shape::Interval), down).named;
        assert_eq!(named, Named::Interval(d_way, "D5".parse().unwrap(), -7));
        let heard = |shape| EarPlan { heard: true, ..plan(shape) };
        assert_eq!(told(&heard(Shape::Interval), interval).named, Named::From(from.0, from.1));
        assert_eq!(told(&plan(Shape::Degree), degree.clone()).named, Named::Degree(Degree::TONIC, home));
        assert_eq!(told(&heard(Shape::Degree), degree).named, Named::Tonic(home));
        assert_eq!(told(&plan(Shape::Depth), depth.clone()).named, Named::Nothing);
        let hole_told = EarPlan { hole_told: true, ..plan(Shape::Depth) };
        let natural = Way::new(3, Breath::Draw, Technique::Natural);
        assert_eq!(told(&hole_told, depth).named, Named::Natural(natural));
    }

    #[test]
    fn a_question_is_sounded_where_it_has_to_be_and_can_be() {
        let [drone, interval, ..] = all();
        let sounded = |plan: &EarPlan, asks: &Asks| told(plan, asks.clone()).sounded;
        assert!(sounded(&plan(Shape::Drone), &drone) && !sounded(&plan(Shape::Interval), &interval));
        assert!(sounded(&EarPlan { heard: true, ..plan(Shape::Interval) }, &interval));
        assert!(!sounded(&EarPlan { sounded: false, ..plan(Shape::Drone) }, &drone));
        let posed = told(&plan(Shape::Drone), drone);
        assert_eq!((posed.number, posed.of, posed.attempt), (3, 10, 2));
    }

    #[test]
    fn a_drone_sounds_for_twelve_seconds_and_of_two_tones_the_second_longer() {
        let tones = |plan: &EarPlan, asks: &Asks| {
            let question = Question { number: 1, attempt: 1, asks: asks.clone() };
            sounds(plan, &question, (&harp(), 0.5)).map(|sounds| {
                let tone = |tone: &Tone| (tone.hz.round() as u32, tone.onset_s, tone.length_s);
                (sounds.lead_s, sounds.tones.iter().map(tone).collect::<Vec<_>>())
            })
        };
        let [drone, interval, degree, depth] = all();
        // D5 is 587.3 Hz, G4 392.0, B♭4 466.2 (MIDI tuning formula).
        assert_eq!(tones(&plan(Shape::Drone), &drone), Some((0.5, vec![(587, 0.0, 12.0)])));
        assert_eq!(tones(&plan(Shape::Depth), &depth), Some((0.5, vec![(466, 0.0, 1.6)])));
        let two = Some((0.5, vec![(392, 0.0, 1.0), (587, 1.0, 1.6)]));
        for (shape, asks) in [(Shape::Interval, interval), (Shape::Degree, degree)] {
            assert_eq!(tones(&plan(shape), &asks), None);
            assert_eq!(tones(&EarPlan { heard: true, ..plan(shape) }, &asks), two);
        }
    }

    #[test]
    fn each_shape_is_told_in_a_sentence_of_its_own() {
        let mut all: Vec<&str> = Shape::ALL.map(Shape::about).to_vec();
        assert!(all.iter().all(|about| about.ends_with('.') && about.len() > 20), "{all:?}");
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), 5);
        assert!(Shape::ALL.iter().all(|shape| shape.to_string().parse() == Ok(*shape)));
    }
}
