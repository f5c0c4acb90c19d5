//! Sessions: what is asked when, and what is judged for what.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used)]

use layout::{Harp, HarpKey};
use pitch::Reading;
use practice::{Drill, Event, Phase, Session, Tried};
use proptest::prelude::*;
use scoring::{Outcome, Tolerance};

const RATE: f64 = 48_000.0;
const HOP: u64 = 256;

fn harp() -> Harp {
    Harp::richter("C".parse::<HarpKey>().unwrap())
}

/// A session in the hands of a player: plays seconds of cents above a reference, and writes down what happens.
struct Player {
    session: Session,
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
        let session = Session::new(drill, harp(), Tolerance::default(), RATE);
        Self { session, time: 0, rate: RATE, log: Vec::new() }
    }

    fn reading(&mut self, hz: Option<f64>) {
        let (time, known) = (self.time, self.time + 1024);
        self.time += HOP;
        let onset = false;
        let reading = Reading { time, known, hz, sigma_cents: 0.1, clarity: 0.9, level_dbfs: -20.0, onset };
        self.log.extend(self.session.hear(&reading));
    }

    /// Plays `seconds` of what is asked, `cents` off; `None` is silence.
    fn play(&mut self, seconds: f64, cents: impl Into<Option<f64>>) -> &mut Self {
        let cents = cents.into();
        let way = self.session.drill().items[self.session.item()].target.way;
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
    fn press(&mut self, key: impl FnOnce(&mut Session) -> Vec<Event>) -> &mut Self {
        let events = key(&mut self.session);
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
        assert_eq!(self.session.phase(), phase);
        self
    }
}

fn in_words(event: Event) -> String {
    match event {
        Event::Asked(item, attempt) => format!("asked {item}.{attempt}"),
        Event::Began(_) => "began".to_owned(),
        Event::Judged(Tried { item, attempt, verdict, .. }) => {
            format!("{} {item}.{attempt}", verdict.outcome.word())
        }
        Event::Done => "done".to_owned(),
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
    let tried = player.session.results();
    assert_eq!(tried.len(), 4);
    // Half a second of rest, then the note; the verdict is known 1024 samples after the reading that decided.
    assert!(tried[0].began.abs_diff(24_000) <= HOP, "{:?}", tried[0]);
    assert!(tried[0].ended.abs_diff(72_000 + 1024) <= 4 * HOP, "{:?}", tried[0]);
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
    player.press(Session::skip).check(&["asked 1.1"]);
    player.play(2.0, 0.0).is(Phase::Waiting).check(&[]);
    player.rest(0.4).play(1.2, 0.0).check(&["began", "landed 1.1"]);
}

#[test]
fn skipping_and_trying_again() {
    let mut player = Player::at(&["-3'", "-4'", "-6'"], 2);
    player.press(Session::skip).check(&["asked 1.1"]);
    // Again before anything was played: the same try.
    player.press(Session::again).check(&["asked 1.1"]);
    player.rest(0.2).play(1.2, 60.0).check(&["began", "short 1.1"]);
    // Again after a verdict: one try more.
    player.press(Session::again).check(&["asked 1.2"]);
    player.rest(0.4).play(1.2, 0.0).rest(1.5).check(&["began", "landed 1.2", "asked 1.3"]);
    player.play(1.2, 0.0).rest(1.5).check(&["began", "landed 1.3", "asked 2.1"]);
    // Skipping leaves the tries that are left, and the verdict that is shown.
    player.play(1.2, 0.0).check(&["began", "landed 2.1"]);
    player.press(Session::skip).is(Phase::Done).check(&["done"]);
    player.press(Session::skip).check(&[]);
    // Once more after the end.
    player.press(Session::again).is(Phase::Waiting).check(&["asked 2.2"]);
    player.rest(0.4).play(1.2, 0.0).rest(1.5).check(&["began", "landed 2.2", "done"]);
}

#[test]
fn a_pause_judges_nothing() {
    let mut player = Player::at(&["-3'"], 2);
    player.play(0.5, 0.0).check(&["began"]);
    player.session.toggle_pause();
    player.is(Phase::Paused).play(3.0, 70.0).is(Phase::Paused).check(&[]);
    player.session.toggle_pause();
    // Still sounding from before.
    player.is(Phase::Waiting).play(3.0, 70.0).check(&[]);
    player.rest(0.4).play(1.2, 0.0).check(&["began", "landed 0.1"]);
    // A pause while a verdict is shown keeps it shown.
    player.session.toggle_pause();
    player.rest(3.0).is(Phase::Paused).check(&[]);
    player.session.toggle_pause();
    player.is(Phase::Judged).rest(0.1).is(Phase::Waiting).check(&["asked 0.2"]);
}

#[test]
fn silence_uses_nothing_up() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.rest(10.2).check(&["not heard 0.1"]).is(Phase::Judged);
    player.rest(1.5).check(&["asked 0.1"]).is(Phase::Waiting);
    // From now on it waits for as long as it takes.
    player.rest(120.0).check(&[]).play(1.2, 0.0).rest(1.5).check(&["began", "landed 0.1", "asked 1.1"]);
    assert_eq!(player.session.summary().tries, 1);
}

#[test]
fn lost_samples_are_asked_again() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.rest(0.2).press(Session::gap).check(&[]);
    player.play(0.5, 0.0).check(&["began"]);
    player.press(Session::gap).check(&["not scored 0.1", "asked 0.1"]).is(Phase::Waiting);
    // The rest of the spoilt note counts for nothing.
    player.play(1.5, 0.0).rest(0.4).check(&[]);
    player.play(1.2, 0.0).check(&["began", "landed 0.1"]);
    // Lost samples while a verdict is shown change nothing.
    player.press(Session::gap).check(&[]).is(Phase::Judged).rest(1.5).check(&["asked 1.1"]);
}

#[test]
fn a_device_that_comes_back_at_another_rate_goes_on() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 0.0).rest(1.5).play(0.5, 0.0).check(&["began", "landed 0.1", "asked 1.1", "began"]);
    player.press(|session| session.restart_clock(16_000.0)).check(&["not scored 1.1", "asked 1.1"]);
    (player.time, player.rate) = (0, 16_000.0);
    player.rest(0.5).play(0.9, 0.0).is(Phase::Playing).play(0.3, 0.0).check(&["began", "landed 1.1"]);
    // Again, with a verdict on show and the rate of before.
    player.press(|session| session.restart_clock(48_000.0)).check(&[]);
    (player.time, player.rate) = (0, 48_000.0);
    player.rest(1.1).is(Phase::Judged).rest(0.3).check(&["done"]);
    assert_eq!(player.session.results().len(), 3);
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
    let mut session = Session::new(drill.clone(), minor, Tolerance::default(), RATE);
    assert_eq!((session.item(), session.phase()), (1, Phase::Waiting));
    assert_eq!(session.skip(), [Event::Done]);
    // Nothing to do at all.
    let mut session = Session::new(Drill { items: vec![], ..drill }, harp(), Tolerance::default(), RATE);
    assert_eq!(session.phase(), Phase::Done);
    assert_eq!(session.again(), []);
}

#[test]
fn the_summary_says_what_to_practise_next() {
    let mut player = Player::at(&["-3'", "-4'", "-6'"], 1);
    assert_eq!(player.session.summary(), practice::Summary::default());
    for cents in [4.0, 44.0, -18.0] {
        player.rest(0.4).play(1.2, cents).rest(1.3);
    }
    let summary = player.session.summary();
    assert_eq!((summary.tries, summary.landed, summary.centred), (3, 2, 1));
    assert!((summary.median_cents_off.unwrap() - 18.0).abs() < 0.01);
    assert_eq!(summary.weakest.map(|way| way.to_string()).as_deref(), Some("half step on 4 draw"));

    // Everything landed: the one that was not centred. Everything centred: nothing.
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 3.0).rest(1.5);
    assert_eq!(player.session.summary().weakest, None);
    player.play(1.2, 15.0);
    assert_eq!(player.session.summary().weakest.map(|way| way.hole), Some(4));
    // A note somewhere else is the worst of all, but no figure near the target.
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 40.0).rest(1.5).play(1.5, 500.0);
    let summary = player.session.summary();
    assert_eq!(summary.weakest.map(|way| way.hole), Some(4));
    assert!((summary.median_cents_off.unwrap() - 40.0).abs() < 0.01);
}

#[test]
fn the_live_state_shows_what_sounds() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(0.5, 12.0);
    let live = player.session.live();
    assert!(live.sounding && (live.cents_off.unwrap() - 12.0).abs() < 1e-6 && live.held_s > 0.4);
    assert_eq!(live.reached_s, Some(0.0));
    // After the verdict the pitch goes on being shown; the hold stays as it was.
    player.play(1.0, 12.0);
    let live = player.session.live();
    assert!(live.sounding && live.cents_off.is_some() && (1.0..1.05).contains(&live.held_s), "{live:?}");
    player.rest(0.2);
    let live = player.session.live();
    assert!(!live.sounding && live.cents_off.is_none() && live.held_s >= 1.0);
    player.rest(2.0);
    assert_eq!(player.session.live(), scoring::Live::default());
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
                    player.press(|session| session.hear(&reading));
                }
                Step::Play(seconds, cents) => drop(player.play(seconds, cents)),
                Step::Rest(seconds) => drop(player.rest(seconds)),
                Step::Gap => drop(player.press(Session::gap)),
                Step::Restart(rate) => drop(player.press(|session| session.restart_clock(rate))),
                Step::Pause => player.session.toggle_pause(),
                Step::Skip => drop(player.press(Session::skip)),
                Step::Again => drop(player.press(Session::again)),
            }
            let live = player.session.live();
            prop_assert!(live.held_s.is_finite() && live.cents_off.is_none_or(f64::is_finite));
        }
        let mut asked = Some((0, 1));
        for event in &player.log {
            match *event {
                Event::Asked(item, attempt) => asked = Some((item, attempt)),
                Event::Began(_) => prop_assert!(asked.is_some()),
                Event::Judged(tried) => {
                    prop_assert_eq!(asked.take(), Some((tried.item, tried.attempt)));
                    prop_assert!(tried.verdict.figures.is_none_or(|figures| figures.cents_off.is_finite()));
                }
                Event::Done => asked = None,
            }
        }
        let judged = player.log.iter().filter(|event| matches!(event, Event::Judged(_))).count();
        prop_assert_eq!(judged, player.session.results().len());
        let landed = player.session.results().iter().filter(|t| t.verdict.outcome == Outcome::Landed).count();
        prop_assert_eq!(player.session.summary().landed, landed);
    }
}
