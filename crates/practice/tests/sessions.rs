//! Sessions: what is asked when, and what is judged for what.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

use layout::{Harp, HarpKey};
use pitch::Reading;
use practice::{Drill, Ending, Event, Exercise, Order, Phase, Session};
use proptest::prelude::*;
use scoring::{Outcome, Tolerance};

const RATE: f64 = 48_000.0;
const HOP: u64 = 256;

fn harp() -> Harp {
    Harp::richter("C".parse::<HarpKey>().unwrap())
}

/// An exercise at this drill, and what it says first.
fn at(drill: Drill, harp: Harp) -> (Exercise, Vec<Event>) {
    let mut exercise = Exercise::new(harp, Tolerance::default(), RATE);
    let mut said = exercise.order(Order::Drill(Box::new(drill)));
    assert!(matches!(said.remove(0), Event::Started(_)), "a drill begins before anything is asked");
    (exercise, said)
}

/// A drill in the hands of a player: plays seconds of cents above a reference, and writes down what happens.
struct Player {
    exercise: Exercise,
    time: u64,
    rate: f64,
    log: Vec<Event>,
}

impl Player {
    /// At a drill of these lines of tab, each held for a second, with this many tries.
    fn at(tab: &[&str], tries: u32) -> Self {
        let items: Vec<String> = tab.iter().map(|tab| format!("[[item]]\nplay = \"{tab}\"\n")).collect();
        let text = format!("title = 'test'\nhold = 1\ntries = {tries}\n{}", items.concat());
        let drill = Drill::parse("test", &text, &harp()).unwrap();
        let (exercise, asked) = at(drill, harp());
        assert_eq!(asked.len(), 1, "the first item is asked at once");
        Self { exercise, time: 0, rate: RATE, log: Vec::new() }
    }

    fn session(&self) -> &Session {
        self.exercise.session().unwrap()
    }

    fn order(&mut self, order: Order) -> &mut Self {
        self.press(|exercise| exercise.order(order))
    }

    fn reading(&mut self, hz: Option<f64>) {
        let (time, known) = (self.time, self.time + 1024);
        self.time += HOP;
        let onset = false;
        let reading = Reading { time, known, hz, sigma_cents: 0.1, clarity: 0.9, level_dbfs: -20.0, onset };
        self.log.extend(self.exercise.hear(&reading));
    }

    /// Plays `seconds` of what is asked, `cents` off; `None` is silence.
    fn play(&mut self, seconds: f64, cents: impl Into<Option<f64>>) -> &mut Self {
        let cents = cents.into();
        let session = self.session();
        let way = session.drill().items[session.item()].target.way;
        let hz = cents.map(|cents| harp().hz(way).unwrap() * (cents / 1200.0_f64).exp2());
        for _ in 0..(seconds * self.rate / HOP as f64).round() as u64 {
            self.reading(hz);
        }
        self
    }

    fn rest(&mut self, seconds: f64) -> &mut Self {
        self.play(seconds, None)
    }

    /// Lets a key press happen.
    fn press(&mut self, key: impl FnOnce(&mut Exercise) -> Vec<Event>) -> &mut Self {
        let events = key(&mut self.exercise);
        self.log.extend(events);
        self
    }

    /// What has happened since this was last asked, in words: `asked 0.1`, `began`, `landed 0.1`, `done`.
    #[track_caller]
    fn check(&mut self, expected: &[&str]) -> &mut Self {
        let said: Vec<String> = self.log.drain(..).map(in_words).collect();
        assert_eq!(said, expected);
        self
    }

    #[track_caller]
    fn is(&mut self, phase: Phase) -> &mut Self {
        assert_eq!(self.session().phase(), phase);
        self
    }
}

fn in_words(event: Event) -> String {
    match event {
        Event::Asked(asked) => format!("asked {}.{}", asked.item, asked.attempt),
        Event::Paused => "paused".to_owned(),
        Event::Began(_) => "began".to_owned(),
        Event::Judged(tried) => {
            format!("{} {}.{}", tried.verdict.outcome.word(), tried.asked.item, tried.asked.attempt)
        }
        Event::Ended(Ending::Done) => "done".to_owned(),
        Event::Ended(Ending::Left) => "left".to_owned(),
        other => panic!("a drill does not say {other:?}"),
    }
}

#[test]
fn a_drill_from_end_to_end() {
    let mut player = Player::at(&["-3'", "-4'"], 2);
    player.is(Phase::Waiting).check(&[]);
    player.rest(0.5).play(0.5, 4.0).is(Phase::Playing).check(&["began"]);
    player.play(0.7, 4.0).is(Phase::Judged).check(&["landed 0.1"]);
    player.rest(1.0).is(Phase::Judged).rest(0.5).is(Phase::Waiting).check(&["asked 0.2"]);
    player.play(1.2, 40.0).rest(1.5).check(&["began", "short 0.2", "asked 1.1"]);
    player.play(1.2, -55.0).rest(1.5).check(&["began", "past 1.1", "asked 1.2"]);
    player.play(0.6, 0.0).rest(2.5).check(&["began", "let go early 1.2", "done"]).is(Phase::Done);
    player.play(2.0, 0.0).check(&[]);
    let tried = player.session().results();
    assert_eq!(tried.len(), 4);
    // Half a second of rest, then the note; the verdict is known 1024 samples after the reading that decided.
    assert!(tried[0].began.samples.abs_diff(24_000) <= HOP, "{:?}", tried[0]);
    assert!(tried[0].ended.samples.abs_diff(72_000 + 1024) <= 4 * HOP, "{:?}", tried[0]);
}

#[test]
fn whoever_keeps_sounding_is_not_judged_for_the_next_item() {
    let mut player = Player::at(&["-3'", "-3''"], 1);
    player.play(1.2, 0.0).check(&["began", "landed 0.1"]);
    // Holding on, and even moving to another note, begins nothing.
    player.play(6.0, 0.0).play(2.0, -100.0).is(Phase::Judged).check(&[]);
    // Neither does a breath too short to be an end.
    player.rest(0.3).play(2.0, -100.0).is(Phase::Judged).check(&[]);
    // Half a second of silence does, even with a click in it.
    player.rest(0.3).play(0.03, 900.0).rest(0.3).is(Phase::Waiting).check(&["asked 1.1"]);
    player.play(1.2, 0.0).check(&["began", "landed 1.1"]);
}

#[test]
fn a_key_while_sounding_waits_for_silence() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(0.5, 0.0).check(&["began"]);
    player.order(Order::Next).check(&["asked 1.1"]);
    player.play(2.0, 0.0).is(Phase::Waiting).check(&[]);
    player.rest(0.4).play(1.2, 0.0).check(&["began", "landed 1.1"]);
}

#[test]
fn skipping_and_trying_again() {
    let mut player = Player::at(&["-3'", "-4'", "-6'"], 2);
    player.order(Order::Next).check(&["asked 1.1"]);
    // Again before anything was played: the same try.
    player.order(Order::Again).check(&["asked 1.1"]);
    player.rest(0.2).play(1.2, 60.0).check(&["began", "short 1.1"]);
    // Again after a verdict: one try more.
    player.order(Order::Again).check(&["asked 1.2"]);
    player.rest(0.4).play(1.2, 0.0).rest(1.5).check(&["began", "landed 1.2", "asked 1.3"]);
    player.play(1.2, 0.0).rest(1.5).check(&["began", "landed 1.3", "asked 2.1"]);
    // Skipping leaves the tries that are left, and the verdict that is shown.
    player.play(1.2, 0.0).check(&["began", "landed 2.1"]);
    player.order(Order::Next).is(Phase::Done).check(&["done"]);
    player.order(Order::Next).check(&[]);
    // Once more after the end.
    player.order(Order::Again).is(Phase::Waiting).check(&["asked 2.2"]);
    player.rest(0.4).play(1.2, 0.0).rest(1.5).check(&["began", "landed 2.2", "done"]);
}

#[test]
fn a_pause_judges_nothing() {
    let mut player = Player::at(&["-3'"], 2);
    player.play(0.5, 0.0).check(&["began"]);
    player.order(Order::Pause).check(&["paused"]);
    player.is(Phase::Paused).play(3.0, 70.0).is(Phase::Paused).check(&[]);
    player.order(Order::Pause).check(&["asked 0.1"]);
    // Still sounding from before.
    player.is(Phase::Waiting).play(3.0, 70.0).check(&[]);
    player.rest(0.4).play(1.2, 0.0).check(&["began", "landed 0.1"]);
    // A pause while a verdict is shown keeps it shown.
    player.order(Order::Pause).check(&["paused"]);
    player.rest(3.0).is(Phase::Paused).check(&[]);
    player.order(Order::Pause).check(&[]);
    player.is(Phase::Judged).rest(0.1).is(Phase::Waiting).check(&["asked 0.2"]);
}

#[test]
fn silence_uses_nothing_up() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.rest(10.2).check(&["not heard 0.1"]).is(Phase::Judged);
    player.rest(1.5).check(&["asked 0.1"]).is(Phase::Waiting);
    // From now on it waits for as long as it takes.
    player.rest(120.0).check(&[]).play(1.2, 0.0).rest(1.5).check(&["began", "landed 0.1", "asked 1.1"]);
    assert_eq!(player.session().summary().tries, 1);
}

#[test]
fn lost_samples_are_asked_again() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.rest(0.2).press(Exercise::gap).check(&[]);
    player.play(0.5, 0.0).check(&["began"]);
    player.press(Exercise::gap).check(&["not scored 0.1", "asked 0.1"]).is(Phase::Waiting);
    // The rest of the spoilt note counts for nothing.
    player.play(1.5, 0.0).rest(0.4).check(&[]);
    player.play(1.2, 0.0).check(&["began", "landed 0.1"]);
    // Lost samples while a verdict is shown change nothing.
    player.press(Exercise::gap).check(&[]).is(Phase::Judged).rest(1.5).check(&["asked 1.1"]);
}

#[test]
fn a_device_that_comes_back_at_another_rate_goes_on() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 0.0).rest(1.5).play(0.5, 0.0).check(&["began", "landed 0.1", "asked 1.1", "began"]);
    player.press(|exercise| exercise.restart(16_000.0)).check(&["not scored 1.1", "asked 1.1"]);
    (player.time, player.rate) = (0, 16_000.0);
    player.rest(0.5).play(0.9, 0.0).is(Phase::Playing).play(0.3, 0.0).check(&["began", "landed 1.1"]);
    // Again, with a verdict on show and the rate of before.
    player.press(|exercise| exercise.restart(48_000.0)).check(&[]);
    (player.time, player.rate) = (0, 48_000.0);
    player.rest(1.1).is(Phase::Judged).rest(0.3).check(&["done"]);
    assert_eq!(player.session().results().len(), 3);
}

#[test]
fn a_clock_that_starts_anew_unannounced_is_lost_samples() {
    let mut player = Player::at(&["-3'"], 1);
    player.rest(5.0).play(0.5, 0.0).check(&["began"]);
    player.time = 0;
    player.play(0.1, 0.0).check(&["not scored 0.1", "asked 0.1"]);
    player.rest(0.5).play(1.2, 0.0).check(&["began", "landed 0.1"]);
}

#[test]
fn who_leaves_early_is_told_so_once() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 0.0).order(Order::Leave).check(&["began", "landed 0.1", "left"]).is(Phase::Left);
    player.order(Order::Leave).rest(0.5).play(1.2, 0.0).check(&[]);
    assert_eq!(player.session().results().len(), 1);
    // Another harp ends a drill that was read for this one, and says which harp is in the hand now.
    let mut player = Player::at(&["-3'"], 1);
    let low = Harp::richter("low F".parse::<HarpKey>().unwrap());
    let said = player.exercise.order(Order::TakeHarp(Box::new(low.clone())));
    assert_eq!(said, [Event::Ended(Ending::Left), Event::TookHarp(Box::new(low.clone()))]);
    assert_eq!(player.exercise.harp(), &low);
}

#[test]
fn a_try_owns_what_it_says() {
    let mut player = Player::at(&["-3'"], 1);
    player.play(1.2, 4.0);
    let [tried] = player.session().results() else { panic!("one try") };
    assert_eq!((tried.drill.name.as_str(), tried.drill.title.as_str()), ("test", "test"));
    assert_eq!((&tried.harp, tried.way().to_string().as_str()), (&harp(), "half step on 3 draw"));
    assert_eq!((tried.asked.target.hold_s, tried.tolerance), (1.0, Tolerance::USUAL));
    let json = serde_json::to_value(tried).unwrap();
    assert_eq!(json["asked"]["target"]["hold_s"], 1.0);
    assert_eq!(json["ended"]["rate"], RATE);
    assert_eq!(json["verdict"]["outcome"], "Landed");
    assert_eq!(json["harp"]["tuning"]["name"], "Richter");
}

#[test]
fn drills_for_another_harp_or_for_none() {
    // Minor tunings bend less on some holes: what cannot be played is passed over.
    let text = "title = 't'\nhold = 1\n[[item]]\nplay = \"-3'''\"\n[[item]]\nplay = '4'\n[[item]]\nplay = \"-3'''\"\n";
    let drill = Drill::parse("t", text, &harp()).unwrap();
    let minor = layout::Tuning::new(
        "natural minor",
        &[0, 3, 7, 12, 15, 19, 24, 27, 31, 36],
        &[2, 7, 10, 14, 17, 21, 22, 26, 29, 33],
    )
    .unwrap();
    let minor = Harp::new(harp().key(), minor, harp().concert());
    let (mut exercise, _) = at(drill.clone(), minor);
    let session = exercise.session().unwrap();
    assert_eq!((session.item(), session.phase()), (1, Phase::Waiting));
    assert_eq!(exercise.order(Order::Next), [Event::Ended(Ending::Done)]);
    // Nothing to do at all.
    let (mut exercise, said) = at(Drill { items: vec![], ..drill }, harp());
    assert_eq!(said, [Event::Ended(Ending::Done)]);
    assert_eq!(exercise.session().unwrap().phase(), Phase::Done);
    assert_eq!(exercise.order(Order::Again), []);
}

#[test]
fn the_summary_says_what_to_practise_next() {
    let mut player = Player::at(&["-3'", "-4'", "-6'"], 1);
    assert_eq!(player.session().summary(), practice::Summary::default());
    for cents in [4.0, 44.0, -18.0] {
        player.rest(0.4).play(1.2, cents).rest(1.3);
    }
    let summary = player.session().summary();
    assert_eq!((summary.tries, summary.landed, summary.centred), (3, 2, 1));
    assert!((summary.median_cents_off.unwrap() - 18.0).abs() < 0.01);
    assert_eq!(summary.weakest.map(|way| way.to_string()).as_deref(), Some("half step on 4 draw"));

    // Everything landed: the one that was not centred. Everything centred: nothing.
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 3.0).rest(1.5);
    assert_eq!(player.session().summary().weakest, None);
    player.play(1.2, 15.0);
    assert_eq!(player.session().summary().weakest.map(|way| way.hole), Some(4));
    // A note somewhere else is the worst of all, but no figure near the target.
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 40.0).rest(1.5).play(1.5, 500.0);
    let summary = player.session().summary();
    assert_eq!(summary.weakest.map(|way| way.hole), Some(4));
    assert!((summary.median_cents_off.unwrap() - 40.0).abs() < 0.01);
}

#[test]
fn the_live_state_shows_what_sounds() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(0.5, 12.0);
    let live = player.session().live();
    assert!(live.sounding && (live.cents_off.unwrap() - 12.0).abs() < 1e-6 && live.held_s > 0.4);
    assert_eq!(live.reached_s, Some(0.0));
    // After the verdict the pitch goes on being shown; the hold stays as it was.
    player.play(1.0, 12.0);
    let live = player.session().live();
    assert!(live.sounding && live.cents_off.is_some() && (1.0..1.05).contains(&live.held_s), "{live:?}");
    player.rest(0.2);
    let live = player.session().live();
    assert!(!live.sounding && live.cents_off.is_none() && live.held_s >= 1.0);
    player.rest(2.0);
    assert_eq!(player.session().live(), scoring::Live::default());
}

/// One thing that may happen to a session.
#[derive(Clone, Debug)]
enum Step {
    Reading(u64, u64, Option<f64>),
    Play(f64, f64),
    Rest(f64),
    Gap,
    Restart(f64),
    Pause,
    Skip,
    Again,
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let odd =
        prop_oneof![Just(f64::NAN), Just(f64::INFINITY), Just(-1.0), Just(0.0), Just(1e-300), any::<f64>()];
    let step = prop_oneof![
        2 => (any::<u64>(), any::<u64>(), proptest::option::of(odd.clone()))
            .prop_map(|(time, known, hz)| Step::Reading(time, known, hz)),
        8 => (0.0..2.5, -500.0..500.0).prop_map(|(seconds, cents)| Step::Play(seconds, cents)),
        6 => (0.0..3.0).prop_map(Step::Rest),
        1 => Just(Step::Gap),
        1 => odd.prop_map(Step::Restart),
        1 => Just(Step::Pause),
        1 => Just(Step::Skip),
        1 => Just(Step::Again),
    ];
    proptest::collection::vec(step, 0..60)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever happens, nothing panics, and the story told makes sense: verdicts only on what was asked, and none
    /// after the end.
    #[test]
    fn any_session_makes_sense(steps in steps()) {
        let mut player = Player::at(&["-3'", "6o", "4"], 2);
        for step in steps {
            match step {
                Step::Reading(time, known, hz) => {
                    let reading = Reading {
                        time, known, hz, sigma_cents: f32::NAN, clarity: f32::NAN, level_dbfs: f32::NAN, onset: true,
                    };
                    player.press(|exercise| exercise.hear(&reading));
                }
                Step::Play(seconds, cents) => drop(player.play(seconds, cents)),
                Step::Rest(seconds) => drop(player.rest(seconds)),
                Step::Gap => drop(player.press(Exercise::gap)),
                Step::Restart(rate) => drop(player.press(|exercise| exercise.restart(rate))),
                Step::Pause => drop(player.order(Order::Pause)),
                Step::Skip => drop(player.order(Order::Next)),
                Step::Again => drop(player.order(Order::Again)),
            }
            let live = player.session().live();
            prop_assert!(live.held_s.is_finite() && live.cents_off.is_none_or(f64::is_finite));
        }
        let mut asked = Some((0, 1));
        for event in &player.log {
            match event {
                Event::Asked(now) => asked = Some((now.item, now.attempt)),
                Event::Began(_) => prop_assert!(asked.is_some()),
                Event::Judged(tried) => {
                    prop_assert_eq!(asked.take(), Some((tried.asked.item, tried.asked.attempt)));
                    prop_assert!(tried.verdict.figures.is_none_or(|figures| figures.cents_off.is_finite()));
                }
                Event::Ended(_) => asked = None,
                _ => {}
            }
        }
        let judged = player.log.iter().filter(|event| matches!(event, Event::Judged(_))).count();
        prop_assert_eq!(judged, player.session().results().len());
        let landed = player.session().results().iter().filter(|t| t.verdict.outcome == Outcome::Landed).count();
        prop_assert_eq!(player.session().summary().landed, landed);
    }
}
