//! Which reeds sound together, from the sound of the simulated player, who knows the truth.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

use layout::{Breath, Harp, TabStyle, Technique, Way};
use pitch::reeds::{Reed, ReedSettings, Reeds, Sounding, Voice};
use practice::{ReedSet, ReedSets, Timebase};
use synth::{Gesture, SimulatedPlayer};

const RATE: f64 = 48_000.0;

fn harp() -> Harp {
    Harp::richter("C".parse().unwrap())
}

/// Ways of a line of tab, played together.
fn chord(tab: &str) -> Gesture {
    let ways: Vec<Way> =
        tab.split(' ').map(|tab| TabStyle::default().read_for(&harp(), tab).unwrap()).collect();
    Gesture::chord(&ways).seconds(0.8).rest(0.4)
}

/// Every set that was told of what is played, and the set that was told at the end of each reading.
fn told(gestures: &[Gesture]) -> (Vec<ReedSet>, Vec<Option<ReedSet>>) {
    let harp = harp();
    let mut player = SimulatedPlayer::new(&harp, RATE, 7);
    for gesture in gestures {
        player.play(gesture).unwrap();
    }
    let end = player.played().map(|played| played.ended).max().unwrap() + 24_000;
    let mut samples = vec![0.0; end as usize];
    player.fill(&mut samples);
    let reed = |hole, breath| harp.hz(Way::new(hole, breath, Technique::Natural)).unwrap();
    let holes = (1..=10).map(|hole| [reed(hole, Breath::Blow), reed(hole, Breath::Draw)]).collect();
    let mut ear = Reeds::new(ReedSettings { sample_rate: RATE, holes }).unwrap();
    let mut sets = ReedSets::new(Timebase::new(RATE));
    let (mut over, mut now) = (Vec::new(), Vec::new());
    ear.push(&samples, |sounding| {
        over.extend(sets.hear(&harp, &sounding));
        now.push(sets.now().cloned());
    });
    over.extend(sets.end());
    for set in &over {
        assert_eq!(sets.during(set.began, set.ended).collect::<Vec<_>>(), [set]);
    }
    (over, now)
}

/// A set as tab.
fn tab(set: &ReedSet) -> String {
    let tab: Vec<String> = set.voices.iter().map(|voice| TabStyle::default().print(voice.way)).collect();
    tab.join(" ")
}

#[test]
fn each_set_is_told_once_for_as_long_as_it_sounds() {
    let played = ["-4", "-4 -5", "1 2 3", "-3''", "4", "-2 -5"];
    let (over, _) = told(&played.map(chord));
    assert_eq!(over.len(), played.len(), "{over:?}");
    for (set, played) in over.iter().zip(played) {
        let mut tabs: Vec<&str> = played.split(' ').collect();
        let told = tab(set);
        let mut found: Vec<&str> = told.split(' ').collect();
        tabs.sort_unstable();
        found.sort_unstable();
        assert_eq!(found, tabs);
        let seconds = set.ended.since(set.began).unwrap();
        assert!((seconds - 0.8).abs() < 0.1, "{played} sounded for 0.8 s, told for {seconds}");
    }
}

#[test]
fn a_leak_is_told_with_its_level() {
    for below in [8.0, 14.0, 20.0] {
        let (over, now) = told(&[chord("-4").leak(5, -below)]);
        assert_eq!(over.iter().map(tab).collect::<Vec<_>>(), ["-4 -5"]);
        assert!((over[0].voices[1].below_db - below).abs() < 1.5, "{below} dB below: {over:?}");
        // What is on the screen stands long enough to be read: it changes four times a second at most.
        let changes = now.windows(2).filter(|pair| {
            pair[0].as_ref().map(|set| &set.voices) != pair[1].as_ref().map(|set| &set.voices)
        });
        assert!(changes.count() <= 6, "{below}");
    }
}

#[test]
fn what_only_passes_is_not_told() {
    // For a twentieth of a second both holes are under the mouth.
    let slide = chord("-4 -5").seconds(0.05).rest(0.0);
    let (over, _) = told(&[chord("-4"), slide, chord("-5").rest(0.0)]);
    assert_eq!(over.iter().map(tab).collect::<Vec<_>>(), ["-4", "-5"]);
    assert!(over[1].began.samples > over[0].ended.samples);
}

#[test]
fn a_set_is_told_a_little_after_it_begins_and_silence_is_none() {
    let (over, now) = told(&[chord("-4 -5")]);
    let first = now.iter().position(Option::is_some).unwrap();
    let shown = now.iter().flatten().count();
    // Hops of 10 ms: told after three quarters of 0.16 s and half a window of 32 to 60 ms.
    let began = over[0].began.seconds();
    let late = first as f64 * 0.01 - began;
    assert!((0.1..0.2).contains(&late), "told {late} s after it began");
    assert!((70..100).contains(&shown), "shown for {shown} hops");
    assert_eq!(now.last(), Some(&None));
}

#[test]
fn a_pitch_that_no_reed_of_the_set_can_have_contradicts_it() {
    let (over, _) = told(&[chord("-4")]);
    // D5, a half step below it, its lower octave (MIDI tuning formula, A4 = 440 Hz), and the B♭2 of which D5 and F5 are
    // the fifth and sixth harmonics.
    for (hz, agrees) in [(587.33, true), (554.37, true), (293.66, false), (116.54, false)] {
        assert_eq!(over[0].agrees(hz), agrees, "{hz}");
    }
}

/// Readings that are made by hand, a hundredth of a second each.
struct Hand {
    sets: ReedSets,
    time: u64,
    over: Vec<ReedSet>,
}

impl Hand {
    fn new() -> Self {
        Self { sets: ReedSets::new(Timebase::new(RATE)), time: 0, over: Vec::new() }
    }

    /// Shows so many readings of these ways, each by so many decibels below the loudest: `-4 -5:12`.
    fn show(&mut self, readings: usize, tab: &str) -> &mut Self {
        let harp = harp();
        for _ in 0..readings {
            let voices = tab.split(' ').map(|word| {
                let (tab, below) = word.split_once(':').unwrap_or((word, "0"));
                let way = TabStyle::default().read_for(&harp, tab).unwrap();
                let reed = Some(Reed { hole: way.hole, draw: way.breath == Breath::Draw });
                let level_dbfs = -20.0 - below.parse::<f32>().unwrap();
                Voice { reed, bent: false, hz: harp.hz(way).unwrap(), level_dbfs }
            });
            let sounding = Sounding::new(self.time, self.time, voices);
            self.over.extend(self.sets.hear(&harp, &sounding));
            self.time += 480;
        }
        self
    }

    fn now(&self) -> Option<String> {
        self.sets.now().map(tab)
    }

    fn over(&self) -> Vec<String> {
        self.over.iter().map(tab).collect()
    }
}

#[test]
fn nothing_is_told_from_fewer_readings_than_a_sixth_of_a_second_has() {
    let mut hand = Hand::new();
    assert_eq!(hand.show(10, "2 3").now(), None);
    assert_eq!(hand.show(10, "2 3").now().as_deref(), Some("2 3"));
}

#[test]
fn a_set_that_goes_over_into_another_one_is_told_as_over() {
    let mut hand = Hand::new();
    hand.show(50, "2 3").show(50, "4 5");
    assert_eq!((hand.over(), hand.now().as_deref()), (vec!["2 3".to_owned()], Some("4 5")));
    // Where samples are lost what sounds is over, and nothing sounds on.
    assert_eq!(hand.sets.end().map(|set| tab(&set)).as_deref(), Some("4 5"));
    assert_eq!((hand.now(), hand.sets.end()), (None, None));
}

#[test]
fn a_set_of_which_nothing_is_left_is_over_though_nothing_steady_follows() {
    let mut hand = Hand::new();
    hand.show(50, "2 3");
    for _ in 0..15 {
        hand.show(1, "2").show(1, "4");
    }
    assert_eq!((hand.over(), hand.now()), (vec!["2 3".to_owned()], None));
}

#[test]
fn each_reed_has_its_own_level_and_pitch() {
    let mut hand = Hand::new();
    hand.show(50, "-4:12 -5");
    let set = hand.sets.end().unwrap();
    assert_eq!(tab(&set), "-5 -4", "the strongest first");
    let [loud, soft] = set.voices[..] else { panic!("{set:?}") };
    assert!(loud.below_db.abs() < 1e-6 && (soft.below_db - 12.0).abs() < 1e-6, "{set:?}");
    // F5 and D5, at A4 = 440 (MIDI tuning formula).
    assert!((loud.hz - 698.46).abs() < 0.01 && (soft.hz - 587.33).abs() < 0.01, "{set:?}");
}
