//! What a run comes to as a whole, on notes whose moments are written down; the figures are worked out by hand beside
//! them.

use layout::{Breath, Harp, HarpKey, Technique, Way};
use scoring::timed::{
    AskedNote, Beat, Follower, Masked, MaskedAt, NoteVerdict, PlayedAt, RunVerdict, Timing, so_far,
};
use scoring::{Outcome, Tolerance, Why, reeds::Holes};

pub(crate) fn c_harp() -> Harp {
    Harp::richter("C".parse::<HarpKey>().unwrap())
}

/// The ways behind tab such as `4 -4 -3'`.
pub(crate) fn ways(tab: &str) -> Vec<Way> {
    let way = |one: &str| {
        let breath = if one.starts_with('-') { Breath::Draw } else { Breath::Blow };
        let bent = one.chars().filter(|c| *c == '\'').count() as u8;
        let technique = if bent == 0 { Technique::Natural } else { Technique::Bend(bent) };
        Way::new(one.trim_matches(['-', '\'']).parse().unwrap(), breath, technique)
    };
    tab.split(' ').map(way).collect()
}

/// Notes that are asked for one after another, each for so many seconds, four to a bar.
pub(crate) fn asked(tab: &str, length_s: f64) -> Vec<AskedNote> {
    let note = |(i, way): (usize, Way)| AskedNote {
        way,
        note: c_harp().note(way).unwrap(),
        onset_s: length_s * i as f64,
        length_s,
        bar: i / 4,
        joined: false,
        holes: Holes::NONE,
    };
    ways(tab).into_iter().enumerate().map(note).collect()
}

/// A note that is held so many cents above where `way` is in tune, and lets go after 0.2 s.
pub(crate) fn played(way: Way, onset_s: f64, cents: f64) -> PlayedAt {
    let harp = c_harp();
    let hz = harp.hz(way).unwrap() * (cents / 1200.0).exp2();
    let note = harp.concert().nearest(hz).unwrap().0;
    PlayedAt { note, onset_s, ended_s: onset_s + 0.2, held: Some((hz, 0.15)), chord: None }
}

pub(crate) fn verdict_of(
    asked: &[AskedNote],
    played: &[PlayedAt],
    masked: &MaskedAt,
    beat: Beat,
) -> RunVerdict {
    let harp = c_harp();
    let mut follower = Follower::new(asked, &harp, beat != Beat::Free);
    for note in played {
        follower.hear(note.note, note.onset_s);
    }
    RunVerdict::new((asked, played, masked), &follower, (&harp, Tolerance::USUAL), beat)
}

/// The same notes, each so many seconds late.
fn late(asked: &[AskedNote], late_s: &[f64]) -> Vec<PlayedAt> {
    asked.iter().zip(late_s).map(|(note, late)| played(note.way, note.onset_s + late, 0.0)).collect()
}

fn verdict(asked: &[AskedNote], late_ms: &[f64], beat: Beat) -> RunVerdict {
    let late_s: Vec<f64> = late_ms.iter().map(|ms| ms / 1e3).collect();
    verdict_of(asked, &late(asked, &late_s), &MaskedAt::default(), beat)
}

#[track_caller]
fn near(told: Option<f64>, truth: f64) {
    assert!((told.unwrap() - truth).abs() < 1e-4, "{told:?} for {truth}");
}

const SCALE: &str = "4 -4 5 -5 6 -6 -7 7";

#[test]
fn the_figures_of_eight_quarters_are_those_worked_out_by_hand() {
    use Timing::{Early, Late, OnBeat, Tight};
    let asked = asked(SCALE, 0.5);
    // In order -60, -10, 0, 10, 10, 20, 30, 58: the middle is 10, the distances from it are 70, 20, 10, 0, 0, 10, 20
    // and 48, of which the middle is 15; a standard deviation is 1.4826 times as much.
    let told = verdict(&asked, &[0.0, 10.0, -10.0, 20.0, 58.0, -60.0, 30.0, 10.0], Beat::Known);
    let whole = told.whole;
    near(whole.late_s, 0.010);
    near(whole.spread_s, 0.022_239);
    // Notes that lie 2 s apart: 2.058, 1.93, 2.04 and 1.99 s were played; the middle is 2.015 s.
    near(whole.rushing, 2.0 / 2.015 - 1.0);
    // Steps of 510, 480, 530, 538, 382, 590 and 480 ms: the middle is 510, the distances from it are 0, 30, 20, 28,
    // 128, 80, 30.
    near(whole.uneven_s, 1.4826 * 0.030);
    let timings: Vec<Timing> = told.notes.iter().map(|note| note.timing.unwrap()).collect();
    assert_eq!(timings, [Tight, Tight, Tight, Tight, Late, Early, OnBeat, Tight]);
    assert_eq!((whole.asked, whole.played, whole.in_pitch, whole.in_time, whole.right), (8, 8, 8, 6, 6));
    assert!(whole.timed && !whole.clean && whole.drift.is_none() && told.extra.is_empty());
    // Against its own middle each note counts 10 ms earlier, and how late it is as a whole is not told.
    let own = verdict(&asked, &[0.0, 10.0, -10.0, 20.0, 58.0, -60.0, 30.0, 10.0], Beat::OwnMiddle);
    near(own.notes[4].late_s, 0.048);
    assert_eq!((own.notes[4].timing, own.whole.late_s, own.whole.in_time), (Some(OnBeat), None, 7));
    // Without a beat nothing is late, and what is right in pitch is right.
    let free = verdict(&asked, &[0.0, 10.0, -10.0, 20.0, 58.0, -60.0, 30.0, 10.0], Beat::Free);
    assert_eq!((free.whole.timed, free.whole.right, free.whole.clean), (false, 8, true));
    assert!(free.notes.iter().all(|note| note.late_s.is_none()) && free.whole.spread_s.is_none());
}

#[test]
fn nine_notes_of_ten_are_clean_and_eight_are_not() {
    let asked = asked("4 -4 5 -5 6 -6 -7 7 -8 8", 0.5);
    let with = |wrong: usize| {
        let late_ms: Vec<f64> = (0..10).map(|i| if i < wrong { 80.0 } else { 0.0 }).collect();
        verdict(&asked, &late_ms, Beat::Known).whole.clean
    };
    assert_eq!([0, 1, 2].map(with), [true, true, false]);
    let nothing = verdict(&asked, &[], Beat::Known).whole;
    assert!(!verdict(&[], &[], Beat::Known).whole.clean, "a run of no notes");
    assert!(!nothing.clean && nothing.played == 0 && nothing.in_pitch == 0, "{nothing:?}");
}

#[test]
fn a_second_half_that_is_faster_is_a_drift_with_its_error() {
    let asked = asked("4 -4 5 -5 6 -6 -7 7 -7 -6 6 -5", 0.5);
    // Six notes at 500 ms, then six at 480: 500/480 is 4.17 % faster.
    let even = |i: usize| if i < 6 { 0.0 } else { -20.0 * (i - 6) as f64 };
    let told = verdict(&asked, &(0..12).map(even).collect::<Vec<_>>(), Beat::Free).whole.drift.unwrap();
    assert!((told.share - (500.0 / 480.0 - 1.0)).abs() < 1e-6 && told.error < 1e-6, "{told:?}");
    assert!(told.is_told());
    // Notes that stray by 10, 0, -10 ms in turn: their middle distance is 10 ms, a deviation of 14.83 ms. A slope
    // through n = 6 points over T = 2.5 s strays by that times √(8π/n)/T = 0.819; two halves together √2 times as far.
    let stray = |i: usize| [10.0, 0.0, -10.0][i % 3];
    let told = verdict(&asked, &(0..12).map(stray).collect::<Vec<_>>(), Beat::Free).whole.drift.unwrap();
    assert!(
        told.share.abs() < 1e-6 && (told.error - 0.014_826 * 0.818_66 * 2.0_f64.sqrt()).abs() < 1e-5,
        "{told:?}"
    );
    // At half of the tempo the same strays are half as much of it.
    let slow = |i: usize| stray(i) + 500.0 * i as f64;
    let slow = verdict(&asked, &(0..12).map(slow).collect::<Vec<_>>(), Beat::Free).whole.drift.unwrap();
    assert!((slow.error - told.error / 2.0).abs() < 1e-5, "{slow:?}");
    // 4.17 % are less than three times that error; 10 % are more. One per cent is never told, however sure.
    let both = |share: f64| {
        let at = |i: usize| {
            stray(i) - if i < 6 { 0.0 } else { 500.0 * (1.0 - 1.0 / (1.0 + share)) * (i - 6) as f64 }
        };
        verdict(&asked, &(0..12).map(at).collect::<Vec<_>>(), Beat::Free).whole.drift.unwrap().is_told()
    };
    assert!(!both(0.0417) && both(0.1));
    let one = |i: usize| if i < 6 { 0.0 } else { -5.0 * (i - 6) as f64 };
    assert!(
        !verdict(&asked, &(0..12).map(one).collect::<Vec<_>>(), Beat::Free).whole.drift.unwrap().is_told()
    );
}

#[test]
fn the_change_that_goes_wrong_most_often_is_the_weakest() {
    // From 4 to -4 four times, from -4 to 4 three times, then through the scale.
    let asked = asked("4 -4 4 -4 4 -4 4 -4 5 -5 6 -6 -7", 0.5);
    let mut late_ms = [0.0; 13];
    // Of four changes to -4 one is 60 ms late, of three to 4 two are 70 early and 90 late; the ones to 5, -5 and 6 once
    // each.
    (late_ms[1], late_ms[2], late_ms[4]) = (60.0, -70.0, 90.0);
    (late_ms[8], late_ms[9], late_ms[10]) = (-65.0, 75.0, 60.0);
    let told = verdict(&asked, &late_ms, Beat::Known);
    let weakest: Vec<_> = told.weakest.iter().map(|c| (c.from.hole, c.to.hole, c.asked, c.wrong)).collect();
    // Changes that always go wrong come first, the one that is furthest off before the others; three are told.
    assert_eq!(weakest, [(5, 5, 1, 1), (4, 5, 1, 1), (5, 6, 1, 1)]);
    near(told.weakest[0].late_s, 0.075);
    (late_ms[8], late_ms[9], late_ms[10]) = (0.0, 0.0, 0.0);
    let told = verdict(&asked, &late_ms, Beat::Known);
    let weakest: Vec<_> = told.weakest.iter().map(|c| (c.to.breath, c.asked, c.wrong, c.late_s)).collect();
    // Early by 70, late by 90 and in time: the middle is in time. Late by 60 and three times in time: so is this one.
    assert_eq!(weakest.len(), 2);
    assert_eq!((weakest[0].0, weakest[0].1, weakest[0].2), (Breath::Blow, 3, 2));
    assert_eq!((weakest[1].0, weakest[1].1, weakest[1].2), (Breath::Draw, 4, 1));
    assert!(weakest.iter().all(|change| change.3.unwrap().abs() < 1e-9), "{weakest:?}");
}

#[test]
fn breath_is_counted_in_seconds_and_a_rest_of_a_tenth_lets_it_go() {
    let mut asked = asked("4 5 6 -6 -5 4", 0.5);
    // A rest of 0.2 s after the second note, and one of 0.05 s before the last drawn one.
    (asked[1].length_s, asked[3].length_s) = (0.3, 0.45);
    let told = verdict_of(&asked, &[], &MaskedAt::default(), Beat::Free).breaths;
    // Blown 0.5 + 0.3 + 0.5 + 0.5, drawn 0.45 + 0.5; the longest are 4 and 5 blow with 0.8 s, and then the drawn 1.0 s.
    assert!((told.blow_s - 1.8).abs() < 1e-9 && (told.draw_s - 0.95).abs() < 1e-9, "{told:?}");
    assert!((told.longest_s - 1.0).abs() < 1e-9 && told.longest == Some(Breath::Draw), "{told:?}");
    assert_eq!(told.longest_from_bar, 0);
    // Of stretches that last alike the first is told.
    asked[1].length_s = 0.5;
    asked[2].way.breath = Breath::Draw;
    let told = verdict_of(&asked, &[], &MaskedAt::default(), Beat::Free).breaths;
    assert!((told.longest_s - 1.5).abs() < 1e-9 && told.longest == Some(Breath::Draw), "{told:?}");
}

#[test]
fn what_was_played_besides_is_told_unless_it_may_be_of_the_loudspeaker() {
    let asked = asked(SCALE, 0.5);
    let mut notes = late(&asked, &[0.0; 8]);
    // 10 blow between the notes is one too many; G2 is a sixth below the lowest reed of a C harp.
    let besides = |onset_s: f64| played(Way::new(10, Breath::Blow, Technique::Natural), onset_s, 0.0);
    notes.insert(3, besides(1.25));
    let bass = PlayedAt { note: "G2".parse().unwrap(), ..besides(2.25) };
    notes.insert(6, bass);
    let told = verdict_of(&asked, &notes, &MaskedAt::default(), Beat::Known);
    assert_eq!(told.extra, [besides(1.25)]);
    assert_eq!(told.whole.right, 8);
    // Hidden while it sounded; hidden until just before, when it may be the rest of the note before it; and hidden long
    // before.
    for (from, until, extra) in [(1_250, 1_350, 0), (1_100, 1_240, 0), (1_050, 1_150, 1)] {
        let mut masked = Masked::default();
        masked.add(from, until, 1_000.0);
        let told = verdict_of(&asked, &notes, &masked.seconds(0.0, 1_000.0), Beat::Known);
        assert_eq!(told.extra.len(), extra, "{from} {until}");
    }
}

#[test]
fn half_of_a_run_has_to_be_heard_for_it_to_be_told() {
    let asked = asked(SCALE, 0.5);
    let with = |hidden: usize| {
        let mut masked = Masked::default();
        masked.add(0, (500 * hidden) as u64, 1_000.0);
        let notes: Vec<PlayedAt> = late(&asked, &[0.0; 8]).into_iter().skip(hidden).collect();
        verdict_of(&asked, &notes, &masked.seconds(0.0, 1_000.0), Beat::Known)
    };
    let four = with(4);
    assert_eq!((four.whole.asked, four.whole.masked, four.whole.in_pitch, four.whole.clean), (4, 4, 4, true));
    assert!(four.whole.is_told() && four.weakest.is_empty());
    assert_eq!(four.notes[0].pitch, Some(Outcome::CannotTell(Why::Masked)));
    let five = with(5);
    assert_eq!((five.whole.asked, five.whole.masked, five.whole.clean), (3, 5, false));
    assert!(!five.whole.is_told());
}

#[test]
fn while_a_run_goes_on_a_note_is_missing_once_it_is_over_or_a_later_one_is_answered() {
    let (harp, asked) = (c_harp(), asked(SCALE, 0.5));
    let told = |heard: &[usize], over_s: f64| -> Vec<Option<&str>> {
        let notes: Vec<PlayedAt> =
            heard.iter().map(|i| played(asked[*i].way, asked[*i].onset_s, 0.0)).collect();
        let mut follower = Follower::new(&asked, &harp, true);
        for note in &notes {
            follower.hear(note.note, note.onset_s);
        }
        let path = follower.path(over_s);
        let given = (&asked[..], &notes[..], &MaskedAt::default());
        let all = so_far(given, (&path, over_s), (&harp, Tolerance::USUAL), Beat::Known);
        all.iter().map(|note| note.as_ref().map(NoteVerdict::word)).collect()
    };
    let (landed, missing) = (Some("landed"), Some("missing"));
    // D was left out, and E is answered: D is missing. F, which begins at 1.5 s, may yet come until 2.0 s.
    assert_eq!(told(&[0, 2], 1.2)[..4], [landed, missing, landed, None]);
    assert_eq!(told(&[0, 2], 0.9)[..4], [landed, missing, landed, None]);
    assert_eq!(told(&[0, 2], 1.9)[..5], [landed, missing, landed, None, None]);
    assert_eq!(told(&[0, 2], 2.05)[..5], [landed, missing, landed, missing, None]);
    assert_eq!(told(&[], 0.4), [None; 8]);
    assert_eq!(told(&[], 1.1)[..4], [missing, missing, None, None]);
}
