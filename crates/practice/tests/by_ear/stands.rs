//! Where questions stand, on readings that are made by hand: degrees that are named, which need no loudspeaker.

use crate::player::{RATE, harp, key, plan};
use layout::Way;
use pitch::Reading;
use practice::ear::{ByEar, Cause, EarPhase, EarPlan, Result, Shape};
use practice::{Ending, Event, Exercise, Order};
use scoring::Tolerance;

/// Samples from one reading to the next: 5 ms.
const HOP: u64 = 240;

struct Player {
    exercise: Exercise,
    time: u64,
    said: Vec<Event>,
}

impl Player {
    /// So many degrees of the major scale in the first position, of which nothing is sounded.
    fn at(questions: u32) -> Self {
        let harp = harp("C");
        let plan =
            EarPlan { sounded: false, questions, key: key(&harp, 1, "major"), ..plan(&harp, Shape::Degree) };
        let mut exercise = Exercise::new(harp, Tolerance::default(), RATE);
        let said = exercise.order(Order::Ear(Box::new(plan)));
        let mut new = Self { exercise, time: 0, said };
        new.play(0.3, None);
        new
    }

    fn by_ear(&self) -> &ByEar {
        self.exercise.by_ear().unwrap()
    }

    /// Plays a way, so many cents off, for some seconds; nothing is silence.
    fn play(&mut self, seconds: f64, sound: Option<(Way, f64)>) -> &mut Self {
        let hz = sound.map(|(way, cents)| harp("C").hz(way).unwrap() * (cents / 1200.0).exp2());
        for _ in 0..(seconds * RATE) as u64 / HOP {
            let (time, known) = (self.time, self.time);
            let level_dbfs = if hz.is_some() { -20.0 } else { -70.0 };
            let reading =
                Reading { time, known, hz, sigma_cents: 0.5, clarity: 0.9, level_dbfs, onset: false };
            self.time += HOP;
            let events = self.exercise.hear(&reading);
            self.said.extend(events);
        }
        self
    }

    fn order(&mut self, order: Order) -> Vec<Event> {
        let events = self.exercise.order(order);
        self.said.extend(events.clone());
        events
    }

    fn wanted(&self) -> Way {
        self.by_ear().question().unwrap().asks.wanted().unwrap().way
    }

    /// Answers right, or a whole tone beside it, and is silent until the next question is there.
    fn answer(&mut self, right: bool) -> &mut Self {
        let way = self.wanted();
        let cents = if right { 3.0 } else { 200.0 };
        self.play(1.6, Some((way, cents))).play(5.0, None)
    }

    fn results(&self) -> Vec<Result> {
        self.by_ear().results().iter().map(|answered| answered.result).collect()
    }
}

#[test]
fn a_question_waits_is_answered_is_told_and_gives_way_to_the_next() {
    let mut player = Player::at(3);
    assert_eq!((player.by_ear().phase(), player.by_ear().notes_heard()), (EarPhase::Waiting, 0));
    let way = player.wanted();
    player.play(0.3, Some((way, 0.0)));
    assert_eq!((player.by_ear().phase(), player.by_ear().notes_heard()), (EarPhase::Answering, 1));
    assert!(player.by_ear().told().is_none());
    player.play(0.5, Some((way, 0.0)));
    assert_eq!(player.by_ear().phase(), EarPhase::Told);
    assert_eq!(player.by_ear().told().map(|told| told.result), Some(Result::Right));
    // It is shown while the note sounds on, however long that is.
    player.play(6.0, Some((way, 0.0)));
    assert_eq!(player.by_ear().phase(), EarPhase::Told);
    player.play(3.0, None);
    let question = player.by_ear().question().unwrap();
    assert_eq!((player.by_ear().phase(), question.number, question.attempt), (EarPhase::Waiting, 2, 1));
    player.answer(false).answer(true);
    assert_eq!(player.results(), [Result::Right, Result::Wrong, Result::Right]);
    assert_eq!(player.by_ear().score(), (2, 3));
    assert_eq!(
        (player.by_ear().phase(), player.said.last()),
        (EarPhase::Done, Some(&Event::Ended(Ending::Done)))
    );
    assert!(!player.exercise.is_on() && player.by_ear().told().is_some());
}

#[test]
fn what_cannot_be_told_is_asked_again_and_counts_neither_way() {
    let mut player = Player::at(2);
    let way = player.wanted();
    player.play(0.3, Some((way, 0.0)));
    let events = player.exercise.gap();
    assert!(
        matches!(&events[..], [Event::Answered(told)] if told.result == Result::CannotTell(Cause::SamplesLost))
    );
    player.play(5.0, None);
    let question = player.by_ear().question().unwrap();
    assert_eq!((question.number, question.attempt, player.by_ear().score()), (1, 2, (0, 0)));
    // While nothing sounds, lost samples are nothing.
    assert!(player.exercise.gap().is_empty());
    player.play(0.3, None);
    // Hidden by what the program sounds, a wrong answer cannot be told; a right one can.
    let way = player.wanted();
    let from = player.time;
    player.play(0.6, Some((way, 200.0)));
    player.exercise.mask(from, player.time);
    player.play(1.0, Some((way, 200.0))).play(5.0, None);
    assert_eq!(player.results()[1], Result::CannotTell(Cause::Hidden));
    player.answer(true);
    assert_eq!((player.results()[2], player.by_ear().question().unwrap().number), (Result::Right, 2));
}

#[test]
fn keys_pass_repeat_pause_and_leave() {
    let mut player = Player::at(3);
    assert!(matches!(&player.order(Order::Again)[..], [Event::EarSilent, Event::Posed(_)]));
    player.play(0.1, None);
    assert!(matches!(&player.order(Order::Next)[..], [Event::EarSilent, Event::Answered(_)]));
    assert_eq!((player.results(), player.by_ear().score()), (vec![Result::Passed], (0, 0)));
    // Next once more goes on at once; again asks what was told once more.
    assert!(matches!(&player.order(Order::Next)[..], [Event::Posed(posed)] if posed.number == 2));
    player.play(0.1, None);
    let way = player.wanted();
    player.play(0.8, Some((way, 0.0)));
    assert!(
        matches!(&player.order(Order::Again)[..], [Event::EarSilent, Event::Posed(posed)] if posed.attempt == 2)
    );
    assert_eq!(player.order(Order::Pause), [Event::EarSilent, Event::Paused]);
    assert_eq!(player.by_ear().phase(), EarPhase::Paused);
    assert!(player.order(Order::Next).is_empty() && player.order(Order::Again).is_empty());
    player.play(2.0, Some((way, 0.0)));
    assert_eq!(player.results().len(), 2, "nothing is heard in a pause");
    assert!(matches!(&player.order(Order::Pause)[..], [Event::Posed(_)]));
    assert_eq!(player.order(Order::Leave), [Event::Ended(Ending::Left)]);
    assert!(player.order(Order::Leave).is_empty() && player.order(Order::Next).is_empty());
    assert_eq!(player.by_ear().phase(), EarPhase::Left);
    // Left when the last answer is told, it is done.
    let mut player = Player::at(1);
    let way = player.wanted();
    player.play(0.8, Some((way, 0.0)));
    assert_eq!(player.order(Order::Leave), [Event::Ended(Ending::Done)]);
}

#[test]
fn in_a_new_stream_the_question_is_posed_anew_and_a_new_tolerance_holds_for_the_answers_to_come() {
    let mut player = Player::at(2);
    let way = player.wanted();
    player.play(0.3, Some((way, 0.0)));
    let events = player.exercise.restart(RATE);
    player.said.extend(events);
    player.time = 0;
    player.play(5.0, None);
    assert_eq!((player.by_ear().phase(), player.by_ear().question().unwrap().number), (EarPhase::Waiting, 1));
    player.order(Order::TakeTolerance(Tolerance::EXPERT));
    player.answer(true);
    assert_eq!(player.by_ear().results().last().unwrap().tolerance, Tolerance::EXPERT);
}
