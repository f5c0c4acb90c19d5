//! Three minutes of random keys, notes and sizes: what stands on the screen is read back and held against
//! what was played.

use crate::picture::{drawn, text};
use crate::stage::{Stage, colour};
use practice::Phase;
use ratatui::crossterm::event::KeyCode;
use scoring::Outcome;
use screen::{Notice, View};

/// Random numbers, the same every time (Marsaglia, Journal of Statistical Software 8(14), 2003: xorshift).
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % n
    }
}

/// The sizes at which figures are written and not drawn large, and larger ones for everything else.
const SIZES: [(u16, u16); 6] = [(60, 18), (62, 20), (80, 24), (100, 30), (120, 40), (200, 60)];

/// What the player does now: cents off the target, and the target that was asked for when the note began.
struct Playing {
    cents: Option<f64>,
    asked: Option<scoring::Target>,
}

fn word_of(cents: f64) -> Vec<&'static str> {
    // Within 3 cents of a limit either word may stand: the take wavers by 2 cents.
    let off = cents.abs();
    let mut words = Vec::new();
    if off <= 13.0 {
        words.push("centred");
    }
    if (7.0..=28.0).contains(&off) {
        words.push("in tune");
    }
    if off >= 22.0 {
        words.push(if cents < 0.0 { "flat" } else { "sharp" });
    }
    words
}

/// Holds the drill on the screen against the exercise and against what is played.
fn check_drill(stage: &Stage, shown: &str, playing: &Playing) {
    let session = stage.exercise.session().unwrap();
    let phase = session.phase();
    let key = stage.harp().key();
    assert!(shown.contains(&format!("{key} harp")), "the harp in the hand:\n{shown}");
    assert_eq!(shown.contains("paused"), phase == Phase::Paused, "{phase:?}:\n{shown}");
    let let_go = matches!(phase, Phase::Released | Phase::Judged);
    assert_eq!(
        shown.contains("let go;") || shown.contains("let go:") || shown.contains("go on to"),
        let_go,
        "{phase:?}:\n{shown}"
    );
    let landed = session.results().iter().filter(|tried| tried.verdict.outcome == Outcome::Landed).count();
    let missed = session
        .results()
        .iter()
        .filter(|t| t.verdict.outcome != Outcome::Landed && !t.verdict.asks_again())
        .count();
    let marks = shown.lines().nth(2).unwrap();
    let count = |signs: &[char]| marks.chars().filter(|c| signs.contains(c)).count();
    let counted = (count(&['■', '□']), count(&['◂', '▸', '×']));
    assert_eq!(counted, (landed, missed), "the row of tries:\n{shown}");
    // A note that sounds is named by its word, and where the signs are not large, by its cents.
    if let (Some(cents), Some(asked), Phase::Playing) = (playing.cents, playing.asked, phase)
        && session.target() == Some(asked)
    {
        let lines: Vec<&str> = shown.lines().collect();
        // Drawn large, the word stands above "cents"; in one row it ends the row of what is asked.
        let large = lines.iter().skip(4).take(6).position(|line| line.ends_with(" cents"));
        let said = large.map_or(lines[3], |at| lines[4 + at - 1]);
        // On the widest screens the list of tries stands behind it.
        if lines[0].chars().count() <= 100 {
            assert!(word_of(cents).iter().any(|word| said.ends_with(word)), "{cents} cents off:\n{shown}");
        }
        if large.is_none() && lines[0].chars().count() <= 100 {
            let number = |word: &str| word.replace('−', "-").parse::<f64>().ok();
            let number = said.split_whitespace().rev().find_map(number).unwrap();
            assert!((number - cents).abs() <= 5.0, "{cents} cents off:\n{shown}");
        }
    }
}

/// Holds the last verdict on the screen against the error that was played.
fn check_verdict(stage: &Stage, shown: &str, errors: &[f64]) {
    let session = stage.exercise.session().unwrap();
    let Some(tried) = session.results().last() else { return };
    let Some(figures) = tried.verdict.figures else { return };
    let played = errors.iter().any(|error| (error - figures.cents_off).abs() <= 4.0);
    let other_note = matches!(tried.verdict.outcome, Outcome::AnotherNote(..) | Outcome::Unsteady(_));
    assert!(played || other_note, "nobody played {:?}; played: {errors:?}", tried.verdict);
    let line = shown.lines().find(|line| line.starts_with(" verdict") || line.starts_with(" last try"));
    let line = line.unwrap_or_else(|| panic!("no verdict:\n{shown}"));
    assert!(line.contains(tried.verdict.outcome.word()), "{:?}:\n{shown}", tried.verdict.outcome);
    let cents = figures.cents_off.abs().round();
    let words: Vec<&str> = line.split_whitespace().collect();
    let number = words
        .windows(2)
        .find(|pair| pair[1].starts_with("cent"))
        .and_then(|pair| pair[0].parse::<f64>().ok());
    if let (Some(number), false) =
        (number, other_note || matches!(tried.verdict.outcome, Outcome::TooBrief(_)))
    {
        assert!((number - cents).abs() <= 1.0, "{cents} cents:\n{shown}");
    }
}

fn check(stage: &Stage, size: (u16, u16), playing: &Playing, errors: &[f64]) {
    let shown = text(&drawn(stage, size));
    if shown.contains("Signs and keys") {
        return;
    }
    match stage.app.view() {
        View::Drill => {
            check_drill(stage, &shown, playing);
            check_verdict(stage, &shown, errors);
        }
        View::Summary => {
            let summary = stage.exercise.session().unwrap().summary();
            assert!(shown.contains(&format!("of {} landed", summary.tries)), "{summary:?}:\n{shown}");
        }
        _ => {}
    }
}

fn three_minutes(seed: u64) {
    let mut chance = Chance(seed);
    let mut stage = Stage::new(colour());
    let mut errors = Vec::new();
    stage.begin("-3' -4 -2''");
    for _ in 0..150 {
        let size = SIZES[chance.below(SIZES.len() as u64) as usize];
        match chance.below(10) {
            0 => {
                let key = [' ', 'n', 'a', '?', 'q', 'x'][chance.below(6) as usize];
                stage.press(key);
            }
            1 => stage.lose(&Notice::Dropped(100)),
            2 => {
                stage.press_code(KeyCode::Esc);
            }
            _ => {
                let asked = stage
                    .exercise
                    .session()
                    .filter(|_| stage.exercise.is_on())
                    .and_then(practice::Session::target);
                let Some(asked) = asked else {
                    errors.clear();
                    stage.begin("-3' -4 -2''");
                    continue;
                };
                let hz = asked.hz(stage.harp()).unwrap();
                let cents = chance.below(120) as f64 - 60.0;
                errors.push(cents);
                for _ in 0..3 + chance.below(12) {
                    stage.hear(0.1, |t| Some(hz * ((cents + 2.0 * (30.0 * t).sin()) / 1200.0).exp2()));
                    check(&stage, size, &Playing { cents: Some(cents), asked: Some(asked) }, &errors);
                }
                stage.rest(0.1 + chance.below(8) as f64 / 10.0);
            }
        }
        check(&stage, size, &Playing { cents: None, asked: None }, &errors);
    }
}

#[test]
fn the_screen_says_only_what_is_so() {
    for seed in [1, 2, 3] {
        three_minutes(0x9E37_79B9_7F4A_7C15 ^ seed);
    }
}
