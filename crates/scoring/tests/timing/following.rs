//! Which played note answers which asked one, on short rows that anybody can check. What a follower has to know of
//! slips is common practice, no source.

use crate::runs::{asked, c_harp};
use layout::Note;
use scoring::timed::{AskedNote, Follower, Masked, Path, median};

/// The scale of C from 4 blow upwards in quarters of half a second: C5 to C6, two bars.
fn scale() -> Vec<AskedNote> {
    asked("4 -4 5 -5 6 -6 -7 7", 0.5)
}

fn follower(asked: &[AskedNote], timed: bool, played: &[(&str, f64)]) -> Follower {
    let mut follower = Follower::new(asked, &c_harp(), timed);
    for (note, onset_s) in played {
        follower.hear(note.parse::<Note>().unwrap(), *onset_s);
    }
    follower
}

fn path(played: &[(&str, f64)]) -> Path {
    follower(&scale(), true, played).path(f64::INFINITY)
}

/// All notes of the scale in time.
const ALL: [(&str, f64); 8] =
    [("C5", 0.0), ("D5", 0.5), ("E5", 1.0), ("F5", 1.5), ("G5", 2.0), ("A5", 2.5), ("B5", 3.0), ("C6", 3.5)];

fn answers(path: &[i32]) -> Path {
    path.iter().map(|answer| usize::try_from(*answer).ok()).collect()
}

/// The scale, but with something else in the place of some notes.
fn with(from: usize, to: usize, instead: &[(&'static str, f64)]) -> Vec<(&'static str, f64)> {
    [&ALL[..from], instead, &ALL[to..]].concat()
}

#[test]
fn notes_left_out_added_and_wrong_are_told_apart() {
    assert_eq!(path(&ALL), answers(&[0, 1, 2, 3, 4, 5, 6, 7]));
    assert_eq!(path(&with(2, 3, &[])), answers(&[0, 1, -1, 2, 3, 4, 5, 6]), "E left out");
    assert_eq!(path(&with(2, 2, &[("G#5", 0.75)])), answers(&[0, 1, 3, 4, 5, 6, 7, 8]), "one too many");
    assert_eq!(
        path(&with(2, 3, &[("G#5", 1.02)])),
        answers(&[0, 1, 2, 3, 4, 5, 6, 7]),
        "another note in the time of E"
    );
    assert_eq!(
        path(&with(2, 3, &[("G#5", 1.3)])),
        answers(&[0, 1, -1, 3, 4, 5, 6, 7]),
        "another note at another time"
    );
    assert_eq!(path(&[]), answers(&[-1; 8]));
    assert_eq!(path(&ALL[..3]), answers(&[0, 1, 2, -1, -1, -1, -1, -1]), "given up");
    assert_eq!(path(&with(0, 2, &[])), answers(&[-1, -1, 0, 1, 2, 3, 4, 5]), "begun late");
}

#[test]
fn of_two_notes_for_one_the_nearer_in_pitch_and_in_time_is_the_answer() {
    // The note that was asked, and a wrong one before it or after it.
    assert_eq!(path(&with(3, 4, &[("F#5", 1.4), ("F5", 1.55)])), answers(&[0, 1, 2, 4, 5, 6, 7, 8]));
    assert_eq!(path(&with(3, 4, &[("F5", 1.5), ("F#5", 1.6)])), answers(&[0, 1, 2, 3, 5, 6, 7, 8]));
    // The same note twice: the one on the beat.
    assert_eq!(path(&with(3, 4, &[("F5", 1.35), ("F5", 1.5)])), answers(&[0, 1, 2, 4, 5, 6, 7, 8]));
    assert_eq!(path(&with(3, 4, &[("F5", 1.5), ("F5", 1.65)])), answers(&[0, 1, 2, 3, 5, 6, 7, 8]));
    // A note that the asked hole sounds on that breath is a slip at it: the natural note a little late answers before
    // another note in time.
    let told = self::follower(
        &asked("-4 -4' -4 5", 0.5),
        true,
        &[("D5", 0.0), ("G5", 0.5), ("D5", 0.62), ("D5", 1.0), ("E5", 1.5)],
    );
    assert_eq!(told.path(f64::INFINITY), answers(&[0, 2, 3, 4]));
    // A bend that is not bent is a slip at that bend, even where it comes late by two fifths of its length.
    let bends = asked("-4 -4' -4 5", 0.5);
    let told = follower(&bends, true, &[("D5", 0.0), ("D5", 0.7), ("D5", 1.0), ("E5", 1.5)]);
    assert_eq!(told.path(f64::INFINITY), answers(&[0, 1, 2, 3]));
}

#[test]
fn who_stops_is_followed_from_where_he_goes_on() {
    // A second of thought before E, and everything after it a second later.
    let later = |t: &(&'static str, f64)| (t.0, t.1 + 1.0);
    let stopped = [&ALL[..2], &ALL[2..].iter().map(later).collect::<Vec<_>>()[..]].concat();
    assert_eq!(path(&stopped), answers(&[0, 1, 2, 3, 4, 5, 6, 7]));
    // What he plays then comes at its own time, the wrong note among it.
    let wrong: Vec<_> =
        stopped.iter().map(|(note, at)| (if *note == "F5" { "G#5" } else { *note }, *at)).collect();
    assert_eq!(path(&wrong), answers(&[0, 1, 2, 3, 4, 5, 6, 7]));
    // In free time nothing is at a wrong time: the scale at a third of its tempo, with a wrong note in it.
    let slow = |t: &(&'static str, f64)| (if t.0 == "F5" { "F#5" } else { t.0 }, 3.0 * t.1);
    let slow: Vec<_> = ALL.iter().map(slow).collect();
    assert_eq!(follower(&scale(), false, &slow).path(f64::INFINITY), answers(&[0, 1, 2, 3, 4, 5, 6, 7]));
}

#[test]
fn going_back_to_the_beginning_of_a_bar_is_followed_and_the_later_playing_counts() {
    // Seven notes, then the second bar again from its G, half a second later than the beat has it.
    let again = [("G5", 4.0), ("A5", 4.5), ("B5", 5.0), ("C6", 5.5)];
    assert_eq!(path(&[&ALL[..7], &again].concat()), answers(&[0, 1, 2, 3, 7, 8, 9, 10]));
    // The whole from the beginning.
    let all_again: Vec<_> = ALL.iter().map(|(note, at)| (*note, at + 3.2)).collect();
    assert_eq!(path(&[&ALL[..6], &all_again[..]].concat()), answers(&[6, 7, 8, 9, 10, 11, 12, 13]));
    // Of three bars that are alike, the one that has just been played is the one that is repeated.
    let alike = asked("4 -4 5 -5 4 -4 5 -5 4 -4 5 -5", 0.5);
    let bar = |at_s: f64| [("C5", at_s), ("D5", at_s + 0.5), ("E5", at_s + 1.0), ("F5", at_s + 1.5)];
    let told = follower(&alike, true, &[bar(0.0), bar(2.0), bar(4.7), bar(6.7)].concat());
    assert_eq!(told.path(f64::INFINITY), answers(&[0, 1, 2, 3, 8, 9, 10, 11, 12, 13, 14, 15]));
}

#[test]
fn of_bars_that_are_alike_the_nearest_is_meant_and_back_before_forward() {
    let first = |at_s: f64| [("C5", at_s), ("D5", at_s + 0.5), ("E5", at_s + 1.0), ("F5", at_s + 1.5)];
    // Three bars that are alike; in the last one the player stops at its E and begins it again.
    let alike = asked("4 -4 5 -5 4 -4 5 -5 4 -4 5 -5", 0.5);
    let played = [&first(0.0)[..], &first(2.0), &first(4.0)[..3], &first(6.2)].concat();
    let now = follower(&alike, true, &played).path(0.0);
    assert_eq!(now, answers(&[0, 1, 2, 3, 4, 5, 6, 7, 11, 12, 13, 14]));
    // The first bar comes again as the third: who leaves the second after its first note goes back.
    let asked = asked("4 -4 5 -5 6 -6 -7 7 4 -4 5 -5 -8 8 -9 9", 0.5);
    let played = [&first(0.0)[..], &[("G5", 2.0)], &first(3.2)].concat();
    let now = follower(&asked, true, &played).path(0.0);
    assert_eq!(now[..4], answers(&[5, 6, 7, 8])[..]);
    assert!(now[8..].iter().all(Option::is_none), "{now:?}");
}

#[test]
fn going_on_in_the_bar_after_the_next_is_followed() {
    let asked = asked("4 -4 5 -5 6 -6 -7 7 -8 8 -9 9", 0.5);
    let ahead = [("D6", 2.0), ("E6", 2.5), ("F6", 3.0), ("G6", 3.5)];
    let told = follower(&asked, true, &[&ALL[..4], &ahead].concat());
    assert_eq!(told.path(f64::INFINITY), answers(&[0, 1, 2, 3, -1, -1, -1, -1, 4, 5, 6, 7]));
}

#[test]
fn while_it_goes_on_only_what_should_be_over_is_missing() {
    let follower = follower(&scale(), true, &[("C5", 0.0), ("E5", 1.0)]);
    // D was over at 1.0 s; F begins at 1.5 s.
    assert_eq!(follower.path(1.2), answers(&[0, -1, 1, -1, -1, -1, -1, -1]));
    let nothing = self::follower(&scale(), true, &[]);
    assert_eq!(nothing.path(1.2), answers(&[-1; 8]));
    // A wrong note at the time of D: D itself may yet come while its time is not over; then the wrong one was its
    // answer.
    let wrong = self::follower(&scale(), true, &[("C5", 0.0), ("G#5", 0.52)]);
    assert_eq!(wrong.path(0.6), answers(&[0, -1, -1, -1, -1, -1, -1, -1]));
    assert_eq!(wrong.path(1.05), answers(&[0, 1, -1, -1, -1, -1, -1, -1]));
}

#[test]
fn what_may_have_been_hidden_costs_little_to_leave_out() {
    // Another note in the time of D is an answer to it; where D may have been hidden, what was heard may be something
    // else.
    let mut of_scale = self::follower(&scale(), true, &with(1, 2, &[("G#5", 0.58)]));
    assert_eq!(of_scale.path(f64::INFINITY)[1], Some(1));
    let mut at_d = Masked::default();
    at_d.add(400, 900, 1_000.0);
    of_scale.hide(&at_d.seconds(0.0, 1_000.0));
    assert_eq!(of_scale.path(f64::INFINITY)[1], None);
    of_scale.hide(&Masked::default().seconds(0.0, 1_000.0));
    assert_eq!(of_scale.path(f64::INFINITY)[1], Some(1), "and nothing is hidden any more");
    // C5 is asked for twice. Where the first may have been hidden, the one that was heard is the second.
    let asked = asked("4 -4 5 4 -5 6", 0.5);
    let heard = [("C5", 1.5), ("F5", 2.0), ("G5", 2.5)];
    let mut follower = follower(&asked, true, &heard);
    let mut masked = Masked::default();
    masked.add(0, 1_450, 1_000.0);
    follower.hide(&masked.seconds(0.0, 1_000.0));
    assert_eq!(follower.path(f64::INFINITY), answers(&[-1, -1, -1, 0, 1, 2]));
    // What is told twice makes no difference.
    follower.hide(&masked.seconds(0.0, 1_000.0));
    assert_eq!(follower.path(f64::INFINITY), answers(&[-1, -1, -1, 0, 1, 2]));
}

#[test]
fn the_middle_of_some_values() {
    assert_eq!(median(vec![3.0, 1.0, 2.0]), Some(2.0));
    assert_eq!(median(vec![4.0, 1.0]), Some(2.5));
    assert_eq!(median(Vec::new()), None);
}

/// The path of `asked` notes of which the first `played` are answered in order and the rest is not.
fn only_the_first(played: usize, asked: usize) -> Path {
    (0..asked).map(|i| (i < played).then_some(i)).collect()
}

/// The first notes of these, all so late, and then nothing more to the end.
#[track_caller]
fn stopped_after(played: usize, asked: &[AskedNote], late_s: f64, timed: bool) {
    let mut follower = Follower::new(asked, &c_harp(), timed);
    for note in &asked[..played] {
        follower.hear(note.note, note.onset_s + late_s);
    }
    let (meant, end_s) = (only_the_first(played, asked.len()), asked.len() as f64 * 0.5);
    for now_s in [end_s / 2.0, end_s, f64::INFINITY] {
        assert_eq!(follower.path(now_s), meant, "{played} played, at {now_s} s, {late_s} s late, {timed}");
    }
}

/// Four bars up and down the scale, and four bars that are alike or even of one note, left after half a bar, a bar, one
/// and a half and so on, and after single notes. A player who is more than half a note late is still in the same place.
#[test]
fn whoever_stops_was_where_he_was_and_not_at_the_end() {
    let up_and_down = asked("4 -4 5 -5 6 -6 -7 7 7 -7 -6 6 -5 5 -4 4", 0.5);
    let bars_alike = asked(&["4 -4 5 -5"; 4].join(" "), 0.5);
    let one_note = asked(&["4"; 16].join(" "), 0.5);
    for played in [0, 1, 2, 3, 4, 6, 8, 10, 12, 15] {
        for late_s in [0.0, 0.3] {
            for timed in [true, false] {
                stopped_after(played, &up_and_down, late_s, timed);
                stopped_after(played, &bars_alike, late_s, timed);
            }
        }
        // In free time nothing tells which of sixteen that are alike it was.
        stopped_after(played, &one_note, 0.0, true);
    }
}

/// What was seen: four bars of quarters at 120, the first bar right and nothing more, and its last note was told to be
/// the thirteenth, another note and 4.5 s early.
#[test]
fn the_last_note_before_the_silence_is_judged_as_what_it_was() {
    let asked = asked("4 -4 5 -5 6 -6 -7 7 -8 8 -9 9 -10 10 9 8", 0.5);
    stopped_after(4, &asked, 0.0, true);
    // The last note two fifths of its length late is that note.
    let late = follower(&asked, true, &with(3, 8, &[("F5", 1.7)]));
    assert_eq!(late.path(f64::INFINITY), only_the_first(4, 16));
    // D is left out, and after F nothing more.
    let without_d = follower(&asked, true, &with(1, 8, &[("E5", 1.0), ("F5", 1.5)])).path(f64::INFINITY);
    assert_eq!(without_d[..4], answers(&[0, -1, 1, 2])[..]);
    assert!(without_d[4..].iter().all(Option::is_none), "{without_d:?}");
}

#[test]
fn whoever_comes_in_again_in_time_is_in_the_bar_of_that_time() {
    // Four bars that are alike: the first one, two bars of nothing, and the last one on its beats.
    for bar in ["4 -4 5 -5", "4 4 4 4"] {
        let asked = asked(&[bar; 4].join(" "), 0.5);
        let played: Vec<&AskedNote> = asked[..4].iter().chain(&asked[12..]).collect();
        let mut follower = Follower::new(&asked, &c_harp(), true);
        for note in played {
            follower.hear(note.note, note.onset_s);
        }
        let meant = [&[0, 1, 2, 3][..], &[-1; 8], &[4, 5, 6, 7]].concat();
        assert_eq!(follower.path(f64::INFINITY), answers(&meant), "{bar}");
    }
}

#[test]
fn among_notes_that_are_alike_one_left_out_makes_no_other_late() {
    // Sixteen of one note. The third is left out, four more come on their beats, and then nothing more.
    let asked = asked(&["4"; 16].join(" "), 0.5);
    let played = [("C5", 0.0), ("C5", 0.5), ("C5", 1.5), ("C5", 2.0), ("C5", 2.5), ("C5", 3.0)];
    let told = follower(&asked, true, &played).path(f64::INFINITY);
    assert_eq!(told[..7], answers(&[0, 1, -1, 2, 3, 4, 5])[..]);
    assert!(told[7..].iter().all(Option::is_none), "{told:?}");
}

#[test]
fn whoever_begins_again_and_then_stops_has_begun_again() {
    let asked = asked("4 -4 5 -5 6 -6 -7 7 7 -7 -6 6 -5 5 -4 4", 0.5);
    // Six notes, the whole from the beginning 3.7 s after its time, and after its fourth note nothing more.
    let again: Vec<_> = ALL[..4].iter().map(|(note, at)| (*note, at + 3.7)).collect();
    let told = follower(&asked, true, &[&ALL[..6], &again].concat()).path(f64::INFINITY);
    assert_eq!(told[..4], answers(&[6, 7, 8, 9])[..]);
    assert!(told[6..].iter().all(Option::is_none), "{told:?}");
}
