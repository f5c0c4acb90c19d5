//! The model: a run is played to the player before its count-in, and nothing is judged meanwhile.

use crate::{blues, harp};
use pitch::Reading;
use practice::run::{Clicking, Plan, RunPhase, StartAt, Tempi};
use practice::{Ending, Event, Exercise, Order};
use scoring::Tolerance;

const RATE: f64 = 48_000.0;
const HOP: u64 = 480;

/// A C harp, an exercise, and the samples known.
struct Stage {
    exercise: Exercise,
    known: u64,
}

impl Stage {
    fn new(start: StartAt) -> Self {
        let harp = harp("C");
        let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
        let plan = Plan {
            material: blues(&harp, 120.0),
            start,
            runs: 2,
            tempi: Tempi::Same,
            own_tempo_first: false,
            clicking: Clicking::default(),
            over: None,
            delay_s: Some(0.0),
        };
        exercise.order(Order::Run(Box::new(plan)));
        Self { exercise, known: 0 }
    }

    fn phase(&self) -> RunPhase {
        self.exercise.running().unwrap().phase()
    }

    /// Hears this pitch, or nothing, for so many seconds.
    fn hear(&mut self, seconds: f64, hz: Option<f64>) -> Vec<Event> {
        let mut events = Vec::new();
        for _ in 0..(seconds * RATE) as u64 / HOP {
            self.known += HOP;
            let reading = Reading {
                time: self.known - HOP / 2,
                known: self.known,
                hz,
                clarity: 1.0,
                level_dbfs: if hz.is_some() { -20.0 } else { -80.0 },
                onset: false,
                sigma_cents: if hz.is_some() { 1.0 } else { 0.0 },
            };
            events.extend(self.exercise.hear(&reading));
        }
        events
    }
}

fn names(events: &[Event]) -> Vec<&'static str> {
    let name = |event: &Event| match event {
        Event::ModelBegan(_) => "model",
        Event::ModelOver => "over",
        Event::RunBegan(_) => "run",
        Event::RunJudged(_) => "judged",
        Event::Paused => "paused",
        Event::Ended(Ending::Left) => "left",
        _ => "other",
    };
    events.iter().map(name).collect()
}

/// Thirteen eighths at 120, the last of which is held to the end of the second bar: four seconds, and the count-in
/// behind them.
#[test]
fn a_run_is_played_before_its_count_in_and_nothing_of_it_is_judged() {
    let mut stage = Stage::new(StartAt::CountIn);
    assert!(stage.exercise.order(Order::Model).is_empty());
    // What is heard meanwhile, from the loudspeaker or the player, has the pitch of the first note of the run.
    let heard = stage.hear(4.5, Some(392.0));
    assert_eq!(names(&heard), ["model"]);
    let Event::ModelBegan(began) = &heard[0] else { panic!() };
    assert_eq!(began.tempo.bpm(), 120.0);
    let running = stage.exercise.running().unwrap();
    assert_eq!(running.phase(), RunPhase::Model);
    assert!(running.so_far(&harp("C")).iter().all(Option::is_none), "nothing is missing, nothing is right");
    assert_eq!(names(&stage.hear(1.0, None)), ["over", "run"]);
    assert_eq!(stage.phase(), RunPhase::CountIn);
    let rest = stage.hear(9.0, None);
    assert_eq!(names(&rest), ["judged"]);
    let Event::RunJudged(judged) = &rest[0] else { panic!() };
    assert_eq!((judged.number, judged.verdict.whole.played), (1, 0));
}

#[test]
fn the_model_can_be_left_paused_and_asked_for_again() {
    let mut stage = Stage::new(StartAt::CountIn);
    stage.exercise.order(Order::Model);
    stage.hear(2.0, None);
    assert_eq!(names(&stage.exercise.order(Order::Next)), ["over"], "the next thing is the count-in");
    assert_eq!(names(&stage.hear(1.0, None)), ["run"]);
    // In the middle of a run: it is broken off.
    stage.hear(3.0, None);
    stage.exercise.order(Order::Model);
    assert_eq!(names(&stage.hear(1.0, None)), ["model"]);
    assert_eq!(names(&stage.exercise.order(Order::Model)), ["over"]);
    assert_eq!(names(&stage.hear(1.0, None)), ["model"]);
    assert_eq!(names(&stage.exercise.order(Order::Pause)), ["paused"]);
    stage.exercise.order(Order::Pause);
    assert_eq!((names(&stage.hear(0.1, None)), stage.phase()), (vec!["run"], RunPhase::CountIn));
    assert_eq!(stage.exercise.running().unwrap().from_bar(), 0);
    stage.exercise.order(Order::Model);
    stage.hear(0.1, None);
    assert_eq!(names(&stage.exercise.order(Order::Leave)), ["left"]);
}

/// A device that goes away takes the model with it; one that opens late has not begun it.
#[test]
fn a_new_stream_ends_a_model_that_sounds_and_begins_one_that_does_not() {
    let mut stage = Stage::new(StartAt::CountIn);
    stage.exercise.order(Order::Model);
    stage.exercise.restart(RATE);
    assert_eq!(names(&stage.hear(1.0, None)), ["model"]);
    stage.known = 0;
    stage.exercise.restart(RATE);
    assert_eq!(names(&stage.hear(1.0, None)), ["run"]);
}

#[test]
fn between_two_runs_the_model_is_of_the_next_one() {
    let mut stage = Stage::new(StartAt::CountIn);
    stage.hear(9.0, None);
    assert_eq!(stage.phase(), RunPhase::Shown);
    stage.exercise.order(Order::Model);
    let running = stage.exercise.running().unwrap();
    assert_eq!((running.number(), running.phase(), running.results().len()), (2, RunPhase::Model, 1));
}

#[test]
fn where_the_player_gives_the_beat_it_is_waited_for_behind_the_model() {
    let mut stage = Stage::new(StartAt::FreeTime);
    stage.exercise.order(Order::Model);
    assert_eq!(names(&stage.hear(5.5, Some(392.0)))[..2], ["model", "over"]);
    let mut recording = Stage::new(StartAt::At(1.0));
    recording.exercise.order(Order::Model);
    assert_eq!(recording.phase(), RunPhase::CountIn, "a recording does not wait");
}
