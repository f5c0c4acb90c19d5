//! The whole line from sound to verdict: the simulated player, the ear, an exercise.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used)]

use layout::{Harp, HarpKey, TabStyle};
use pitch::{Ear, Reading, Settings};
use practice::{Drill, Event, Exercise, Order, Tried};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use scoring::{Outcome, Tolerance};
use std::f64::consts::TAU;
use std::sync::LazyLock;
use synth::{Gesture, SimulatedPlayer};

const RATE: f64 = 48_000.0;

/// Twelve tries with known errors, cents: naturals, bends of every kind, an overblow.
const TRIES: [(&str, f64); 12] = [
    ("-3", -60.0),
    ("-3'", 31.0),
    ("-3''", -14.0),
    ("-3'''", -60.0),
    ("-2'", 60.0),
    ("-2''", 22.0),
    ("-1'", -29.0),
    ("-4'", 3.0),
    ("-6'", 47.0),
    ("8'", -38.0),
    ("10'", 8.0),
    ("6o", -52.0),
];

fn harp(key: &str) -> Harp {
    Harp::richter(key.parse::<HarpKey>().unwrap())
}

fn drill(tries: &[(&str, f64)], harp: &Harp) -> Drill {
    let items: Vec<String> = tries.iter().map(|(tab, _)| format!("[[item]]\nplay = \"{tab}\"\n")).collect();
    Drill::parse("live", &format!("title = 'live'\nhold = 1\n{}", items.concat()), harp).unwrap()
}

/// The sound of these tries, each as `play` makes it of a gesture, with rests between.
fn sound(tries: &[(&str, f64)], harp: &Harp, play: impl Fn(usize, Gesture) -> Gesture) -> Vec<f32> {
    let mut player = SimulatedPlayer::new(harp, RATE, 7);
    for (index, (tab, error)) in tries.iter().enumerate() {
        let way = TabStyle::default().read_for(harp, tab).unwrap();
        player.play(play(index, Gesture::new(way).cents_off(*error).seconds(1.5).rest(1.5))).unwrap();
    }
    // A second of silence for the last verdict.
    let end = player.played().map(|played| played.ended).max().unwrap() + 48_000;
    let mut samples = vec![0.0; end as usize];
    player.fill(&mut samples);
    samples
}

/// What an exercise makes of a sound that arrives in blocks of these sizes, over and over.
fn judged(tries: &[(&str, f64)], harp: &Harp, samples: &[f32], blocks: &[usize]) -> Vec<Tried> {
    let mut ear = Ear::new(Settings::new(RATE)).unwrap();
    let mut exercise = Exercise::new(harp.clone(), Tolerance::default(), RATE);
    exercise.order(Order::Drill(Box::new(drill(tries, harp))));
    let mut results = Vec::new();
    let mut rest = samples;
    for size in blocks.iter().cycle() {
        let (block, tail) = rest.split_at((*size).min(rest.len()));
        ear.push(block, |reading: Reading| {
            results.extend(exercise.hear(&reading).into_iter().filter_map(|event| match event {
                Event::Judged(tried) => Some(*tried),
                _ => None,
            }));
        });
        rest = tail;
        if rest.is_empty() {
            break;
        }
    }
    results
}

/// Every try has to get the right word, and a figure within 3 cents of what was played.
#[track_caller]
fn check(tries: &[(&str, f64)], key: &str, play: impl Fn(usize, Gesture) -> Gesture) -> Vec<Tried> {
    let harp = harp(key);
    compare(tries, judged(tries, &harp, &sound(tries, &harp, play), &[1024]))
}

/// Holds verdicts against what was played.
#[track_caller]
fn compare(tries: &[(&str, f64)], results: Vec<Tried>) -> Vec<Tried> {
    assert_eq!(results.len(), tries.len(), "{results:#?}");
    for (tried, (tab, error)) in results.iter().zip(tries) {
        let off = tried.verdict.figures.map(|figures| figures.cents_off);
        assert!(off.is_some_and(|off| (off - error).abs() < 3.0), "{tab} {error}: {tried:?}");
        let (low, high) = (error.abs() - 3.0, error.abs() + 3.0);
        let near = |cents: f64| (low..high).contains(&cents);
        // Bends pull down, an overblow pulls up.
        let deep = if tab.ends_with('o') { *error > 0.0 } else { *error < 0.0 };
        let natural = !tab.ends_with(['\'', 'o']);
        let right = match tried.verdict.outcome {
            Outcome::Landed => error.abs() <= 25.0,
            Outcome::Short(cents) => !natural && !deep && near(cents),
            Outcome::Past(cents) => !natural && deep && near(cents),
            Outcome::Flat(cents) => natural && deep && near(cents),
            Outcome::Sharp(cents) => natural && !deep && near(cents),
            _ => false,
        };
        assert!(
            right && (error.abs() <= 25.0) == (tried.verdict.outcome == Outcome::Landed),
            "{tab} {error}: {tried:?}"
        );
    }
    results
}

#[test]
fn twelve_tries_played_plainly() {
    for key in ["C", "low F", "high G"] {
        check(&TRIES, key, |_, gesture| gesture);
    }
}

#[test]
fn twelve_tries_played_as_players_do() {
    // Slid into from the natural note with an overshoot; overblows with a pop; a breath heard before every note.
    let results = check(&TRIES, "C", |index, gesture| {
        let gesture = gesture.breath_before(-45.0);
        match TRIES[index].0 {
            tab if tab.ends_with('o') => gesture.pop(0.12),
            tab if tab.ends_with('\'') => gesture.dwell(0.1).glide(0.3).overshoot(20.0, 0.15),
            _ => gesture.scoop(40.0, 0.15),
        }
    });
    for (tried, (tab, _)) in results.iter().zip(TRIES) {
        let reach = tried.verdict.figures.unwrap().reach_s;
        assert!((0.03..0.6).contains(&reach), "{tab}: {tried:?}");
    }
}

#[test]
fn twelve_tries_with_vibrato_or_a_leaking_neighbour() {
    check(&TRIES, "C", |_, gesture| gesture.vibrato(5.5, 15.0));
    check(&TRIES, "C", |_, gesture| {
        let hole = gesture.ways()[0].hole;
        gesture.leak(if hole == 10 { 9 } else { hole + 1 }, -20.0)
    });
}

/// What the exercise made of gestures on a harp, asked for by this drill: verdict and cents, in order.
fn verdicts(key: &str, text: &str, gestures: Vec<Gesture>) -> Vec<(String, f64)> {
    let harp = harp(key);
    let drill = Drill::parse("take", text, &harp).unwrap();
    let mut player = SimulatedPlayer::new(&harp, RATE, 7);
    for gesture in gestures {
        player.play(gesture).unwrap();
    }
    let end = player.played().map(|played| played.ended).max().unwrap() + 96_000;
    let mut samples = vec![0.0; end as usize];
    player.fill(&mut samples);
    let mut ear = Ear::new(Settings::new(RATE)).unwrap();
    let mut exercise = Exercise::new(harp, Tolerance::default(), RATE);
    exercise.order(Order::Drill(Box::new(drill)));
    let mut told = Vec::new();
    ear.push(&samples, |reading| {
        for event in exercise.hear(&reading) {
            if let Event::Judged(tried) = event {
                let off = tried.verdict.figures.map_or(f64::NAN, |figures| figures.cents_off);
                told.push((format!("{} {}", tried.verdict.outcome.word(), tried.asked.item), off));
            }
        }
    });
    told
}

/// A drill of these notes, each held for this long.
fn notes(tabs: &[&str], hold_s: f64) -> String {
    let items: Vec<String> = tabs.iter().map(|tab| format!("[[item]]\nplay = \"{tab}\"\n")).collect();
    format!("title = 't'\nhold = {hold_s:?}\n{}", items.concat())
}

fn gesture(key: &str, tab: &str) -> Gesture {
    Gesture::new(TabStyle::default().read_for(&harp(key), tab).unwrap())
}

const KEYS: [&str; 3] = ["C", "low F", "high G"];

#[test]
fn notes_close_together_are_judged_once_each() {
    let tabs = ["-4", "-4'", "-4", "4"];
    let drill = notes(&tabs, 2.0);
    for key in KEYS {
        for gap in [0.1, 0.2, 0.4, 0.8] {
            let played = tabs.map(|tab| gesture(key, tab).seconds(2.2).rest(gap)).to_vec();
            let told = verdicts(key, &drill, played);
            let words: Vec<&str> = told.iter().map(|(word, _)| word.as_str()).collect();
            assert_eq!(words, ["landed 0", "landed 1", "landed 2", "landed 3"], "{key}, {gap} s: {told:?}");
            assert!(told.iter().all(|(_, off)| off.abs() < 3.0), "{key}, {gap} s: {told:?}");
        }
        // One breath for the three draw notes, and the breath turned for the fourth.
        let slurred = gesture(key, "-4'").dwell(2.2).glide(0.12).seconds(2.2).back(0.12, 2.2);
        let told = verdicts(key, &drill, vec![slurred, gesture(key, "4").seconds(2.2).rest(0.0)]);
        let words: Vec<&str> = told.iter().map(|(word, _)| word.as_str()).collect();
        assert_eq!(words, ["landed 0", "landed 1", "landed 2", "landed 3"], "{key}, slurred: {told:?}");
    }
}

#[test]
fn a_bend_that_is_let_go_is_blamed_for_nothing() {
    for key in KEYS {
        for (asked, next) in [("-4'", "-4"), ("-3''", "-3"), ("-2'", "-2"), ("-3'", "-3''"), ("-6'", "-6'")] {
            for tail in [0.1, 0.2, 0.3, 0.5] {
                let drill = notes(&[asked, next], 1.0);
                let let_go =
                    gesture(key, asked).dwell(0.1).glide(0.2).seconds(1.4).back(tail / 2.0, tail / 2.0);
                let told = verdicts(key, &drill, vec![let_go, gesture(key, next).seconds(1.4).rest(0.6)]);
                let words: Vec<&str> = told.iter().map(|(word, _)| word.as_str()).collect();
                assert_eq!(words, ["landed 0", "landed 1"], "{key}, {asked} then {next}, {tail} s: {told:?}");
            }
        }
    }
}

#[test]
fn scoops_and_wide_vibrato_bring_no_verdict_of_their_own() {
    for key in KEYS {
        let drill = notes(&["-4", "-4'", "-3"], 1.0);
        let played = ["-4", "-4'", "-3"].map(|tab| {
            let note = gesture(key, tab).seconds(2.5).rest(0.4).vibrato(5.0, 40.0);
            if tab == "-4'" { note.glide(0.15) } else { note.scoop(60.0, 0.2) }
        });
        let told = verdicts(key, &drill, played.to_vec());
        let words: Vec<&str> = told.iter().map(|(word, _)| word.as_str()).collect();
        assert_eq!(words, ["landed 0", "landed 1", "landed 2"], "{key}: {told:?}");
    }
}

#[test]
fn drift_is_told_as_it_was_played() {
    let tries = [("-2", 4.0), ("-3'", 4.0), ("8'", 4.0)];
    let harp = harp("C");
    let samples = sound(&tries, &harp, |_, gesture| gesture.drift(-12.0));
    let told = judged(&tries, &harp, &samples, &[512]);
    assert_eq!(told.len(), tries.len());
    for tried in told {
        let figures = tried.verdict.figures.unwrap();
        assert_eq!(tried.verdict.outcome, Outcome::Landed);
        assert!((figures.drift_cents_per_s + 12.0).abs() < 2.0, "{figures:?}");
    }
}

/// How a player gets to a note and keeps it.
#[derive(Clone, Debug)]
struct Manner {
    dwell_s: f64,
    glide_s: f64,
    overshoot: (f64, f64),
    drift: f64,
    vibrato: (f64, f64),
    jitter: f64,
}

impl Manner {
    fn play(&self, tab: &str, gesture: Gesture) -> Gesture {
        let (beyond, settle_s) = self.overshoot;
        let gesture = match tab {
            _ if tab.ends_with('o') => gesture.pop(self.dwell_s),
            _ if tab.ends_with('\'') => {
                gesture.dwell(self.dwell_s).glide(self.glide_s).overshoot(beyond, settle_s)
            }
            _ => gesture.scoop(beyond, self.glide_s),
        };
        gesture.drift(self.drift).vibrato(self.vibrato.0, self.vibrato.1).jitter(self.jitter)
    }
}

fn any_try() -> impl Strategy<Value = (&'static str, f64, Manner)> {
    let tab = [
        "-1", "4", "-5", "9", "-1'", "-2'", "-2''", "-3'", "-3''", "-3'''", "-4'", "-6'", "8'", "9'", "10'",
        "10''", "4o", "5o", "6o", "-7o",
    ];
    let manner = (0.02..0.2, 0.05..0.4, (0.0..30.0, 0.1..0.2), -2.0..2.0, (4.0..7.0, 0.0..18.0), 0.0..1.0)
        .prop_map(|(dwell_s, glide_s, overshoot, drift, vibrato, jitter)| Manner {
            dwell_s,
            glide_s,
            overshoot,
            drift,
            vibrato,
            jitter,
        });
    // Not so near the tolerance that the 3 cents of the measurement may decide.
    let error = (-60.0..60.0_f64).prop_filter("too near the edge", |error| (error.abs() - 25.0).abs() > 3.0);
    (proptest::sample::select(tab.to_vec()), error, manner)
}

static TAKE: LazyLock<(Vec<f32>, Vec<Tried>)> = LazyLock::new(|| {
    let harp = harp("C");
    let samples = sound(&TRIES, &harp, |_, gesture| gesture.glide(0.2));
    let results = judged(&TRIES, &harp, &samples, &[256]);
    (samples, results)
});

/// Adds what comes from a loudspeaker across the room: a metronome at 96 beats a minute, four to the bar, whose clicks
/// are sines that die away by 26 dB every 15 ms, with a peak of −38 dBFS.
fn add_clicks(samples: &mut [f32]) {
    let peak = 10f64.powf(-38.0 / 20.0);
    for (beat, sound) in samples.chunks_mut((RATE * 60.0 / 96.0) as usize).enumerate() {
        let hz = if beat % 4 == 0 { 2600.0 } else { 1900.0 };
        for (n, sample) in sound.iter_mut().enumerate() {
            let t = n as f64 / RATE;
            *sample += (peak * (t / 0.0003).min(1.0) * (-t / 0.005).exp() * (TAU * hz * t).sin()) as f32;
        }
    }
}

proptest! {
    // The same cases every time: each is half a minute of sound.
    #![proptest_config(ProptestConfig { cases: 5, max_shrink_iters: 20, rng_seed: RngSeed::Fixed(3), ..ProptestConfig::default() })]

    /// Any error, any way of getting there, any unsteadiness of a player, with a metronome from a loudspeaker.
    #[test]
    fn any_try_gets_its_verdict(tries in proptest::collection::vec(any_try(), 6)) {
        let harp = harp("C");
        let asked: Vec<(&str, f64)> = tries.iter().map(|(tab, error, _)| (*tab, *error)).collect();
        let mut samples = sound(&asked, &harp, |index, gesture| tries[index].2.play(asked[index].0, gesture));
        add_clicks(&mut samples);
        compare(&asked, judged(&asked, &harp, &samples, &[512]));
    }

    /// However the sound is cut into blocks, the verdicts are the same to the last digit.
    #[test]
    fn blocks_do_not_matter(blocks in proptest::collection::vec(1..5000_usize, 1..8)) {
        let (samples, expected) = &*TAKE;
        prop_assert_eq!(expected.len(), TRIES.len());
        prop_assert_eq!(&judged(&TRIES, &harp("C"), samples, &blocks), expected);
    }
}
