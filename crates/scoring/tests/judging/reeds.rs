//! Reeds that are to sound together, from readings that are made by hand. The times and shares are those that
//! `scoring::reeds` states.

use layout::{Breath, Technique, Way};
use pitch::reeds::{Reed, Sounding, Voice};
use scoring::reeds::{Clean, Company, Holes, ReedsJudge, ReedsOutcome, ReedsTarget, ReedsVerdict, ReedsWhy};

const RATE: f64 = 48_000.0;
/// Ten milliseconds, as the ear for reeds tells.
const HOP: u64 = 480;

fn holes(holes: &[u8]) -> Holes {
    holes.iter().copied().collect()
}

fn off(missing: &[u8], leaked: &[u8]) -> ReedsOutcome {
    ReedsOutcome::Off { missing: holes(missing), leaked: holes(leaked) }
}

const FLICKERS: ReedsOutcome = ReedsOutcome::CannotTell(ReedsWhy::Flickers);

/// Drawn reeds by their holes, each so many decibels below the strongest one.
fn drawn(reeds: &[(u8, f32)]) -> Vec<Voice> {
    let voice = |(hole, below): &(u8, f32)| Voice {
        reed: Some(Reed { hole: *hole, draw: true }),
        bent: false,
        hz: 400.0,
        level_dbfs: -20.0 - below,
    };
    let mut voices: Vec<Voice> = reeds.iter().map(voice).collect();
    voices.sort_by(|a, b| b.level_dbfs.total_cmp(&a.level_dbfs));
    voices
}

fn blown(hole: u8) -> Vec<Voice> {
    let reed = Some(Reed { hole, draw: false });
    drawn(&[(hole, 0.0)]).into_iter().map(|voice| Voice { reed, ..voice }).collect()
}

/// Readings in a row, stretch by stretch. What sounds may depend on the number of a reading within its stretch.
#[derive(Default)]
struct Heard(Vec<Sounding>);

impl Heard {
    fn then(mut self, seconds: f64, voices: impl Fn(u64) -> Vec<Voice>) -> Self {
        for number in 0..(seconds * RATE).round() as u64 / HOP {
            let at = self.0.len() as u64 * HOP;
            self.0.push(Sounding::new(at, at + 1_024, voices(number)));
        }
        self
    }

    fn rest(self, seconds: f64) -> Self {
        self.then(seconds, |_| Vec::new())
    }

    fn chord(self, seconds: f64, reeds: &[(u8, f32)]) -> Self {
        self.then(seconds, |_| drawn(reeds))
    }

    /// The verdict on draw holes 1 and 2, held for so long, and the seconds at which it is given.
    fn judged(&self, hold_s: f64) -> Option<(f64, ReedsVerdict)> {
        self.at(ReedsJudge::new(ReedsTarget { breath: Breath::Draw, holes: holes(&[1, 2]), hold_s }, RATE))
    }

    fn at(&self, mut judge: ReedsJudge) -> Option<(f64, ReedsVerdict)> {
        self.0.iter().find_map(|heard| Some((heard.time as f64 / RATE, judge.hear(heard)?)))
    }
}

const BOTH: [(u8, f32); 2] = [(1, 0.0), (2, 3.0)];

fn outcome(heard: &Heard) -> ReedsOutcome {
    heard.judged(1.0).unwrap().1.outcome
}

#[test]
fn the_right_reeds_are_right_when_they_have_sounded_for_the_time_asked() {
    let heard = Heard::default().rest(0.5).chord(3.0, &BOTH);
    for hold_s in [0.5, 1.0, 2.0] {
        let (at_s, verdict) = heard.judged(hold_s).unwrap();
        assert_eq!(verdict.outcome, ReedsOutcome::Right);
        assert!(verdict.is_right() && !verdict.asks_again());
        assert!((at_s - 0.5 - hold_s).abs() < 0.011 && (verdict.held_s - hold_s).abs() < 0.011, "{at_s}");
        let told: Vec<(u8, f64)> = verdict.heard.iter().map(|reed| (reed.way.hole, reed.below_db)).collect();
        assert_eq!(told, [(1, 0.0), (2, 3.0)]);
        assert!(verdict.heard.iter().all(|reed| reed.way.breath == Breath::Draw));
    }
}

#[test]
fn what_is_let_go_too_soon_is_told_with_its_length() {
    let lasting = |seconds: f64| outcome(&Heard::default().rest(0.3).chord(seconds, &BOTH).rest(1.0));
    assert!(matches!(lasting(0.6), ReedsOutcome::TooBrief(held_s) if (held_s - 0.6).abs() < 0.011));
    // Its ends are known to 50 ms.
    assert_eq!(lasting(0.98), ReedsOutcome::Right);
    assert!(matches!(lasting(0.92), ReedsOutcome::TooBrief(_)));
    assert_eq!(lasting(0.2), ReedsOutcome::CannotTell(ReedsWhy::TooShort));
    // What was wrong and is let go is wrong.
    assert_eq!(outcome(&Heard::default().chord(0.6, &[(1, 0.0)]).rest(1.0)), off(&[2], &[]));
    // A dropout of 80 ms ends nothing; a silence of 120 ms does.
    let paused = |seconds: f64| outcome(&Heard::default().chord(0.6, &BOTH).rest(seconds).chord(1.0, &BOTH));
    assert_eq!(paused(0.08), ReedsOutcome::Right);
    assert!(matches!(paused(0.12), ReedsOutcome::TooBrief(_)));
}

#[test]
fn what_is_wrong_is_said_after_a_second_and_not_before() {
    let wrong = Heard::default().chord(3.0, &[(1, 0.0)]);
    for (hold_s, told_s) in [(0.3, 1.1), (1.0, 1.1), (2.0, 2.1)] {
        let (at_s, verdict) = wrong.judged(hold_s).unwrap();
        assert_eq!(verdict.outcome, off(&[2], &[]));
        assert!((at_s - told_s).abs() < 0.011, "{hold_s}: {at_s}");
    }
    let blown = Heard::default().then(3.0, |_| blown(1)).judged(1.0).unwrap().1;
    assert_eq!(blown.outcome, ReedsOutcome::WrongBreath);
    assert_eq!(
        blown.heard[0].way,
        Way::new(1, Breath::Blow, Technique::Natural),
        "what was heard is of that breath"
    );
    assert!(!blown.is_right() && !blown.asks_again());
    // Wrong for 0.7 s and then put right.
    let put_right = Heard::default().chord(0.7, &[(1, 0.0), (3, 0.0)]).chord(1.5, &BOTH);
    assert_eq!(outcome(&put_right), ReedsOutcome::Right);
    // First one thing is wrong, then another: what is said has to have been so for a second.
    let changing = Heard::default().chord(0.6, &[(1, 0.0)]).chord(2.0, &[(2, 0.0)]).judged(0.3).unwrap();
    assert_eq!(changing.1.outcome, off(&[1], &[]));
    assert!(changing.0 > 1.3, "{changing:?}");
}

#[test]
fn a_leak_counts_if_it_lasts_and_is_less_than_20_db_below() {
    let leak = |below: f32| outcome(&Heard::default().chord(3.0, &[(1, 0.0), (2, 3.0), (3, below)]));
    assert_eq!(leak(19.0), off(&[], &[3]));
    assert_eq!(leak(21.0), ReedsOutcome::Right);
    // The strongest reed may be another than the lowest: decibels count from it.
    assert_eq!(outcome(&Heard::default().chord(3.0, &[(1, 10.0), (2, 0.0), (3, 19.0)])), off(&[], &[3]));
    // In the first tenth of a second, while the breath begins, and in the last one, as it ends.
    let edges = Heard::default()
        .chord(0.09, &[(1, 0.0), (2, 0.0), (3, 0.0)])
        .chord(0.9, &BOTH)
        .chord(0.06, &[(3, 0.0)]);
    assert_eq!(outcome(&edges.rest(1.0)), ReedsOutcome::Right);
}

#[test]
fn a_reed_that_is_there_half_of_the_time_is_neither_right_nor_wrong() {
    let sometimes = |of_eight: u64, hole: u8| {
        let voices = move |number: u64| {
            let mut all = BOTH.to_vec();
            all.retain(|reed| reed.0 != hole);
            if number % 8 < of_eight {
                all.push((hole, 0.0));
            }
            drawn(&all)
        };
        Heard::default().then(7.0, voices).judged(1.0).unwrap()
    };
    // Hole 3 leaks in from three quarters on, and up to a quarter it does not.
    assert_eq!(
        [6, 2].map(|of_eight| sometimes(of_eight, 3).1.outcome),
        [off(&[], &[3]), ReedsOutcome::Right]
    );
    // What flickers is waited for; four seconds after the hold nothing can be told.
    let (at_s, verdict) = sometimes(4, 3);
    assert_eq!(verdict.outcome, FLICKERS);
    assert!(verdict.asks_again() && (at_s - 5.0).abs() < 0.011, "{at_s}");
    // A reed that was asked for may hide at times: it is not missing if an eighth of the readings show it, and it is if
    // none does.
    assert_eq!(sometimes(1, 2).1.outcome, FLICKERS);
    assert_eq!(sometimes(0, 2).1.outcome, off(&[2], &[]));
    // Blown and drawn in turn is no breath.
    let turning = Heard::default().then(6.0, |number| if number % 2 == 0 { blown(1) } else { drawn(&BOTH) });
    assert_eq!(outcome(&turning), FLICKERS);
}

#[test]
fn silence_is_not_heard_unless_it_is_waited_out() {
    let silence = Heard::default().rest(12.0);
    let (at_s, verdict) = silence.judged(1.0).unwrap();
    assert_eq!(verdict.outcome, ReedsOutcome::NotHeard);
    assert!(verdict.asks_again() && verdict.heard.is_empty() && (at_s - 10.0).abs() < 0.011, "{at_s}");
    let target = ReedsTarget { breath: Breath::Draw, holes: holes(&[1, 2]), hold_s: 1.0 };
    assert_eq!(silence.at(ReedsJudge::new(target, RATE).patient()), None);
}

#[test]
fn lost_samples_spoil_a_try_that_sounds() {
    let target = ReedsTarget { breath: Breath::Draw, holes: holes(&[1, 2]), hold_s: 1.0 };
    let mut judge = ReedsJudge::new(target, RATE);
    assert!(judge.gap().is_none() && judge.began().is_none() && judge.held_s() == 0.0);
    for heard in &Heard::default().rest(0.3).chord(0.5, &BOTH).0 {
        assert_eq!(judge.hear(heard), None);
    }
    assert_eq!(judge.began(), Some(14_400));
    assert!((judge.held_s() - 0.49).abs() < 1e-9);
    assert_eq!(judge.gap().unwrap().outcome, ReedsOutcome::CannotTell(ReedsWhy::SamplesLost));
}

#[test]
fn of_what_may_have_been_hidden_only_the_right_is_told() {
    let verdict = |heard: &Heard| heard.judged(1.0).unwrap().1;
    let right = verdict(&Heard::default().chord(2.0, &BOTH));
    assert_eq!(right.clone().hidden(), right);
    let wrong = verdict(&Heard::default().chord(2.0, &[(1, 0.0)]));
    let hidden = wrong.hidden();
    assert_eq!(hidden.outcome, ReedsOutcome::CannotTell(ReedsWhy::Masked));
    assert!(hidden.heard.is_empty());
}

/// What is said of a draw octave of holes 1 and 4, of which these sound and hole `unsure` cannot be told in `of_ten`
/// of ten readings.
fn judged(sounding: &[u8], unsure: u8, of_ten: u64) -> ReedsOutcome {
    let target = ReedsTarget { breath: Breath::Draw, holes: holes(&[1, 4]), hold_s: 1.0 };
    let mut judge = ReedsJudge::new(target, RATE);
    let reeds: Vec<(u8, f32)> = sounding.iter().map(|hole| (*hole, 0.0)).collect();
    (0..600)
        .find_map(|reading| {
            let at = reading * HOP;
            let told = Sounding::new(at, at + 1_024, drawn(&reeds));
            judge
                .hear(&told.with_unsure((reading % 10 < of_ten).then_some(Reed { hole: unsure, draw: true })))
        })
        .unwrap()
        .outcome
}

#[test]
fn a_reed_that_cannot_be_told_is_not_missing() {
    assert_eq!(judged(&[1, 4], 4, 0), ReedsOutcome::Right);
    assert_eq!(judged(&[1], 4, 0), off(&[4], &[]));
    assert_eq!(judged(&[1], 4, 2), off(&[4], &[]), "now and then only");
    assert_eq!(judged(&[1], 4, 5), FLICKERS);
    assert_eq!(judged(&[1, 2], 4, 5), off(&[], &[2]), "what is sure is said");
}

#[test]
fn a_reed_that_cannot_be_told_does_not_leak_in() {
    assert_eq!(judged(&[1, 4], 5, 10), ReedsOutcome::Right);
}

/// What sounded beside a drawn 4 between two moments, of readings that begin at nought.
fn company(heard: &Heard, (from_s, to_s): (f64, f64)) -> Clean {
    let mut company = Company::new(RATE);
    for sounding in &heard.0 {
        company.hear(sounding);
    }
    let four = Way::new(4, Breath::Draw, Technique::Natural);
    company.of(four, ((from_s * RATE) as u64, (to_s * RATE) as u64))
}

#[test]
fn a_single_note_is_clean_where_nothing_else_sounds_beside_it() {
    let alone = Heard::default().rest(0.5).chord(1.0, &[(4, 0.0)]).rest(0.5);
    assert_eq!(company(&alone, (0.5, 1.5)), Clean::Alone);
    // Of two that leak in the louder one is told, by its level below the note and not below the loudest reed.
    let leaking = Heard::default().chord(1.0, &[(3, 0.0), (4, 4.0), (5, 10.0)]);
    assert_eq!(company(&leaking, (0.0, 1.0)), Clean::Leaked(3, -4.0));
    let leaking = Heard::default().chord(1.0, &[(3, 16.0), (4, 0.0), (5, 10.0), (6, 18.0)]);
    assert_eq!(company(&leaking, (0.0, 1.0)), Clean::Leaked(5, 10.0));
    // More than 20 dB below the loudest is too weak to be unclean.
    assert_eq!(company(&Heard::default().chord(1.0, &[(4, 0.0), (5, 21.0)]), (0.0, 1.0)), Clean::Alone);
    // A neighbour in half of the readings, too few readings, or another note than the one that was meant.
    let half = Heard::default()
        .then(1.0, |number| drawn(if number % 2 == 0 { &[(4, 0.0), (5, 6.0)] } else { &[(4, 0.0)] }));
    assert_eq!(company(&half, (0.0, 1.0)), Clean::CannotTell);
    // Of 0.37 s the middle 0.17 s count, which are 17 readings; of 0.34 s only 14, and 16 are needed.
    assert_eq!(company(&alone, (0.6, 0.97)), Clean::Alone);
    assert_eq!(company(&alone, (0.6, 0.94)), Clean::CannotTell);
    assert_eq!(company(&Heard::default().chord(1.0, &[(5, 0.0)]), (0.0, 1.0)), Clean::CannotTell);
    // What leaks in while the breath begins, or as it ends, for less than a tenth of a second.
    let edges =
        Heard::default().chord(0.09, &[(4, 0.0), (5, 0.0)]).chord(0.8, &[(4, 0.0)]).chord(0.09, &[(5, 0.0)]);
    assert_eq!(company(&edges, (0.0, 0.98)), Clean::Alone);
    // The longest note that can be asked for lasts 20 s, and is still known when it ends.
    let long = Heard::default().chord(0.5, &[(4, 0.0), (5, 0.0)]).chord(20.0, &[(4, 0.0)]);
    assert_eq!(company(&long, (0.0, 0.5)), Clean::Leaked(5, 0.0));
}

#[test]
fn a_leak_that_may_be_of_the_loudspeaker_is_not_told() {
    assert_eq!(Clean::Leaked(5, 8.0).hidden(), Clean::CannotTell);
    assert_eq!([Clean::Alone, Clean::CannotTell].map(Clean::hidden), [Clean::Alone, Clean::CannotTell]);
}

#[test]
fn a_set_of_holes_keeps_those_that_a_harp_may_have() {
    let some = holes(&[9, 1, 16, 9]);
    assert_eq!(some.iter().collect::<Vec<_>>(), [1, 9, 16]);
    assert_eq!(some.iter().next_back(), Some(16));
    assert_eq!((some.len(), some.is_empty(), some.contains(9), some.contains(2)), (3, false, true, false));
    assert_eq!(holes(&[0, 17, 255]), Holes::NONE);
    assert!(Holes::NONE.is_empty() && !some.contains(0) && !some.contains(17));
}

#[test]
fn outcomes_have_one_word_everywhere() {
    let of_outcome = [
        (ReedsOutcome::Right, "right"),
        (off(&[1], &[]), "missing"),
        (off(&[], &[3]), "leaked in"),
        (off(&[1], &[3]), "missing and leaked in"),
        (ReedsOutcome::WrongBreath, "wrong breath"),
        (ReedsOutcome::TooBrief(0.4), "let go early"),
        (ReedsOutcome::NotHeard, "not heard"),
        (FLICKERS, "cannot tell"),
    ];
    for (outcome, word) in of_outcome {
        assert_eq!(outcome.word(), word);
    }
    assert_eq!(
        [Clean::Alone, Clean::Leaked(1, 3.0), Clean::CannotTell].map(Clean::word),
        ["clean", "leaked in", "cannot tell"]
    );
    // Each reason is a half sentence of its own.
    let reasons = [ReedsWhy::SamplesLost, ReedsWhy::TooShort, ReedsWhy::Flickers, ReedsWhy::Masked]
        .map(ReedsWhy::words);
    for (reason, says) in reasons.iter().zip(["lost", "too short", "came and went", "loudspeaker"]) {
        assert!(reason.contains(says), "{reason}");
    }
}
