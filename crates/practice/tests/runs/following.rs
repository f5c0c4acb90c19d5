//! Which played note answers which asked one, on runs with stumbles whose truth is known because the test makes them.

use crate::{blues, harp};
use layout::Note;
use oorandom::Rand64;
use scoring::timed::{AskedNote, Follower};

/// A note that the test plays, and the asked note that it is meant for.
type Truth = (Note, f64, Option<usize>);

/// Plays what is asked with slips of every kind; the truth is known note by note.
fn stumbling(asked: &[AskedNote], random: &mut Rand64) -> Vec<Truth> {
    let mut played: Vec<Truth> = Vec::new();
    let mut shift_s = 0.0;
    let mut index = 0;
    let mut jumps = 0;
    while index < asked.len() {
        let note = asked[index];
        let late = if random.rand_float() < 0.5 { 0.015 } else { -0.012 };
        let at = note.onset_s + shift_s + late;
        // Of a hundred notes three are left out, three are wrong, and behind three comes one too many.
        let slip = random.rand_float();
        let mut chance = |share: f64| random.rand_float() < share;
        if slip >= 0.06 {
            played.push((note.note, at, Some(index)));
            if chance(0.03) {
                played.push((note.note.up(5).unwrap(), at + note.length_s * 0.5, None));
            }
        } else if slip >= 0.03 {
            played.push((note.note.up(if chance(0.5) { 2 } else { -1 }).unwrap(), at, Some(index)));
        }
        // Now and then back to the beginning of the bar, after a moment. Two notes played again are no jump, but repeated.
        let bar = asked.iter().position(|other| other.bar == note.bar).unwrap();
        if jumps == 0 && index >= bar + 3 && chance(0.03) {
            shift_s += note.onset_s - asked[bar].onset_s + 2.0 * note.length_s;
            index = bar;
            jumps += 1;
            continue;
        }
        index += 1;
    }
    played
}

/// Runs are eight bars: the scale four times.
fn long_run() -> (layout::Harp, Vec<AskedNote>) {
    let harp = harp("C");
    let once = blues(&harp, 96.0).asked(&harp);
    let bars = once.last().unwrap().bar + 1;
    let bar_s = 60.0 / 96.0 * 4.0;
    let asked = (0..4).flat_map(|turn| {
        let shift = f64::from(turn) * bars as f64 * bar_s;
        once.iter().map(move |note| AskedNote {
            onset_s: note.onset_s + shift,
            bar: note.bar + turn as usize * bars,
            ..*note
        })
    });
    (harp, asked.collect())
}

#[test]
fn played_notes_find_what_they_were_meant_for() {
    let (harp, asked) = long_run();
    let (mut right, mut all) = (0_u32, 0_u32);
    for seed in 0..500 {
        let mut random = Rand64::new(seed);
        let played = stumbling(&asked, &mut random);
        let mut follower = Follower::new(&asked, &harp, true);
        for (note, onset_s, _) in &played {
            follower.hear(*note, *onset_s);
        }
        let path = follower.path(f64::INFINITY);
        // A bar that was played twice may be answered by either.
        for (index, answer) in path.iter().enumerate() {
            let meant_for = |played: &Truth| played.2 == Some(index);
            all += 1;
            right += u32::from(match answer {
                Some(answer) => meant_for(&played[*answer]),
                None => !played.iter().any(meant_for),
            });
        }
    }
    println!("following: {right} of {all} asked notes answered by what was meant for them");
    assert!(f64::from(right) >= 0.99 * f64::from(all), "{right} of {all}");
}

#[test]
fn a_run_that_is_late_as_a_whole_is_followed_all_the_same() {
    let (harp, asked) = long_run();
    for late_s in [-0.25, 0.25, 0.4] {
        let mut follower = Follower::new(&asked, &harp, true);
        for note in &asked {
            follower.hear(note.note, note.onset_s + late_s);
        }
        let path = follower.path(f64::INFINITY);
        assert!(path.iter().enumerate().all(|(i, answer)| *answer == Some(i)), "{late_s}: {path:?}");
    }
}

#[test]
fn nothing_played_is_nothing_answered() {
    let (harp, asked) = long_run();
    let follower = Follower::new(&asked, &harp, true);
    assert!(follower.path(f64::INFINITY).iter().all(Option::is_none));
}
