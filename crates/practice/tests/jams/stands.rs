//! Where a jam stands while it goes on, and what meets a change of chord how far from it.

use crate::{RATE, Stage, harp, plan, played};
use practice::jam::{Clash, JamPhase, JamPlan, Met};
use practice::run::StartAt;
use practice::{Event, Order};
use theory::Groove;

/// Two bars at 120 beats a minute: A7 and D7.
fn two_bars(choruses: u32) -> JamPlan {
    plan("I7 | IV7", Groove::Straight, choruses)
}

#[test]
fn a_jam_counts_in_for_a_bar_and_tells_where_it_is() {
    let mut stage = Stage::new(two_bars(2));
    // The loudspeaker has 0.6 s to open before the two seconds of the count-in.
    stage.play(&[], -5.1);
    let Some(Event::RunBegan(began)) = stage.said.last() else { panic!("{:?}", stage.said) };
    assert_eq!(began.first_beat_samples - began.at.samples as f64, 2.6 * RATE);
    stage.play(&[], -2.0);
    assert_eq!(stage.jam().phase(), JamPhase::CountIn);
    assert_eq!((stage.jam().count_in_beats(), stage.jam().count_in_s()), (4, 2.0));
    // Two beats before the first one, which are a second.
    let (now, to_go) = (stage.jam().now().unwrap(), stage.jam().to_go_s().unwrap());
    assert!((now + 1.0).abs() < 0.01 && (to_go - 1.0).abs() < 0.01, "{now} {to_go}");
    assert!(stage.jam().bars() == 0.0 && stage.jam().whole().is_none());
    stage.play(&[("A5", 0.0, 5.0, 2.0)], 6.0);
    assert_eq!((stage.jam().phase(), stage.jam().to_go_s()), (JamPhase::Playing, None));
    // Six beats are a bar and a half. What sounds is known before it is over: the fifth of D7.
    assert!((stage.jam().bars() - 1.5).abs() < 0.01, "{}", stage.jam().bars());
    let sounding = stage.jam().sounding(&harp()).unwrap();
    assert_eq!((sounding.played.note.to_string().as_str(), sounding.chord.as_deref()), ("A5", Some("D7")));
    assert!(stage.jam().choruses().is_empty() && stage.jam().notes().is_empty());
    stage.play(&[], 10.0);
    assert!(stage.jam().sounding(&harp()).is_none());
    assert_eq!((stage.jam().choruses().len(), stage.jam().choruses()[0].tally.notes), (1, 1));
    stage.play(&[], f64::INFINITY);
    assert_eq!(stage.jam().choruses().len(), 2);
    assert_eq!(stage.jam().whole().unwrap().tally.notes, 1);
}

#[test]
fn a_chorus_is_told_when_the_note_that_sounds_at_its_end_is_over() {
    let mut stage = Stage::new(two_bars(3));
    // The first chorus ends at beat 8; a note from beat 7 sounds on until beat 11.
    let long = [("A5", 0.0, 7.0, 4.0)];
    stage.play(&long, 10.5);
    assert!(stage.jam().choruses().is_empty());
    stage.play(&long, 11.5);
    assert_eq!(stage.jam().choruses().len(), 1);
    // A note that begins on the first beat of the next chorus or later holds nothing up.
    for on in [8.0, 8.2] {
        let mut stage = Stage::new(two_bars(3));
        stage.play(&[("A5", 0.0, on, 3.0)], 9.5);
        assert_eq!(stage.jam().choruses().len(), 1, "from {on}");
    }
    // A short one is over before the first chorus is told, and belongs to the second all the same.
    let stage = played(two_bars(2), &[("A5", 0.0, 8.0, 0.4)]);
    let notes: Vec<usize> = stage.jam().choruses().iter().map(|over| over.tally.notes).collect();
    assert_eq!(notes, [0, 1]);
}

#[test]
fn what_is_played_in_a_pause_or_after_the_end_is_no_part_of_it() {
    let mut stage = Stage::new(two_bars(1));
    stage.play(&[], 5.0);
    stage.order(Order::Pause);
    stage.play(&[("A5", 0.0, 6.0, 1.0)], 8.0);
    assert_eq!((stage.jam().phase(), stage.notes().len()), (JamPhase::Paused, 0));
    stage.order(Order::Pause);
    stage.play(&[], f64::INFINITY);
    // Over is over, whatever is played or pressed, and whatever the stream does.
    let said = stage.said.len();
    for hundredth in 0..60 {
        stage.hear((hundredth < 40).then_some(880.0), hundredth == 0);
    }
    stage.order(Order::Pause);
    let events = stage.exercise.restart(RATE);
    assert_eq!((stage.jam().phase(), stage.said.len(), events), (JamPhase::Done, said, vec![]));
}

/// Bar by bar a note, and broken off in the third: what was played in the first two stays, and the third is played
/// anew.
#[test]
fn a_bar_that_is_broken_off_is_counted_in_for_and_the_bars_before_it_stay() {
    let broken_off = |by: fn(&mut Stage)| {
        let mut stage = Stage::new(plan("I7 | IV7 | V7", Groove::Straight, 1));
        stage.play(&[("A5", 0.0, 1.0, 0.5), ("D5", 0.0, 5.0, 0.5), ("B5", 0.0, 9.0, 0.5)], 10.0);
        assert_eq!(stage.jam().notes().len(), 3);
        by(&mut stage);
        let kept: Vec<usize> = stage.jam().notes().iter().map(|note| note.bar).collect();
        (stage.jam().from_bar(), kept)
    };
    assert_eq!(broken_off(|stage| stage.order(Order::Pause)), (2, vec![0, 1]));
    assert_eq!(broken_off(|stage| drop(stage.exercise.restart(RATE))), (2, vec![0, 1]));
}

/// A loudspeaker that turns out to be later is heard later: the beats that it sounds come so much later to the
/// microphone.
#[test]
fn another_delay_holds_from_now_on() {
    let mut stage = Stage::new(two_bars(1));
    stage.play(&[], 2.0);
    let before = stage.jam().now().unwrap();
    stage.order(Order::TakeDelay(Some(0.1)));
    assert!((before - stage.jam().now().unwrap() - 0.1).abs() < 1e-9, "{before} {:?}", stage.jam().now());
    assert_eq!(stage.jam().plan().delay_s, Some(0.1));
}

#[test]
fn again_begins_it_from_its_beginning_and_a_new_stream_at_its_bar() {
    let mut stage = Stage::new(two_bars(2));
    stage.play(&[("A5", 0.0, 1.0, 1.0)], 5.0);
    assert_eq!(stage.jam().notes().len(), 1);
    stage.order(Order::Again);
    assert_eq!(
        (stage.jam().phase(), stage.jam().from_bar(), stage.jam().notes().len()),
        (JamPhase::CountIn, 0, 0)
    );
    stage.play(&[("A5", 0.0, 1.0, 1.0), ("D5", 0.0, 4.2, 0.5)], 5.5);
    let events = stage.exercise.restart(RATE);
    stage.said.extend(events);
    assert_eq!((stage.jam().phase(), stage.jam().from_bar()), (JamPhase::CountIn, 1));
    // What was played in the bar that was broken off is played anew.
    assert_eq!(stage.jam().notes().len(), 1);
}

#[test]
fn a_jam_that_waits_for_the_player_begins_with_his_first_note() {
    let stage = Stage::new(JamPlan { start: StartAt::FirstNote, ..two_bars(1) });
    assert_eq!(
        (stage.jam().phase(), stage.jam().now(), stage.jam().to_go_s()),
        (JamPhase::Waiting, None, None)
    );
    assert!(stage.jam().clicks(0..2, true).is_empty());
    assert!(!stage.said.iter().any(|event| matches!(event, Event::RunBegan(_))));
}

/// What met the change to D7 on beat 4.
fn met(notes: &[crate::Played<'_>]) -> Met {
    played(two_bars(1), notes).over().tally.changes[0].met
}

#[test]
fn a_note_meets_a_change_from_a_little_before_it_to_a_little_behind_it() {
    let of_chord = |met: Met| matches!(met, Met::OfChord(_));
    // F♯ is the third of D7. Behind the change it is the first note up to 0.6 beats late.
    assert!(of_chord(met(&[("F#5", 0.0, 4.5, 1.0)])));
    assert_eq!(met(&[("F#5", 0.0, 4.8, 1.0)]), Met::Rest);
    // Before it, it anticipates the chord by 0.6 beats at most, and only if most of it sounds behind the change.
    assert!(of_chord(met(&[("F#5", 0.0, 3.5, 1.5)])));
    assert_eq!(met(&[("F#5", 0.0, 3.5, 0.6)]), Met::Rest);
    // A note that is held over the change for more than a fifth of a beat meets it; one that is let go at the change
    // does not.
    assert!(of_chord(met(&[("A5", 0.0, 1.0, 3.4)])));
    assert_eq!(met(&[("A5", 0.0, 1.0, 3.05)]), Met::Rest);
    // A wrong note first and a note of the chord behind it: the slide takes nothing from it. The other way round as
    // well.
    assert!(of_chord(met(&[("G5", 0.0, 4.0, 0.2), ("F#5", 0.0, 4.25, 1.0)])));
    assert!(of_chord(met(&[("F#5", 0.0, 4.0, 0.2), ("G5", 0.0, 4.25, 1.0)])));
    assert_eq!(met(&[("G5", 0.0, 4.0, 1.0)]), Met::Other);
}

#[test]
fn the_chord_under_a_note_is_the_next_one_where_it_anticipates_that() {
    let chord = |on: f64, beats: f64| {
        let stage = played(two_bars(1), &[("A5", 0.0, on, beats)]);
        stage.notes()[0].chord.clone().unwrap()
    };
    assert_eq!(chord(3.5, 2.0), "D7");
    assert_eq!(chord(3.5, 0.8), "A7", "most of it sounds before the change");
    assert_eq!(chord(3.2, 3.0), "A7", "more than 0.6 beats before it");
    // A note a hair before the bar stands on its first beat.
    let stage = played(two_bars(1), &[("A5", 0.0, 3.95, 1.0)]);
    assert_eq!(stage.notes()[0].bar, 1);
    assert!((stage.notes()[0].beat - 0.95).abs() < 0.02, "{}", stage.notes()[0].beat);
}

#[test]
fn what_was_held_against_the_chord_is_summed_up() {
    // D, the fourth, for a beat and a half over A7, and a note that only passes.
    let stage = played(two_bars(1), &[("D5", 0.0, 1.0, 1.5), ("D5", 0.0, 3.0, 0.5)]);
    let clashes = &stage.over().tally.clashes;
    assert_eq!(clashes.len(), 1, "{clashes:?}");
    assert_eq!((clashes[0].clash, clashes[0].chord.as_str()), (Clash::Clash, "A7"));
    let tally = &stage.over().tally;
    // D is of the blues scale of A; C♯ is of A7 and not of the scale; B♭ is of neither.
    assert_eq!((tally.of_scale, tally.outside, tally.of_chord), (2, 0, 0));
    let stage = played(two_bars(1), &[("C#5", 0.0, 0.0, 0.5), ("Bb5", 0.0, 1.0, 0.5)]);
    let tally = &stage.over().tally;
    assert_eq!((tally.of_scale, tally.outside, tally.of_chord), (0, 1, 1));
    // The D that clashes over A7 is the root of D7: a note that was held over both is told by the chord with the clash.
    let over = played(two_bars(1), &[("D5", 0.0, 2.5, 3.0)]);
    assert_eq!(over.over().tally.clashes.first().map(|clash| clash.chord.clone()), Some("A7".to_owned()));
}
