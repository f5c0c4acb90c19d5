//! Whatever happens, the story told makes sense.

use crate::player::Player;
use pitch::Reading;
use practice::{Event, Exercise, Order};
use proptest::prelude::*;
use scoring::Outcome;

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
                    // What was measured was heard: the pitch went there, within the stretch that counts as one pitch.
                    let near = |cents_off| tried.trace.cents().flatten().any(|cents| f64::abs(cents - cents_off) <= 30.1);
                    prop_assert!(tried.verdict.figures.is_none_or(|figures| near(figures.cents_off)));
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
