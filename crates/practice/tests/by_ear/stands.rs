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
        let mut new = Self::of(Shape::Degree, |plan| EarPlan { sounded: false, questions, ..plan });
        new.play(0.3, None);
        new
    }

    /// Questions of the major scale in the first position, of which nothing was heard yet.
    fn of(shape: Shape, change: impl Fn(EarPlan) -> EarPlan) -> Self {
        let harp = harp("C");
        let plan = change(EarPlan { key: key(&harp, 1, "major"), ..plan(&harp, shape) });
        let mut exercise = Exercise::new(harp, Tolerance::default(), RATE);
        let said = exercise.order(Order::Ear(Box::new(plan)));
        Self { exercise, time: 0, said }
    }

    /// The notes of a call, each by itself, and then some silence.
    fn answer_call(&mut self, silent_s: f64) -> &mut Self {
        for wanted in self.by_ear().question().unwrap().asks.all_wanted() {
            self.play(0.3, Some((wanted.way, 0.0))).play(0.1, None);
        }
        self.play(silent_s, None)
    }

    /// Whether what was sounded was told to fall silent.
    fn fell_silent(&self) -> bool {
        self.said.contains(&Event::EarSilent)
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

/// A quarter of a second is left for a loudspeaker that sounds later than it is told to.
#[test]
fn the_answer_is_heard_when_the_question_has_sounded() {
    let mut player = Player::of(Shape::Interval, |plan| EarPlan { heard: true, ..plan });
    player.play(0.005, None);
    let Some(Event::EarSounds(sounds)) = player.said.last() else { panic!("{:?}", player.said) };
    let ends_s = sounds.ends_s();
    player.play(ends_s + 0.2, None);
    assert_eq!(player.by_ear().phase(), EarPhase::Sounding);
    player.play(0.1, None);
    assert_eq!(player.by_ear().phase(), EarPhase::Waiting);
}

/// Nothing has to fall silent but a drone that sounds.
#[test]
fn a_drone_is_answered_while_it_sounds_and_one_that_is_named_in_every_octave() {
    let octave_off = |sounded: bool, wanted_off: bool| {
        let mut player = Player::of(Shape::Drone, |plan| EarPlan { sounded, ..plan });
        player.play(0.3, None);
        assert_eq!(player.by_ear().phase(), EarPhase::Waiting);
        let cents = if wanted_off { 1200.0 } else { 0.0 };
        let way = player.wanted();
        // The higher notes have the octave below them on the harp, the others the octave above.
        let cents = if harp("C").note(way).unwrap().midi() > 80 { -cents } else { cents };
        player.play(3.0, Some((way, cents)));
        (player.results()[0], player.fell_silent())
    };
    assert_eq!(octave_off(true, false), (Result::Right, true));
    assert_eq!(octave_off(true, true), (Result::Wrong, true));
    assert_eq!(octave_off(false, false), (Result::Right, false));
    assert_eq!(octave_off(false, true), (Result::Right, false));
    // An interval that is heard is over when it is answered.
    let mut player = Player::of(Shape::Interval, |plan| EarPlan { heard: true, ..plan });
    player.play(6.0, None);
    let way = player.wanted();
    player.play(1.0, Some((way, 0.0)));
    assert_eq!((player.results(), player.fell_silent()), (vec![Result::Right], false));
}

/// What was asked is shown for two and a half seconds; of a recording of calls nobody reads it before the recording
/// plays on.
#[test]
fn what_was_asked_is_shown_for_a_while_but_not_in_a_recording() {
    let mut player = Player::at(2);
    let way = player.wanted();
    player.play(0.7, Some((way, 0.0))).play(1.5, None);
    assert_eq!(player.by_ear().phase(), EarPhase::Told);
    player.play(1.5, None);
    assert_eq!(player.by_ear().question().unwrap().number, 2);
    let mut player = Player::of(Shape::Call, |plan| EarPlan { sounded: false, ..plan });
    // 0.7 s of silence end the answer, and the next one may begin.
    player.play(0.3, None).answer_call(0.7);
    assert_eq!((player.results(), player.by_ear().question().unwrap().number), (vec![Result::Right], 2));
}

#[test]
fn in_a_new_stream_what_is_told_is_shown_for_as_long_as_ever() {
    let mut player = Player::at(2);
    let way = player.wanted();
    // The old stream is at twenty seconds by then.
    player.play(20.0, None).play(0.8, Some((way, 0.0)));
    assert_eq!(player.by_ear().phase(), EarPhase::Told);
    player.exercise.restart(RATE);
    player.time = 0;
    player.play(2.0, None);
    assert_eq!(player.by_ear().phase(), EarPhase::Told);
    player.play(1.0, None);
    assert_eq!(player.by_ear().question().unwrap().number, 2);
}

#[test]
fn where_nothing_was_to_sound_nothing_is_missed() {
    // Calls of a recording, and questions that are over.
    let mut player = Player::of(Shape::Call, |plan| EarPlan { sounded: false, ..plan });
    player.play(0.3, None);
    assert!(player.order(Order::CannotSound).is_empty());
    player.answer_call(0.8);
    assert_eq!(player.results(), [Result::Right]);
    for shape in [Shape::Call, Shape::Drone] {
        let mut player = Player::of(shape, |plan| plan);
        player.play(0.3, None).order(Order::Leave);
        assert!(player.order(Order::CannotSound).is_empty());
        assert_eq!(player.by_ear().phase(), EarPhase::Left);
    }
}

#[test]
fn a_pause_breaks_off_an_answer_and_keeps_what_is_told() {
    // Both notes were played, but the silence behind them has not shown that it is all: the question is posed anew.
    let mut player = Player::of(Shape::Call, |plan| EarPlan { sounded: false, questions: 1, ..plan });
    player.play(0.3, None).answer_call(0.2);
    assert_eq!((player.by_ear().notes_heard(), player.results().len()), (2, 0));
    player.order(Order::Pause);
    assert_eq!(player.by_ear().notes_heard(), 0);
    assert_eq!(player.order(Order::Leave), [Event::Ended(Ending::Left)]);
    assert_eq!(player.results(), []);
    // A verdict is there again behind the pause.
    let mut player = Player::at(2);
    let way = player.wanted();
    player.play(0.8, Some((way, 0.0))).order(Order::Pause);
    assert_eq!(player.by_ear().phase(), EarPhase::Paused);
    assert!(player.order(Order::Pause).is_empty());
    assert_eq!(
        (player.by_ear().phase(), player.by_ear().told().map(|told| told.result)),
        (EarPhase::Told, Some(Result::Right))
    );
}
