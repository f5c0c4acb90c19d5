//! Which questions are asked.

use crate::player::{harp, key, plan};
use layout::{Harp, Technique};
use practice::ear::{Asks, EarPlan, Question, Shape};
use practice::{Event, Exercise, Order};
use scoring::Tolerance;
use std::collections::BTreeSet;
use theory::{Ability, Degree, Level};

/// The questions of a plan, each passed as soon as it is posed.
pub(crate) fn questions(harp: &Harp, plan: EarPlan) -> Vec<Question> {
    let mut exercise = Exercise::new(harp.clone(), Tolerance::default(), 48_000.0);
    exercise.order(Order::Ear(Box::new(plan)));
    let mut questions = Vec::new();
    while exercise.is_on() {
        for event in exercise.order(Order::Next) {
            if let Event::Answered(answered) = event {
                questions.push(answered.question);
            }
        }
        exercise.order(Order::Next);
    }
    questions
}

#[test]
fn the_same_seed_asks_the_same_and_another_asks_something_else() {
    let harp = harp("C");
    for shape in Shape::ALL {
        let plan = plan(&harp, shape);
        let asked = |seed| questions(&harp, EarPlan { seed, ..plan.clone() });
        assert_eq!(asked(3).len(), 10);
        assert_eq!(asked(3), asked(3));
        assert_ne!(asked(3), asked(4), "{shape}");
    }
}

/// There are some hundred intervals to choose from, so that two draws are seldom the same.
#[test]
fn another_seed_asks_each_question_anew() {
    let harp = harp("C");
    let asked = |seed| {
        let plan = EarPlan { seed, questions: 30, ..plan(&harp, Shape::Interval) };
        questions(&harp, plan).into_iter().map(|question| question.asks).collect::<Vec<_>>()
    };
    let all = [0, 1, 2, u64::MAX].map(asked);
    for pair in all.windows(2) {
        let same = pair[0].iter().zip(&pair[1]).filter(|(one, other)| one == other).count();
        assert!(same < 6, "{same} of 30");
    }
}

#[test]
fn nothing_is_asked_beyond_what_the_player_commands() {
    for key_of_harp in ["C", "low F", "high G"] {
        let harp = harp(key_of_harp);
        for level in [Level::HalfSteps, Level::DrawBends, Level::Bends, Level::Everything] {
            let ability = Ability::new(level);
            for shape in Shape::ALL {
                let usual = plan(&harp, shape);
                let plan = EarPlan { ability: ability.clone(), questions: 60, ..usual };
                for question in questions(&harp, plan.clone()) {
                    let ways: Vec<_> = match &question.asks {
                        Asks::Call { answer, .. } => answer.clone(),
                        Asks::Drone(to) | Asks::Depth(to) => vec![*to],
                        Asks::Interval { from, to } | Asks::Degree { tonic: from, to } => vec![*from, *to],
                    };
                    for wanted in ways {
                        assert!(ability.reaches(wanted.way), "{question:?}");
                        assert_eq!(harp.note(wanted.way), Some(wanted.note));
                        let in_scale = plan.key.find_either(wanted.note).is_some();
                        assert!(in_scale || shape == Shape::Depth, "{question:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_call_moves_from_note_to_note_and_an_interval_within_an_octave() {
    let harp = harp("C");
    for question in questions(&harp, EarPlan { questions: 200, ..plan(&harp, Shape::Call) }) {
        let Asks::Call { sounded, answer } = &question.asks else { panic!("{question:?}") };
        assert_eq!(
            sounded.iter().map(|note| note.note).collect::<Vec<_>>(),
            answer.iter().map(|note| note.note).collect::<Vec<_>>()
        );
        assert!(
            answer
                .windows(2)
                .all(|pair| (1..=9).contains(&pair[0].note.midi().abs_diff(pair[1].note.midi())))
        );
        assert!(
            sounded
                .windows(2)
                .all(|pair| (pair[0].onset_s + pair[0].length_s - pair[1].onset_s).abs() < 1e-9)
        );
    }
    let mut sizes = BTreeSet::new();
    for question in questions(&harp, EarPlan { questions: 400, ..plan(&harp, Shape::Interval) }) {
        let Asks::Interval { from, to } = question.asks else { panic!("{question:?}") };
        assert_eq!(from.way.technique, Technique::Natural, "it is named by its hole");
        sizes.insert(i32::from(to.note.midi()) - i32::from(from.note.midi()));
    }
    assert!(sizes.iter().all(|size| (-12..=12).contains(size) && *size != 0), "{sizes:?}");
    assert!(sizes.len() > 12, "both ways, and of many sizes: {sizes:?}");
}

/// Of the notes of G blues that a C harp has without bends three steps lead from F5 to D6, which is nine half steps;
/// from G4 to F5 or from D5 to C6 it would be ten.
#[test]
fn nine_half_steps_are_the_widest_leap_of_a_call() {
    let harp = harp("C");
    let plan = EarPlan { ability: Ability::new(Level::Plain), questions: 200, ..plan(&harp, Shape::Call) };
    let leap = |question: &Question| {
        let notes = question.asks.all_wanted();
        notes[0].note.midi().abs_diff(notes[1].note.midi())
    };
    assert_eq!(questions(&harp, plan).iter().map(leap).max(), Some(9));
}

/// The other keys' degrees lie a fourth up or a fifth down (C against G), or a fifth up or a fourth down (D against G),
/// or an octave from there.
///
/// * Without bends, on a C harp: E4 has no A4 a fourth above it and nothing a fifth below, so its call goes up by 17
///   half steps; A6 has nothing above it, so its call goes down.
/// * With draw bends: B4 and B5 have no F♯5 and no F♯6, so that B4 goes down to F♯4, and so does B5, an octave further.
#[test]
fn a_call_is_moved_to_where_the_nearest_notes_are() {
    let harp = harp("C");
    let shifts = |position: u8, level: Level| {
        let [key, elsewhere] = [2, position].map(|position| key(&harp, position, "major pentatonic"));
        let ability = Ability::new(level);
        let usual = plan(&harp, Shape::Call);
        let plan = EarPlan { key, elsewhere: Some(elsewhere), ability, questions: 80, ..usual };
        let shift = |question: Question| {
            let Asks::Call { sounded, answer } = question.asks else { panic!("{question:?}") };
            i32::from(answer[0].note.midi()) - i32::from(sounded[0].note.midi())
        };
        questions(&harp, plan).into_iter().map(shift).collect::<BTreeSet<_>>()
    };
    assert_eq!(shifts(1, Level::Plain), BTreeSet::from([-7, 5, 17]));
    assert_eq!(shifts(3, Level::DrawBends), BTreeSet::from([-17, -5, 7]));
}

/// On a C harp a player of draw bends has three G: G4, G5 and G6.
#[test]
fn a_degree_is_asked_for_above_the_nearest_tonic_and_is_none_itself() {
    let harp = harp("C");
    let mut checked = BTreeSet::new();
    for question in questions(&harp, EarPlan { questions: 100, ..plan(&harp, Shape::Degree) }) {
        let Asks::Degree { tonic, to } = question.asks else { panic!("{question:?}") };
        assert_ne!(to.degree, Degree::TONIC);
        let expected = match to.note.midi() {
            // Notes above G6, notes above G5, and below those G4, the lowest tonic, whether it lies below or above the
            // note.
            92.. => "G6",
            80.. => "G5",
            _ => "G4",
        };
        assert_eq!(tonic.note, expected.parse().unwrap(), "{question:?}");
        checked.insert((expected, to.note > tonic.note));
    }
    assert_eq!(checked.len(), 4, "above each, and below the lowest: {checked:?}");
}

#[test]
fn all_that_is_wanted_is_the_answer_to_a_call_and_one_note_of_the_rest() {
    let harp = harp("C");
    for shape in Shape::ALL {
        let question = &questions(&harp, EarPlan { questions: 1, ..plan(&harp, shape) })[0];
        let wanted = match &question.asks {
            Asks::Call { answer, .. } => answer.clone(),
            Asks::Drone(to) | Asks::Depth(to) | Asks::Interval { to, .. } | Asks::Degree { to, .. } => {
                vec![*to]
            }
        };
        assert_eq!(question.asks.all_wanted(), wanted, "{shape}");
    }
}

/// On a C harp the second position stands on G and the first on C (`Position`'s own tests have a published source for
/// that): a fifth down, or a fourth up.
#[test]
fn the_same_degrees_elsewhere_lie_a_fourth_or_a_fifth_away() {
    let harp = harp("C");
    let [here, elsewhere] = [2, 1].map(|position| key(&harp, position, "major pentatonic"));
    let plan =
        EarPlan { key: here, elsewhere: Some(elsewhere.clone()), questions: 100, ..plan(&harp, Shape::Call) };
    let mut shifts = BTreeSet::new();
    for question in questions(&harp, plan) {
        let Asks::Call { sounded, answer } = &question.asks else { panic!("{question:?}") };
        let shift = i32::from(answer[0].note.midi()) - i32::from(sounded[0].note.midi());
        for (sounded, answer) in sounded.iter().zip(answer) {
            assert_eq!(
                i32::from(answer.note.midi()) - i32::from(sounded.note.midi()),
                shift,
                "one shift for the whole call"
            );
            assert_eq!(elsewhere.degree_of(answer.note.pitch_class()), answer.degree);
        }
        shifts.insert(shift.rem_euclid(12));
    }
    assert_eq!(shifts, BTreeSet::from([5]));
}

#[test]
fn a_depth_is_of_a_bend_that_no_reed_sounds() {
    let harp = harp("C");
    let mut ways = BTreeSet::new();
    for question in questions(&harp, EarPlan { questions: 300, ..plan(&harp, Shape::Depth) }) {
        let Asks::Depth(to) = question.asks else { panic!("{question:?}") };
        assert!(harp.ways_to(to.note).iter().all(|way| way.technique != Technique::Natural));
        ways.insert(to.way);
    }
    // The draw bends of a C harp in Richter tuning (OEIS A291810 has its reeds): -1' -2' -2'' -3' -3'' -3''' -4' -6';
    // the whole step on 2 draw sounds F4 and no reed does.
    assert_eq!(ways.len(), 8, "{ways:?}");
}

#[test]
fn what_cannot_be_asked_is_a_sentence() {
    let harp = harp("C");
    let plain = |shape| EarPlan { ability: Ability::new(Level::Plain), ..plan(&harp, shape) };
    let why = plain(Shape::Depth).cannot_ask(&harp).unwrap();
    assert_eq!(why, "no bend of this harp is within reach of \"plain\"; name more with --able");
    assert_eq!(plan(&harp, Shape::Depth).cannot_ask(&harp), None);
    for shape in [Shape::Call, Shape::Drone, Shape::Interval, Shape::Degree] {
        assert_eq!(plain(shape).cannot_ask(&harp), None, "{shape}");
    }
    // F♯ major pentatonic has none of the twelve notes that a C harp sounds without bends.
    let far = key(&harp, 7, "major pentatonic");
    let nothing = EarPlan { key: far.clone(), ..plain(Shape::Degree) }.cannot_ask(&harp).unwrap();
    assert_eq!(
        nothing,
        format!(
            "too few notes of {} are within reach of \"plain\" on this harp; name more with --able",
            far.title()
        )
    );
    let here = key(&harp, 2, "major pentatonic");
    let elsewhere = EarPlan { key: here, elsewhere: Some(far), ..plain(Shape::Call) };
    assert_eq!(
        elsewhere.cannot_ask(&harp).unwrap(),
        "no call of G major pentatonic has its notes within reach of \"plain\" in both positions; name more with --able"
    );
    // It is done from the start.
    let mut exercise = Exercise::new(harp.clone(), Tolerance::default(), 48_000.0);
    let said = exercise.order(Order::Ear(Box::new(plain(Shape::Depth))));
    assert!(matches!(said[..], [Event::Started(_), Event::Ended(practice::Ending::Done)]), "{said:?}");
    assert!(!exercise.is_on());
}

#[test]
fn every_shape_is_read_by_its_name() {
    for shape in Shape::ALL {
        assert_eq!(shape.name().parse(), Ok(shape));
    }
    let said = "songs".parse::<Shape>().unwrap_err().to_string();
    assert_eq!(
        said,
        "\"songs\" is nothing that is asked by ear; there are: call, drone, interval, degree, depth"
    );
}

/// Which note a degree is in which key, `music21` says (`tests/references/music21_intervals.py`).
#[test]
fn a_degree_is_the_note_that_music21_has_for_it() {
    let file = include_str!("../../../../tests/references/music21-intervals.json");
    let file: serde_json::Value = serde_json::from_str(file).unwrap();
    let expected = |tonic: &str, degree: &str| {
        let mut rows = file["degrees"].as_array().unwrap().iter();
        let row = rows.find(|row| row["tonic"] == tonic && row["degree"] == degree).unwrap();
        row["class"].as_u64().unwrap()
    };
    let ascii = |text: String| text.replace('♭', "b").replace('♯', "#");
    let mut checked = BTreeSet::new();
    for key_of_harp in ["C", "A", "Bb", "D"] {
        let harp = harp(key_of_harp);
        for position in [1, 2, 3] {
            for scale in ["major", "blues"] {
                let key = key(&harp, position, scale);
                let tonic = ascii(key.tonic().to_string());
                let plan = EarPlan { key, questions: 40, ..plan(&harp, Shape::Degree) };
                for question in questions(&harp, plan) {
                    let Asks::Degree { tonic: from, to } = question.asks else { panic!("{question:?}") };
                    let degree = ascii(to.degree.to_string());
                    let class = u64::from(to.note.pitch_class().semitones());
                    assert_eq!(class, expected(&tonic, &degree), "{tonic} {degree}");
                    assert_eq!(u64::from(from.note.pitch_class().semitones()), expected(&tonic, "1"));
                    checked.insert((tonic.clone(), degree));
                }
            }
        }
    }
    assert!(checked.len() > 60, "{}", checked.len());
}
