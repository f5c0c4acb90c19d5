//! Again, next, pause, lost samples, and a room without a loudspeaker.

use crate::player::{RATE, Stage, gesture, harp, plan};
use oorandom::Rand64;
use practice::ear::{Asks, Cause, EarPhase, EarPlan, Named, NoteIs, Posed, Result, Shape, Sounds};
use practice::{Ending, Event, Order};
use synth::Gesture;

fn stage(shape: Shape, change: impl Fn(EarPlan) -> EarPlan) -> Stage {
    let harp = harp("C");
    Stage::new(&harp, change(plan(&harp, shape)), 1)
}

fn posed(stage: &Stage) -> Vec<&Posed> {
    stage
        .said
        .iter()
        .filter_map(|event| if let Event::Posed(posed) = event { Some(&**posed) } else { None })
        .collect()
}

fn sounds(stage: &Stage) -> Vec<&Sounds> {
    let sounds = stage.said.iter();
    sounds
        .filter_map(|event| if let Event::EarSounds(sounds) = event { Some(&**sounds) } else { None })
        .collect()
}

/// The right answer.
fn answer(stage: &Stage) -> Vec<Gesture> {
    let mut random = Rand64::new(5);
    let question = stage.by_ear().question().unwrap();
    let wanted = match &question.asks {
        Asks::Call { answer, .. } => answer.clone(),
        asks => vec![asks.wanted().unwrap()],
    };
    let count = wanted.len();
    let seconds = if count == 1 { 2.5 } else { 0.5 };
    wanted.iter().map(|note| gesture(note.way, &mut random).seconds(seconds).rest(0.3)).collect()
}

#[test]
fn nothing_of_the_answer_is_said_before_the_verdict() {
    for shape in Shape::ALL {
        for heard in [false, true] {
            let mut stage = stage(shape, |plan| EarPlan { heard, ..plan });
            stage.until(EarPhase::Waiting);
            let said = posed(&stage)[0];
            let named_there = matches!(shape, Shape::Interval | Shape::Degree) && !heard;
            assert_eq!(said.sounded, !named_there, "{shape}");
            match (&said.named, shape) {
                (Named::Notes(2, None), Shape::Call) | (Named::Nothing, Shape::Drone | Shape::Depth) => {}
                (Named::From(..), Shape::Interval) | (Named::Tonic(_), Shape::Degree) => assert!(heard),
                (Named::Interval(..), Shape::Interval) | (Named::Degree(..), Shape::Degree) => {
                    assert!(!heard);
                }
                other => panic!("{other:?}"),
            }
            assert!(stage.by_ear().told().is_none() && stage.by_ear().results().is_empty());
            stage.play(&answer(&stage));
            assert_eq!(stage.by_ear().told().unwrap().result, Result::Right, "{shape}");
        }
    }
}

#[test]
fn what_is_sounded_is_what_is_asked() {
    let harp = harp("C");
    for shape in Shape::ALL {
        let mut stage = stage(shape, |plan| EarPlan { heard: true, ..plan });
        stage.until(EarPhase::Waiting);
        let question = stage.by_ear().question().unwrap();
        let tones = &sounds(&stage)[0].tones;
        let hz: Vec<f64> = match &question.asks {
            Asks::Call { sounded, .. } => sounded.iter().map(|note| harp.hz(note.way).unwrap()).collect(),
            Asks::Drone(to) | Asks::Depth(to) => vec![harp.hz(to.way).unwrap()],
            Asks::Interval { from, to } | Asks::Degree { tonic: from, to } => {
                [from, to].map(|note| harp.hz(note.way).unwrap()).into()
            }
        };
        assert_eq!(tones.iter().map(|tone| tone.hz).collect::<Vec<_>>(), hz);
        // Only a call is played by a reed: the sound of a reed would tell which way a note was made.
        assert!(tones.iter().all(|tone| tone.way.is_some() == (shape == Shape::Call)));
    }
}

#[test]
fn while_the_question_sounds_nothing_is_judged() {
    let mut stage = stage(Shape::Call, |plan| plan);
    stage.step();
    assert_eq!(stage.by_ear().phase(), EarPhase::Sounding);
    // Somebody plays along all the while, and then leaves off.
    let along = answer(&stage)[0].clone().seconds(1.5).rest(0.1);
    stage.player.play(&along).unwrap();
    stage.until(EarPhase::Waiting);
    assert_eq!(stage.by_ear().results(), []);
    assert_eq!(stage.play(&answer(&stage)).result, Result::Right);
}

#[test]
fn an_answer_that_begins_too_early_is_asked_for_again_and_not_blamed() {
    let mut stage = stage(Shape::Call, |plan| plan);
    stage.step();
    // The first note begins while the call still sounds and goes on beyond it; the second is another one than was
    // asked.
    let ends_s = sounds(&stage)[0].ends_s();
    let mut notes = answer(&stage);
    notes[0] = notes[0].clone().rest(ends_s - 0.2).seconds(0.8);
    let wrong = Gesture::new(layout::TabStyle::default().read("9").unwrap()).seconds(0.5).rest(0.1);
    let told = stage.play(&[notes[0].clone(), wrong]);
    assert_eq!(told.result, Result::CannotTell(Cause::BeganEarly));
    stage.go_on();
    assert_eq!(stage.by_ear().question().unwrap().attempt, 2);
    // Begun early and right is right.
    stage.step();
    let mut notes = answer(&stage);
    notes[0] = notes[0].clone().rest(sounds(&stage)[1].ends_s() - 0.2).seconds(0.8);
    assert_eq!(stage.play(&notes).result, Result::Right);
}

#[test]
fn the_question_is_sounded_again_and_can_be_passed() {
    let mut stage = stage(Shape::Call, |plan| plan);
    stage.until(EarPhase::Waiting);
    let asked = stage.by_ear().question().unwrap().clone();
    stage.order(Order::Again);
    stage.until(EarPhase::Waiting);
    assert_eq!(sounds(&stage).len(), 2);
    assert_eq!(sounds(&stage)[0].tones, sounds(&stage)[1].tones);
    assert_eq!(stage.by_ear().question(), Some(&asked));

    stage.order(Order::Next);
    let told = stage.by_ear().told().unwrap();
    assert_eq!((told.result, &told.question), (Result::Passed, &asked), "what was asked is told");
    assert_eq!(stage.by_ear().score(), (0, 0), "it counts neither way");
    stage.go_on();
    assert_eq!(stage.by_ear().question().unwrap().number, 2);

    // What has been told may be asked again, and goes on from there.
    stage.until(EarPhase::Waiting);
    stage.order(Order::Next);
    stage.order(Order::Again);
    let again = stage.by_ear().question().unwrap();
    assert_eq!((again.number, again.attempt), (2, 2));
}

#[test]
fn calls_grow_by_right_answers() {
    let mut stage = stage(Shape::Call, |plan| EarPlan { questions: 4, ..plan });
    for _ in 0..3 {
        stage.until(EarPhase::Waiting);
        assert!(
            matches!(&stage.by_ear().question().unwrap().asks, Asks::Call { answer, .. } if answer.len() == 2)
        );
        assert_eq!(stage.play(&answer(&stage)).result, Result::Right);
        stage.go_on();
    }
    stage.until(EarPhase::Waiting);
    assert_eq!(answer(&stage).len(), 3);
    stage.play(&answer(&stage));
    stage.until(EarPhase::Done);
    assert_eq!(stage.said.last(), Some(&Event::Ended(Ending::Done)));
    assert_eq!(stage.by_ear().score(), (4, 4));
}

#[test]
fn a_pause_silences_the_question_and_poses_it_anew() {
    let mut stage = stage(Shape::Depth, |plan| plan);
    stage.step();
    stage.order(Order::Pause);
    assert_eq!(stage.by_ear().phase(), EarPhase::Paused);
    assert_eq!(stage.said[stage.said.len() - 2..], [Event::EarSilent, Event::Paused]);
    stage.player.play(&answer(&stage)[0]).unwrap();
    for _ in 0..400 {
        stage.step();
    }
    assert_eq!(stage.by_ear().results(), [], "nothing is judged meanwhile");
    stage.order(Order::Pause);
    stage.until(EarPhase::Waiting);
    assert_eq!(sounds(&stage).len(), 2);
}

#[test]
fn of_an_answer_in_which_samples_were_lost_nothing_can_be_told() {
    for shape in Shape::ALL {
        let mut stage = stage(shape, |plan| plan);
        stage.until(EarPhase::Waiting);
        // A loss before the answer is no loss.
        let events = stage.exercise.gap();
        assert_eq!(events, []);
        for gesture in answer(&stage) {
            stage.player.play(&gesture).unwrap();
        }
        for _ in 0..70 {
            stage.step();
        }
        let events = stage.exercise.gap();
        let Some(Event::Answered(told)) = events.iter().find(|event| matches!(event, Event::Answered(_)))
        else {
            panic!("{shape}: {events:?}")
        };
        assert_eq!(told.result, Result::CannotTell(Cause::SamplesLost), "{shape}");
        stage.go_on();
        assert_eq!(stage.by_ear().question().unwrap().attempt, 2);
    }
}

#[test]
fn without_a_loudspeaker_what_is_named_goes_on_and_the_rest_is_paused() {
    for (shape, heard, goes_on) in [
        (Shape::Call, false, false),
        (Shape::Depth, false, false),
        (Shape::Interval, true, false),
        (Shape::Degree, true, false),
        (Shape::Drone, false, true),
        (Shape::Interval, false, true),
        (Shape::Degree, false, true),
    ] {
        let mut stage = stage(shape, |plan| EarPlan { heard, ..plan });
        stage.step();
        stage.order(Order::CannotSound);
        if !goes_on {
            assert_eq!(stage.by_ear().phase(), EarPhase::Paused, "{shape}");
            assert!(stage.exercise.is_on());
            continue;
        }
        let last = posed(&stage).last().copied().unwrap();
        assert!(!last.sounded && !matches!(last.named, Named::Nothing), "{shape}: {last:?}");
        stage.until(EarPhase::Waiting);
        assert_eq!(stage.play(&answer(&stage)).result, Result::Right, "{shape}");
    }
}

#[test]
fn a_drone_is_matched_while_it_sounds_and_falls_silent_with_the_verdict() {
    let mut stage = stage(Shape::Drone, |plan| plan);
    stage.until(EarPhase::Waiting);
    assert!(sounds(&stage)[0].ends_s() > 10.0);
    let told = stage.play(&answer(&stage));
    assert_eq!(told.result, Result::Right);
    assert!(stage.exercise.now().samples as f64 / RATE < sounds(&stage)[0].ends_s());
    let silent = stage.said.iter().position(|event| *event == Event::EarSilent).unwrap();
    assert!(matches!(stage.said[silent + 1], Event::Answered(_)));
}

/// A recording is at its end when the last answer is: it is judged all the same.
#[test]
fn an_answer_that_is_complete_is_judged_at_the_end() {
    let mut stage = stage(Shape::Call, |plan| EarPlan { sounded: false, questions: 1, ..plan });
    stage.until(EarPhase::Waiting);
    for gesture in answer(&stage) {
        stage.player.play(&gesture).unwrap();
    }
    for _ in 0..170 {
        stage.step();
    }
    assert_eq!(stage.by_ear().results(), []);
    stage.order(Order::Leave);
    assert_eq!(stage.by_ear().results()[0].result, Result::Right);
    assert_eq!(stage.said.last(), Some(&Event::Ended(Ending::Done)));

    let mut stage = self::stage(Shape::Call, |plan| EarPlan { sounded: false, questions: 1, ..plan });
    stage.until(EarPhase::Waiting);
    stage.player.play(&answer(&stage)[0]).unwrap();
    for _ in 0..100 {
        stage.step();
    }
    stage.order(Order::Leave);
    assert_eq!(stage.by_ear().results(), [], "one that is not complete is not blamed");
    assert_eq!(stage.said.last(), Some(&Event::Ended(Ending::Left)));
}

#[test]
fn a_note_that_is_missing_is_told_after_a_while() {
    let mut stage = stage(Shape::Call, |plan| plan);
    stage.until(EarPhase::Waiting);
    let told = stage.play(&answer(&stage)[..1]);
    assert_eq!(told.result, Result::Wrong);
    let practice::ear::Answer::Notes(notes) = &told.answer else { panic!("{told:?}") };
    assert_eq!(notes.iter().map(|note| note.is).collect::<Vec<_>>(), [NoteIs::Right, NoteIs::Missing]);
}

#[test]
fn the_note_to_start_from_is_no_answer_the_first_time_and_one_the_second() {
    for shape in [Shape::Interval, Shape::Degree] {
        let mut stage = stage(shape, |plan| plan);
        stage.until(EarPhase::Waiting);
        let question = stage.by_ear().question().unwrap().clone();
        let (Asks::Interval { from, .. } | Asks::Degree { tonic: from, .. }) = question.asks else {
            panic!("{question:?}")
        };
        let start = Gesture::new(from.way).seconds(1.5).rest(0.3);
        let told = stage.play(&[start.clone(), start]);
        assert_eq!(told.result, Result::Wrong, "{shape}");
        let practice::ear::Answer::Held(held) = &told.answer else { panic!("{told:?}") };
        assert_eq!(held.played, Some(from.note));
    }
}

#[test]
fn what_may_be_hidden_by_what_is_sounded_is_not_called_wrong() {
    for (hidden_s, expected) in
        [(0.0, Result::Wrong), (0.02, Result::Wrong), (0.5, Result::CannotTell(Cause::Hidden))]
    {
        let mut stage = stage(Shape::Drone, |plan| plan);
        stage.until(EarPhase::Waiting);
        let now = stage.exercise.now().samples;
        stage.exercise.mask(now, now + (hidden_s * RATE) as u64);
        let flat = answer(&stage)[0].clone().cents_off(-45.0);
        assert_eq!(stage.play(&[flat]).result, expected, "{hidden_s}");
    }
    // What was right is right, whatever else could not be heard.
    let mut stage = stage(Shape::Drone, |plan| plan);
    stage.until(EarPhase::Waiting);
    stage.exercise.mask(0, RATE as u64);
    assert_eq!(stage.play(&answer(&stage)).result, Result::Right);
}
