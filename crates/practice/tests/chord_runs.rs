//! Chord rhythms of ours, played right and wrong by the simulated player on three harps: each wrong chord is named as
//! what it was.

// Helpers of tests may panic like the tests themselves. The figures are for whoever runs it with --nocapture.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::panic)]

use layout::{Breath, Harp, HarpKey, Technique, Way};
use oorandom::Rand64;
use pitch::reeds::{MAX_VOICES, ReedSettings, Reeds};
use pitch::{Ear, Settings};
use practice::run::{Clicking, Phrase, Plan, StartAt, Tempi};
use practice::{Event, Exercise, Order, RunJudged, built_in_phrases};
use scoring::Tolerance;
use scoring::reeds::ReedsOutcome;
use scoring::timed::{AskedNote, NoteVerdict, Timing};
use std::sync::LazyLock;
use synth::{Gesture, SimulatedPlayer};

const RATE: f64 = 48_000.0;
/// Runs of each rhythm on each harp, in each of which a few chords go wrong.
static RUNS: LazyLock<usize> =
    LazyLock::new(|| if std::env::var_os("BENDWRIGHT_CHECK_ALL").is_some() { 4 } else { 1 });
const RHYTHMS: [&str; 5] =
    ["two-breath-chug", "shuffled-chug", "two-and-four", "leaving-the-yard", "kitchen-waltz"];

/// What is done with a chord.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Deed {
    Right,
    Early,
    Late,
    Missed,
    WrongBreath,
}

fn phrase(name: &str, harp: &Harp) -> Phrase {
    let (name, text) = built_in_phrases().iter().find(|(known, _)| *known == name).unwrap();
    Phrase::parse(name, text, harp).unwrap()
}

/// The deed for each chord: right, but for a few far apart.
fn deeds(count: usize, wrong: bool, random: &mut Rand64) -> Vec<Deed> {
    let mut deeds = vec![Deed::Right; count];
    let mut at = 1 + random.rand_range(0..3) as usize;
    while wrong && at + 1 < count {
        deeds[at] =
            [Deed::Early, Deed::Late, Deed::Missed, Deed::WrongBreath][random.rand_range(0..4) as usize];
        at += 4 + random.rand_range(0..3) as usize;
    }
    deeds
}

/// How a chord is played, and when; nothing where it is missed.
fn played(note: &AskedNote, deed: Deed, random: &mut Rand64) -> Option<(Gesture, f64)> {
    let turned = |way: Way| Way::new(way.hole, way.breath.other(), Technique::Natural);
    let ways: Vec<Way> =
        note.ways().map(|way| if deed == Deed::WrongBreath { turned(way) } else { way }).collect();
    let slight = 0.012 * (2.0 * random.rand_float() - 1.0);
    let off_s = match deed {
        Deed::Missed => return None,
        Deed::Early => -0.08,
        Deed::Late => 0.08,
        Deed::Right | Deed::WrongBreath => slight,
    };
    // Every chord leaves room for the next one, which may come early.
    let held_s = (0.85 * note.length_s - 0.12).clamp(0.06, 0.8);
    let level = -20.0 + 4.0 * random.rand_float();
    Some((Gesture::chord(&ways).seconds(held_s).level(level), note.onset_s + off_s))
}

/// One run of a rhythm, and when each chord was really blown, seconds from the first beat.
fn run(harp: &Harp, phrase: Phrase, deeds: &[Deed], seed: u64) -> (RunJudged, Vec<Option<f64>>) {
    let plan = Plan {
        material: phrase.material,
        start: StartAt::CountIn,
        runs: 1,
        tempi: Tempi::Same,
        own_tempo_first: false,
        over: None,
        clicking: Clicking::default(),
        delay_s: Some(0.0),
    };
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Run(Box::new(plan)));
    assert!(exercise.wants_reeds());
    let mut ear = Ear::new(Settings::new(RATE)).unwrap();
    let reed = |hole, breath| harp.hz(Way::new(hole, breath, Technique::Natural)).unwrap();
    let holes = (1..=10).map(|hole| [reed(hole, Breath::Blow), reed(hole, Breath::Draw)]).collect();
    let mut reeds = Reeds::new(ReedSettings { sample_rate: RATE, holes }).unwrap();
    let mut player = SimulatedPlayer::new(harp, RATE, seed);
    let mut random = Rand64::new(seed.into());
    let mut truth = Vec::new();
    for _ in 0..20_000 {
        let mut block = [0.0; 480];
        player.fill(&mut block);
        let mut events = Vec::new();
        ear.push(&block, |reading| events.extend(exercise.hear(&reading)));
        reeds.push(&block, |sounding| events.extend(exercise.hear_reeds(&sounding)));
        for event in events {
            match event {
                Event::RunBegan(began) => {
                    let asked = exercise.running().unwrap().asked().to_vec();
                    for (note, deed) in asked.iter().zip(deeds) {
                        let zero = began.first_beat_samples;
                        let blown = played(note, *deed, &mut random)
                            .map(|(gesture, at_s)| player.play_at(&gesture, zero + at_s * RATE).unwrap());
                        truth.push(blown.map(|blown| (blown.began as f64 - zero) / RATE));
                    }
                }
                Event::RunJudged(judged) => return (*judged, truth),
                _ => {}
            }
        }
    }
    panic!("the run never ended");
}

/// Whether a chord was called what it was.
fn is_named(deed: Deed, note: &NoteVerdict) -> bool {
    match deed {
        Deed::Right => note.is_right(),
        Deed::Early => note.timing == Some(Timing::Early),
        Deed::Late => note.timing == Some(Timing::Late),
        Deed::Missed => note.played.is_none(),
        Deed::WrongBreath => note.chord == Some(ReedsOutcome::WrongBreath),
    }
}

/// Counts of right chords, of those blamed, of wrong chords, of those named, and of right chords told with all reeds;
/// and how far off each onset was told, seconds.
fn score(key: &str) -> ([usize; 5], Vec<f64>) {
    let harp = Harp::richter(key.parse::<HarpKey>().unwrap());
    let (mut score, mut off) = ([0; 5], Vec::new());
    for (name, seed) in RHYTHMS.iter().zip(300u64..) {
        for turn in 0..2 * *RUNS {
            let seed = seed + 100 * turn as u64;
            let phrase = phrase(name, &harp);
            let count = phrase.material.notes().len();
            let deeds = deeds(count, turn % 2 == 1, &mut Rand64::new(seed.into()));
            let (judged, truth) = run(&harp, phrase, &deeds, seed);
            let heard = judged.verdict.notes.iter().map(|note| note.played.map(|played| played.onset_s));
            off.extend(heard.zip(&truth).filter_map(|(heard, truth)| Some(heard? - (*truth)?)));
            let verdict = &judged.verdict;
            assert_eq!(verdict.notes.len(), count);
            for (at, (note, deed)) in verdict.notes.iter().zip(&deeds).enumerate() {
                let named = is_named(*deed, note);
                let of = if *deed == Deed::Right { 0 } else { 2 };
                score[of] += 1;
                score[4] += usize::from(*deed == Deed::Right && note.chord == Some(ReedsOutcome::Right));
                score[of + 1] += usize::from(named == (*deed != Deed::Right));
                if !named {
                    println!(
                        "{key}, {name} {turn}: chord {at} was {deed:?}: {:?} {:?} late {:?} {:?}",
                        note.chord, note.timing, note.late_s, note.played
                    );
                }
            }
            if turn % 2 == 0 && !verdict.extra.is_empty() {
                println!("{key}, {name} {turn}: extra {:?}", verdict.extra);
            }
        }
    }
    (score, off)
}

#[test]
fn chord_rhythms_are_judged_in_time_and_by_their_breath() {
    let scores = std::thread::scope(|scope| {
        let runs = ["C", "low F", "high G"].map(|key| scope.spawn(move || (key, score(key))));
        runs.map(|run| run.join().unwrap())
    });
    let mut all = [0; 4];
    for (key, ([right, blamed, wrong, named, told], mut off)) in scores {
        off.sort_by(f64::total_cmp);
        let [middle, early, late] = [0.5, 0.05, 0.95].map(|share| off[(share * off.len() as f64) as usize]);
        println!(
            "{key}: of {right} right chords {blamed} blamed, {told} told with all reeds, of {wrong} wrong ones {named} \
             named; onsets told {:.1} ms late, 90 of 100 from {:.1} to {:.1}",
            1000.0 * middle,
            1000.0 * early,
            1000.0 * late
        );
        assert!(middle.abs() < 0.02, "{key}: onsets are told {middle} s late");
        all = [all[0] + right, all[1] + blamed, all[2] + wrong, all[3] + named];
    }
    let [right, blamed, wrong, named] = all;
    assert!(blamed as f64 <= 0.005 * right as f64, "{blamed} of {right} right chords were blamed");
    assert!(named as f64 >= 0.95 * wrong as f64, "{named} of {wrong} wrong chords were named");
}

/// What is wrong with the bars of a phrase, and where.
#[track_caller]
fn refused(bar: &str, column: usize, words: &str) {
    let text = format!("title = 't'\nbars = \"\"\"\n{bar}\n\"\"\"\n");
    let error = Phrase::parse("t", &text, &Harp::richter("C".parse().unwrap())).unwrap_err();
    assert_eq!((error.line, error.column), (3, column), "{}", error.message);
    assert!(error.message.contains(words), "{}", error.message);
}

#[test]
fn chords_in_brackets_are_read_or_refused_at_their_place() {
    let harp = Harp::richter("C".parse().unwrap());
    let text = "title = 't'\nbars = \"\"\"\nquarter (-3 -1 -2) -2 half ( 1 4 )\n\"\"\"\n";
    let phrase = Phrase::parse("t", text, &harp).unwrap();
    assert!(phrase.material.is_of_chords());
    let tab =
        |ways: &mut dyn Iterator<Item = Way>| ways.map(|way| way.to_string()).collect::<Vec<_>>().join(", ");
    let all: Vec<String> = phrase.material.notes().iter().map(|note| tab(&mut note.ways())).collect();
    // A note by itself is a chord of one hole there.
    assert_eq!(all, ["1 draw, 2 draw, 3 draw", "2 draw", "1 blow, 4 blow"]);
    assert_eq!(phrase.material.notes()[1].holes.len(), 1);
    refused("whole (-1 2)", 11, "breath");
    refused("whole (-1 -2", 7, "bracket at either end");
    refused("whole (1)", 8, "two holes at least");
    refused("whole (1 2 3 4 5 6)", 8 + 2 * MAX_VOICES, "too many");
    refused("whole (1 11)", 10, "no hole 11");
    refused("half (1 2) to (2 3)", 12, "leave out the to");
    refused("half (-1 -2) -3'", 14, "natural notes only");
    refused("half 1 (1 x)", 11, "x");
}
