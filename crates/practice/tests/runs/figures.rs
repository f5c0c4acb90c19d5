//! What a run comes to as a whole: evenness, drift, swing, on notes whose moments the test makes.

use crate::{BLUES, eighths, harp, ways};
use layout::Harp;
use oorandom::Rand64;
use practice::run::{Material, Metre, Rhythm, Swing, Tempo, Value};
use practice::{RunJudged, Timebase};
use scoring::Tolerance;
use scoring::timed::{AskedNote, Beat, Follower, MaskedAt, PlayedAt, RunVerdict};

fn rhythm(bpm: f64, ratio: f64) -> Rhythm {
    let swing = Swing::new(ratio).unwrap();
    Rhythm::new(Tempo::new(bpm).unwrap(), Metre::COMMON, Value::EIGHTHS, swing).unwrap()
}

/// The scale up and down, twice.
fn asked(harp: &Harp, rhythm: Rhythm) -> Vec<AskedNote> {
    let once = ways(harp, BLUES);
    let twice: Vec<_> = once.iter().chain(&once[1..]).copied().collect();
    Material::of_ways("twice".to_owned(), &twice, rhythm).unwrap().asked(harp)
}

/// A run whose every note is played at the moment that `when` makes of the moment at which it is asked.
fn verdict(harp: &Harp, asked: &[AskedNote], beat: Beat, mut when: impl FnMut(f64) -> f64) -> RunVerdict {
    let mut follower = Follower::new(asked, harp, beat != Beat::Free);
    let played: Vec<PlayedAt> = asked
        .iter()
        .map(|note| {
            let onset_s = when(note.onset_s);
            let held = Some((harp.concert().hz(note.note, 0.0), 0.1));
            PlayedAt { note: note.note, onset_s, ended_s: onset_s + 0.15, held, chord: None }
        })
        .collect();
    for note in &played {
        follower.hear(note.note, note.onset_s);
    }
    RunVerdict::new((asked, &played, &MaskedAt::default()), &follower, (harp, Tolerance::USUAL), beat)
}

/// A normal deviate from twelve even ones.
fn normal(random: &mut Rand64) -> f64 {
    (0..12).map(|_| random.rand_float()).sum::<f64>() - 6.0
}

#[test]
fn how_far_the_steps_stray_is_told_whatever_the_tempo() {
    let harp = harp("C");
    let asked = asked(&harp, eighths(96.0));
    for (tempo, spread) in [(1.0, 0.0), (1.0, 0.012), (0.9, 0.012), (1.0, 0.02)] {
        let mut random = Rand64::new(11);
        let told = verdict(&harp, &asked, Beat::Free, |at| at / tempo + spread * normal(&mut random));
        // A step has two ends that stray on their own: √2 times as far. A robust estimate from 25 notes is good to a
        // third.
        let truth = spread * 2.0_f64.sqrt();
        let uneven = told.whole.uneven_s.unwrap();
        assert!((uneven - truth).abs() <= 0.34 * truth + 1e-9, "{tempo} {spread}: {uneven} for {truth}");
        let rushing = told.whole.rushing.unwrap();
        assert!((rushing - (tempo - 1.0)).abs() < 0.01, "{rushing}");
    }
}

#[test]
fn a_tempo_that_moves_is_told_and_one_that_only_strays_is_not() {
    let harp = harp("C");
    let asked = asked(&harp, eighths(96.0));
    let end_s = asked.last().unwrap().onset_s;
    // The tempo rises or falls evenly; halves whose middles lie half of the run apart differ by half of that.
    for change in [-0.2, 0.2] {
        let told = verdict(&harp, &asked, Beat::Free, |at| at - change * at * at / (2.0 * end_s));
        let drift = told.whole.drift.unwrap();
        assert!(drift.is_told() && (drift.share - change / 2.0).abs() < 0.03, "{change}: {drift:?}");
        let advice = told.advice(|way| format!("{way:?}"));
        assert_eq!(advice.contains("faster"), change > 0.0, "{advice}");
        assert!(advice.contains("first bar"), "{advice}");
    }
    // Of steady players who stray by 20 ms fewer than one in fifty is told that the tempo moves.
    let mut told = 0;
    for seed in 0..400 {
        let mut random = Rand64::new(seed);
        let verdict = verdict(&harp, &asked, Beat::Free, |at| at + 0.02 * normal(&mut random));
        told += usize::from(verdict.whole.drift.is_some_and(scoring::timed::Drift::is_told));
    }
    println!("of 400 steady runs {told} were told that their tempo moves");
    assert!(told <= 8, "{told} of 400");
}

#[test]
fn the_swing_that_was_played_is_told_whatever_was_asked() {
    let harp = harp("C");
    for (asked_ratio, played_ratio) in [(2.0, 2.0), (2.0, 1.5), (1.0, 1.6), (1.0, 1.0)] {
        let (asked_in, played_in) = (rhythm(96.0, asked_ratio), rhythm(96.0, played_ratio));
        let notes = asked(&harp, asked_in);
        // When the same notes begin in the rhythm that is played.
        let moments: Vec<f64> = asked(&harp, played_in).iter().map(|note| note.onset_s).collect();
        let mut next = moments.into_iter();
        let verdict = verdict(&harp, &notes, Beat::Known, |_| next.next().unwrap());
        let base = Timebase::new(48_000.0);
        let judged = RunJudged {
            name: String::new().into(),
            harp: harp.clone(),
            rhythm: asked_in,
            number: 1,
            tolerance: Tolerance::USUAL,
            ended: base.moment(0),
            verdict,
        };
        let told = judged.swing().unwrap();
        assert!((told - played_ratio).abs() < 0.02, "{asked_ratio} asked, {played_ratio} played: {told}");
    }
}

#[test]
fn the_longest_breath_is_told_with_its_bar() {
    let harp = harp("C");
    let ways = ways(&harp, "4 -4 4 -4 4 4 5 6 6 5 4 -4");
    let rhythm = Rhythm::new(
        Tempo::new(60.0).unwrap(),
        Metre::COMMON,
        "quarters".parse::<Value>().unwrap(),
        Swing::STRAIGHT,
    )
    .unwrap();
    let asked = Material::of_ways("breath".to_owned(), &ways, rhythm).unwrap().asked(&harp);
    let breaths = verdict(&harp, &asked, Beat::Free, |at| at).breaths;
    assert!((breaths.longest_s - 7.0).abs() < 1e-9 && breaths.longest_from_bar == 1, "{breaths:?}");
    assert!((breaths.blow_s - 9.0).abs() < 1e-9 && (breaths.draw_s - 3.0).abs() < 1e-9, "{breaths:?}");
}
