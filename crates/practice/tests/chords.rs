//! Drills of chords, from readings that are made by hand: what is asked next, what waits, and what the keys do.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

use layout::Harp;
use pitch::reeds::{MAX_VOICES, Reed, Sounding, Voice};
use practice::{Chords, Drill, DrillError, Ending, Event, Exercise, Order, Phase};
use scoring::Tolerance;

const RATE: f64 = 48_000.0;
/// Ten milliseconds, as the ear for reeds tells.
const HOP: u64 = 480;

fn harp() -> Harp {
    Harp::richter("C".parse().unwrap())
}

struct Player {
    exercise: Exercise,
    time: u64,
    log: Vec<Event>,
}

impl Player {
    /// At a drill of these chords, each held for a second.
    fn at(chords: &[&str], more: &str) -> Self {
        let items: Vec<String> =
            chords.iter().map(|chord| format!("[[item]]\nchord = \"{chord}\"\n")).collect();
        let drill =
            Drill::parse("test", &format!("title = 't'\nhold = 1\n{more}\n{}", items.concat()), &harp())
                .unwrap();
        let mut exercise = Exercise::new(harp(), Tolerance::default(), RATE);
        let log = exercise.order(Order::Drill(Box::new(drill)));
        Self { exercise, time: 0, log }
    }

    fn chords(&self) -> &Chords {
        self.exercise.chords().unwrap()
    }

    /// Plays seconds of these holes: `-1 -2 -3`, each at a level below the loudest: `-4:12`; nothing is silence.
    fn play(&mut self, seconds: f64, tab: &str) -> &mut Self {
        for _ in 0..(seconds * RATE / HOP as f64).round() as u64 {
            let voices = tab.split_whitespace().map(|word| {
                let (tab, below) = word.split_once(':').unwrap_or((word, "0"));
                let hole: i32 = tab.parse().unwrap();
                let reed = Reed { hole: hole.unsigned_abs() as u8, draw: hole < 0 };
                let level_dbfs = -20.0 - below.parse::<f32>().unwrap();
                Voice { reed: Some(reed), bent: false, hz: 400.0, level_dbfs }
            });
            let sounding = Sounding::new(self.time, self.time + 1024, voices);
            self.time += HOP;
            let events = self.exercise.hear_reeds(&sounding);
            self.log.extend(events);
        }
        self
    }

    fn order(&mut self, order: Order) -> &mut Self {
        let events = self.exercise.order(order);
        self.log.extend(events);
        self
    }

    #[track_caller]
    fn check(&mut self, expected: &[&str]) -> &mut Self {
        let said: Vec<String> = self
            .log
            .drain(..)
            .map(|event| match event {
                Event::Started(_) => "started".to_owned(),
                Event::ChordAsked(asked) => format!("asked {}.{}", asked.item, asked.attempt),
                Event::Began(_) => "began".to_owned(),
                Event::ChordJudged(tried) => {
                    format!("{} {}.{}", tried.verdict.outcome.word(), tried.asked.item, tried.asked.attempt)
                }
                Event::ChordUnfinished(asked, _) => format!("unfinished {}.{}", asked.item, asked.attempt),
                Event::Paused => "paused".to_owned(),
                Event::Ended(Ending::Done) => "done".to_owned(),
                Event::Ended(Ending::Left) => "left".to_owned(),
                other => panic!("a drill of chords does not say {other:?}"),
            })
            .collect();
        assert_eq!(said, expected);
        self
    }
}

#[test]
fn a_drill_goes_from_chord_to_chord_and_ends() {
    let mut player = Player::at(&["-1 -2 -3", "1 4"], "");
    assert!(player.exercise.wants_reeds());
    player.check(&["started", "asked 0.1"]);
    player.play(0.5, "").play(1.1, "-1 -2 -3").check(&["began", "right 0.1", "asked 1.1"]);
    assert_eq!(player.chords().phase(), Phase::Released);
    // What goes on sounding is the release of the judged chord.
    player.play(2.0, "-1 -2 -3").check(&[]);
    player.play(0.2, "").play(1.1, "1 4").check(&["began", "right 1.1"]);
    assert_eq!(player.chords().phase(), Phase::Judged);
    player.play(3.0, "").check(&["done"]);
    let summary = player.chords().summary();
    assert_eq!((summary.tries, summary.right, summary.weakest), (2, 2, None));
    assert_eq!((summary.missing, summary.leaking), (None, None));
}

#[test]
fn the_breath_may_turn_without_a_pause() {
    let mut player = Player::at(&["-1 -2 -3", "1 2 3"], "");
    player.play(1.3, "-1 -2 -3").play(1.4, "1 2 3");
    let began = player.log.iter().filter_map(|event| match event {
        Event::Began(began) => Some(began.samples),
        _ => None,
    });
    // It has turned for 0.15 s at 1.45 s.
    assert_eq!(began.collect::<Vec<_>>(), [0, 69_600]);
    player.check(&["started", "asked 0.1", "began", "right 0.1", "asked 1.1", "began", "right 1.1"]);
    // A tenth of a second of the other breath is a slip of the ear: what sounds on is still the release.
    let mut player = Player::at(&["-1 -2 -3", "1 2 3"], "");
    player.play(1.3, "-1 -2 -3").check(&["started", "asked 0.1", "began", "right 0.1", "asked 1.1"]);
    player.play(0.1, "1 2 3").play(2.0, "-1 -2 -3").check(&[]);
    assert_eq!(player.chords().phase(), Phase::Released);
}

#[test]
fn what_is_wrong_is_named() {
    for (played, word) in [
        ("-2 -3", "missing"),
        ("-1 -2 -3 -4:12", "leaked in"),
        ("-2 -3 -4", "missing and leaked in"),
        ("1 2 3", "wrong breath"),
        // What is 22 dB below is no leak.
        ("-1 -2 -3 -4:22", "right"),
    ] {
        let mut player = Player::at(&["-1 -2 -3"], "");
        player.play(0.2, "").play(1.5, played);
        player.check(&["started", "asked 0.1", "began", &format!("{word} 0.1")]);
    }
}

#[test]
fn a_short_leak_at_the_beginning_is_none_and_what_is_put_right_counts() {
    let mut player = Player::at(&["-1 -2 -3", "-2 -3 -4"], "");
    player.play(0.2, "").play(0.15, "-1 -2 -3 -4:6").play(1.0, "-1 -2 -3").play(0.3, "");
    player.check(&["started", "asked 0.1", "began", "right 0.1", "asked 1.1"]);
    // For most of a second a hole is missing, then it is there.
    player.play(0.8, "-3 -4").play(1.3, "-2 -3 -4").check(&["began", "right 1.1"]);
}

#[test]
fn what_cannot_be_told_and_was_not_heard_uses_nothing_up() {
    let mut player = Player::at(&["-1 -2 -3"], "");
    player.play(0.2, "").play(0.2, "-1 -2 -3").play(0.5, "");
    player.check(&["started", "asked 0.1", "began", "cannot tell 0.1", "asked 0.1"]);
    player.play(11.0, "").check(&["not heard 0.1", "asked 0.1"]);
    player.play(60.0, "").check(&[]);
    // A reed that comes and goes is neither there nor missing.
    for _ in 0..14 {
        player.play(0.05, "-1 -2 -3").play(0.05, "-1 -2");
    }
    player.play(0.5, "").check(&["began", "cannot tell 0.1", "asked 0.1"]);
    player.play(0.5, "-1 -2 -3").check(&["began"]);
    let events = player.exercise.gap();
    player.log.extend(events);
    player.check(&["cannot tell 0.1", "asked 0.1"]);
    player.play(0.6, "-1 -2 -3").play(0.3, "").check(&[]);
    player.play(0.6, "-1 -2 -3").play(0.3, "").check(&["began", "let go early 0.1"]);
}

/// What the program itself sounds may have hidden a reed, or have been taken for one.
#[test]
fn what_went_wrong_while_the_program_sounded_is_not_told() {
    for (played, hidden_s, word) in [
        ("-2 -3", 0.0, "missing"),
        ("-2 -3", 0.05, "missing"),
        ("-2 -3", 0.3, "cannot tell"),
        ("-1 -2 -3 -4:6", 0.3, "cannot tell"),
        ("1 2 3", 0.3, "cannot tell"),
        ("-1 -2 -3", 0.3, "right"),
    ] {
        let mut player = Player::at(&["-1 -2 -3"], "");
        player.play(0.2, "").play(0.6, played);
        player.exercise.mask(player.time - (hidden_s * RATE) as u64, player.time);
        player.play(0.9, played);
        let again = if word == "cannot tell" { &["asked 0.1"][..] } else { &[] };
        let judged = format!("{word} 0.1");
        let told = [&["started", "asked 0.1", "began", &judged], again].concat();
        player.check(&told);
    }
}

#[test]
fn where_a_drill_of_chords_stands_is_told() {
    let mut player = Player::at(&["2 3", "-1 -2", "4 5"], "");
    let places = |player: &Player| (player.chords().place(), player.chords().coming().count());
    assert_eq!((places(&player), player.chords().phase()), ((0, 2), Phase::Waiting));
    assert!(player.chords().held_s() == 0.0 && player.chords().together().is_none());
    player.play(0.2, "").play(0.6, "2 3");
    assert_eq!(player.chords().phase(), Phase::Playing);
    assert!((player.chords().held_s() - 0.6).abs() < 0.02, "{}", player.chords().held_s());
    assert_eq!(player.chords().together().map(|set| set.ways().len()), Some(2));
    assert!(player.chords().results().is_empty());
    player.play(0.6, "2 3").play(0.3, "");
    assert_eq!((places(&player), player.chords().phase()), ((1, 1), Phase::Waiting));
    assert_eq!((player.chords().results().len(), player.chords().order()), (1, &[0, 1, 2][..]));
    // Between two chords a pause has nothing to ask; it is asked when the pause is over.
    player.log.clear();
    player.order(Order::Pause).check(&["paused"]);
    player.order(Order::Pause).check(&["asked 1.1"]);
}

#[test]
fn what_was_missing_and_what_leaked_in_most_often_is_summed_up() {
    let mut player = Player::at(&["2 3", "4 5", "-1 -2"], "tries = 2");
    for played in ["2", "2 4", "4 5", "4 5 6", "1 2", "-1 -2 -3"] {
        player.play(0.3, "").play(1.5, played).play(0.3, "");
    }
    let summary = player.chords().summary();
    // Hole 3 was missing twice. 4, 6 and 3 leaked in once each, of which the lowest is told; the wrong breath is
    // neither.
    assert_eq!((summary.tries, summary.right), (6, 1));
    assert_eq!((summary.missing, summary.leaking), (Some((3, 2)), Some((3, 1))));
    // The first chord and the third were never right, the second in one of two: of equal ones the first.
    assert_eq!(summary.weakest.map(|target| target.holes.iter().collect::<Vec<_>>()), Some(vec![2, 3]));
    let mut player = Player::at(&["2 3", "4 5"], "tries = 2");
    for played in ["2 3", "2", "4", "5"] {
        player.play(0.3, "").play(1.5, played).play(0.3, "");
    }
    let weakest = player.chords().summary().weakest;
    assert_eq!(weakest.map(|target| target.holes.iter().collect::<Vec<_>>()), Some(vec![4, 5]));
    // What was right once of two times is weaker than what always was, and than what was not tried yet.
    let mut player = Player::at(&["2 3", "4 5", "3 4"], "tries = 2");
    for played in ["2 3", "2 3", "4 5", "4"] {
        player.play(0.3, "").play(1.5, played).play(0.3, "");
    }
    let weakest = player.chords().summary().weakest;
    assert_eq!(weakest.map(|target| target.holes.iter().collect::<Vec<_>>()), Some(vec![4, 5]));
}

#[test]
fn several_in_a_row_are_counted() {
    let mut player = Player::at(&["2 3"], "in_a_row = 2");
    for (played, row) in [("2 3", 1), ("3", 0), ("2 3", 1)] {
        player.play(1.5, played).play(0.3, "");
        assert_eq!(player.chords().in_a_row(), Some((row, 2)));
    }
    player.play(1.5, "2 3").play(2.0, "");
    assert_eq!(player.log.last(), Some(&Event::Ended(Ending::Done)));
    let summary = player.chords().summary();
    assert_eq!((summary.tries, summary.right, summary.missing), (4, 3, Some((2, 1))));
}

#[test]
fn keys_pause_repeat_skip_and_leave() {
    let mut player = Player::at(&["2 3", "3 4", "4 5"], "");
    player.play(1.1, "2 3").play(0.2, "").order(Order::Pause).play(2.0, "3 4").play(0.2, "");
    player.check(&["started", "asked 0.1", "began", "right 0.1", "asked 1.1", "paused"]);
    assert_eq!(player.chords().phase(), Phase::Paused);
    // Again means what was judged last; next leaves it.
    player.order(Order::Pause).order(Order::Again).check(&["asked 1.1", "asked 0.2"]);
    player.order(Order::Next).play(0.5, "3 4").order(Order::Leave);
    player.check(&["asked 1.1", "began", "unfinished 1.1", "left"]);
    assert!(!player.exercise.is_on());
}

#[test]
fn a_pause_drops_the_try_and_nothing_is_asked_before_it_is_over() {
    let mut player = Player::at(&["2 3", "4 5"], "");
    player.play(0.2, "").play(0.5, "2 3").check(&["started", "asked 0.1", "began"]);
    player.order(Order::Pause).play(0.3, "2 3").check(&["paused"]);
    // What sounds on when it is over began before.
    player.order(Order::Pause).play(1.5, "2 3").check(&["asked 0.1"]);
    player.play(0.2, "").play(1.1, "2 3").check(&["began", "right 0.1", "asked 1.1"]);
    // An item that is chosen in the pause is asked for when the pause is over.
    let mut player = Player::at(&["2 3", "4 5"], "");
    player.order(Order::Pause).order(Order::Next).check(&["started", "asked 0.1", "paused"]);
    player.order(Order::Pause).check(&["asked 1.1"]);
    // While the last verdict is shown there is nothing to ask any more.
    player.play(0.2, "").play(1.1, "4 5").order(Order::Pause).check(&["began", "right 1.1", "paused"]);
    player.play(3.0, "").order(Order::Pause).check(&[]);
    assert_eq!(player.chords().phase(), Phase::Judged);
    player.play(1.0, "").check(&["done"]);
}

#[test]
fn again_while_a_chord_sounds_begins_that_one_afresh() {
    let mut player = Player::at(&["2 3", "4 5"], "");
    player.play(1.1, "2 3").play(0.2, "").play(0.5, "4 5").order(Order::Again);
    player.check(&["started", "asked 0.1", "began", "right 0.1", "asked 1.1", "began", "asked 1.1"]);
    player.play(0.2, "").play(1.1, "4 5").check(&["began", "right 1.1"]);
}

/// Samples that are lost behind a verdict cost nothing, and what sounds on behind them is no new try.
#[test]
fn a_gap_behind_a_verdict_says_nothing() {
    let gap = |player: &mut Player| {
        let events = player.exercise.gap();
        player.log.extend(events);
    };
    let mut player = Player::at(&["2 3", "4 5"], "");
    player.play(1.1, "2 3").check(&["started", "asked 0.1", "began", "right 0.1", "asked 1.1"]);
    gap(&mut player);
    assert_eq!(player.chords().phase(), Phase::Released);
    player.play(2.0, "2 3").check(&[]);
    player.play(0.2, "").play(1.1, "4 5").check(&["began", "right 1.1"]);
    // Behind the last one as well, while it is shown.
    gap(&mut player);
    player.play(3.0, "").check(&["done"]);
    assert_eq!(player.chords().results().len(), 2);
}

#[test]
fn a_lost_device_is_no_mistake() {
    let mut player = Player::at(&["2 3"], "");
    player.play(0.5, "2 3").check(&["started", "asked 0.1", "began"]);
    let events = player.exercise.restart(RATE);
    player.log.extend(events);
    player.time = 0;
    player.check(&["cannot tell 0.1", "asked 0.1"]);
    player.play(0.2, "").play(1.1, "2 3").check(&["began", "right 0.1"]);
}

#[test]
fn a_harp_is_put_away_with_its_drill() {
    let mut player = Player::at(&["2 3"], "");
    player.play(0.5, "2 3").order(Order::TakeHarp(Box::new(Harp::richter("A".parse().unwrap()))));
    assert!(player.log.iter().any(|event| matches!(event, Event::TookHarp(_))));
    assert!(!player.exercise.is_on() && player.exercise.drill().is_some());
}

/// What is wrong with a drill, and where.
#[track_caller]
fn refused(item: &str, place: (usize, usize), words: &[&str]) {
    let text = format!("title = 't'\n[[item]]\n{item}\n");
    let DrillError { line, column, message, .. } = Drill::parse("test", &text, &harp()).unwrap_err();
    assert_eq!((line, column), place, "{message}");
    for word in words {
        assert!(message.contains(word), "{message} says nothing of {word}");
    }
}

#[test]
fn a_chord_that_cannot_be_asked_for_is_refused_at_its_place() {
    refused("chord = '-1 2'", (3, 13), &["2 blow", "1 draw", "breath"]);
    refused("chord = '1 11'", (3, 12), &["no hole 11"]);
    refused("chord = \"-2' -3\"", (3, 10), &["bent"]);
    refused("chord = '4'", (3, 10), &["two holes at least"]);
    refused("chord = '4 4'", (3, 12), &["twice"]);
    refused("chord = '1 2 3 4 5 6'", (3, 10 + 2 * MAX_VOICES), &["6 holes", "too many"]);
    refused("chord = '1 2 6'", (3, 14), &["too far apart"]);
    refused("chord = '2 7'", (3, 12), &["holes 2 and 7", "5 holes next to each other"]);
    refused("chord = 4", (3, 9), &["in quotes"]);
    refused("chord = '1 4'\ncents = 5", (4, 9), &["cents", "notes"]);
    refused("chord = '1 4'\nplay = '4'", (3, 9), &["play or chord"]);
    refused("chord = '1 4'\n[[item]]\nplay = '4'", (5, 8), &["notes or of chords"]);
    refused("play = '4'\n[[item]]\nchord = '1 4'", (5, 9), &["notes or of chords"]);
    refused("play = '4'\nclean = 3", (4, 9), &["true or false"]);
    refused("play = '4 5'\nclean = true", (4, 9), &["single note"]);
}

#[test]
fn chords_are_read_with_their_holes_and_times() {
    let text = "title = 't'\nhold = 1.5\n[[item]]\nchord = '-3 -1 -2'\ntries = 3\n[[item]]\nchord = '1 4'\nhold = 2\n";
    let drill = Drill::parse("test", text, &harp()).unwrap();
    assert!(drill.is_of_chords() && drill.wants_reeds());
    let first = drill.items[0].chord().unwrap();
    assert_eq!(
        (first.holes.iter().collect::<Vec<_>>(), first.hold_s, drill.items[0].tries),
        (vec![1, 2, 3], 1.5, 3)
    );
    assert_eq!(drill.items[1].hold_s(), 2.0);
    // The most holes, which are as many as lie within five, and the widest pair of holes.
    let wide = Drill::parse(
        "test",
        "title = 't'\n[[item]]\nchord = '1 2 3 4 5'\n[[item]]\nchord = '1 5'\n",
        &harp(),
    );
    assert_eq!(
        wide.unwrap().items.iter().map(|item| item.ways().count()).collect::<Vec<_>>(),
        [MAX_VOICES, 2]
    );
    assert_eq!(drill.items[1].ways().map(|way| way.to_string()).collect::<Vec<_>>(), ["1 blow", "4 blow"]);
    // Three tries of a second to reach and 1.5 to hold and 2 to breathe, and one of 1, 2 and 2.
    assert!((drill.about_s() - (3.0 * 4.5 + 5.0)).abs() < 1e-9);
    // A plain drill does not pay for the ear for reeds, one of clean notes does.
    let plain = |more: &str| {
        Drill::parse("test", &format!("title = 't'\n{more}[[item]]\nplay = '4'\n"), &harp()).unwrap()
    };
    assert!(!plain("").wants_reeds() && plain("clean = true\n").wants_reeds());
}
