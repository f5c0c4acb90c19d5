//! Which played note answers which asked one, on runs with stumbles whose truth is known because the test makes them.

use crate::{blues, eighths, harp, number};
use layout::{Harp, Note, Way};
use oorandom::Rand64;
use practice::run::{Material, ScaleRun, Shape};
use scoring::timed::{AskedNote, Follower, Masked};
use std::collections::BTreeMap;
use theory::{Ability, Level, Position, ScaleInKey, Scales};

/// A note that the test plays, and the asked note that it is meant for.
type Truth = (Note, f64, Option<usize>);

/// Where the player goes on after a note.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Goes {
    On,
    /// To the beginning of the bar, after a moment.
    Back,
    /// To the beginning of the run, after a moment.
    Restarts,
    /// To the beginning of the next bar but one, in the time of the beat or at once.
    Skips,
    /// Nowhere: he plays no more.
    Stops,
}

/// Plays what is asked with slips of every kind; the truth is known note by note. `goes` says where the player goes
/// after which note.
fn stumbling(asked: &[AskedNote], (at, goes): (usize, Goes), random: &mut Rand64) -> Vec<Truth> {
    let mut played: Vec<Truth> = Vec::new();
    let mut shift_s = 0.0;
    let mut index = 0;
    let mut gone = false;
    while index < asked.len() {
        let note = asked[index];
        let late = if random.rand_float() < 0.5 { 0.015 } else { -0.012 };
        let at_s = note.onset_s + shift_s + late;
        // Of a hundred notes three are left out, three are wrong, three are played twice, and behind three comes one
        // too many.
        let slip = random.rand_float();
        let mut chance = |share: f64| random.rand_float() < share;
        if slip >= 0.06 {
            played.push((note.note, at_s, Some(index)));
            // Where the same note is asked once more, nobody can tell which of them was played twice.
            let told = asked.get(index + 1).is_some_and(|next| next.note != note.note);
            let (extra, again) = (chance(0.03), told && chance(0.03));
            if extra {
                played.push((note.note.up(5).unwrap(), at_s + note.length_s * 0.5, None));
            } else if again {
                // Struck again, and all that follows comes later.
                played.push((note.note, at_s + note.length_s, Some(index)));
                shift_s += note.length_s;
            }
        } else if slip >= 0.03 {
            played.push((note.note.up(if chance(0.5) { 2 } else { -1 }).unwrap(), at_s, Some(index)));
        }
        let first_of = |bar: usize| asked.iter().position(|other| other.bar == bar);
        let to = match goes {
            Goes::Stops if index == at => break,
            Goes::On | Goes::Stops => None,
            Goes::Back => first_of(note.bar),
            Goes::Restarts => Some(0),
            Goes::Skips => first_of(note.bar + 2),
        };
        if let Some(to) = to.filter(|_| index == at && !gone) {
            gone = true;
            let next_s = note.onset_s + note.length_s;
            let waits_s = if goes == Goes::Skips { 0.0 } else { note.length_s };
            let stays_in_time = goes == Goes::Skips && chance(0.5);
            shift_s += if stays_in_time { 0.0 } else { next_s + waits_s - asked[to].onset_s };
            index = to;
            continue;
        }
        index += 1;
    }
    played
}

/// Runs are eight bars: half of them the blues scale four times, half of them a walk of 64 notes through the scale.
fn long_run(seed: u64) -> (Harp, Vec<AskedNote>) {
    let harp = harp("C");
    if seed % 2 == 1 {
        let scale = Scales::ours().find("blues").unwrap().clone();
        let key = ScaleInKey::in_position(scale, &harp, Position::new(2).unwrap());
        let ability = Ability::new(Level::DrawBends);
        let shape: Shape = "random walk".parse().unwrap();
        let walk = |seed| ScaleRun { key: &key, shape, range: None, ability: &ability, seed }.ways(&harp);
        let ways: Vec<Way> = [walk(seed), walk(seed + 1)].concat();
        let material = Material::of_ways("a walk".to_owned(), &ways, eighths(96.0)).unwrap();
        return (harp.clone(), material.asked(&harp));
    }
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

/// Where the player of a seed goes: back, to the beginning, ahead, or only on; to the beginning from a walk only,
/// because a scale that is played four times begins with every turn.
fn goes(seed: u64, asked: &[AskedNote], random: &mut Rand64) -> (usize, Goes) {
    let goes = match seed % 4 {
        1 => Goes::Restarts,
        2 => Goes::Back,
        _ if seed % 8 < 4 => Goes::Skips,
        _ => Goes::On,
    };
    // Two notes played again are no jump, but repeated.
    let far = |i: &usize| *i >= 3 && asked[*i].bar == asked[*i - 3].bar && asked[*i].bar < 6;
    let places: Vec<usize> = (0..asked.len()).filter(far).collect();
    (places[random.rand_range(0..places.len() as u64) as usize], goes)
}

/// How many asked notes are answered by what was meant for them.
fn answered(harp: &Harp, asked: &[AskedNote], played: &[Truth]) -> usize {
    let mut follower = Follower::new(asked, harp, true);
    for (note, onset_s, _) in played {
        follower.hear(*note, *onset_s);
    }
    // A note or a bar that was played twice may be answered by either time.
    let is_meant = |(index, answer): &(usize, Option<usize>)| {
        let meant_for = |played: &Truth| played.2 == Some(*index);
        match answer {
            Some(answer) => meant_for(&played[*answer]),
            None => !played.iter().any(meant_for),
        }
    };
    follower.path(f64::INFINITY).into_iter().enumerate().filter(is_meant).count()
}

/// Each run is played to its end, and once more by a player who stops on the way. `BENDWRIGHT_FOLLOWING_SEED` says
/// where the 500 seeds begin.
#[test]
fn played_notes_find_what_they_were_meant_for() {
    let first = number("BENDWRIGHT_FOLLOWING_SEED", 0);
    let mut counts: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for seed in first..first + 500 {
        let mut random = Rand64::new(u128::from(seed));
        let (harp, asked) = long_run(seed);
        let (at, goes) = goes(seed, &asked, &mut random);
        for goes in [goes, Goes::Stops] {
            let played = stumbling(&asked, (at, goes), &mut random);
            let (right, all) = counts.entry(format!("{goes:?}")).or_default();
            *right += answered(&harp, &asked, &played);
            *all += asked.len();
        }
    }
    for (goes, (right, all)) in &counts {
        println!("following, {goes}: {right} of {all} asked notes answered by what was meant for them");
    }
    let (right, all) = counts.values().fold((0, 0), |(a, b), (right, all)| (a + right, b + all));
    println!("following: {right} of {all}");
    assert!(right as f64 >= 0.99 * all as f64, "{right} of {all}");
}

#[test]
fn a_run_that_is_late_as_a_whole_is_followed_all_the_same() {
    let (harp, asked) = long_run(0);
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
fn what_could_not_be_heard_draws_no_later_note_to_itself() {
    let (harp, asked) = long_run(0);
    // Half a dozen notes, and then one that is asked for among them as well.
    let again =
        (6..asked.len()).find(|i| asked[..*i].iter().any(|early| early.note == asked[*i].note)).unwrap();
    let mut masked = Masked::default();
    masked.add(0, (1_000.0 * (asked[again].onset_s - 0.02)) as u64, 1_000.0);
    let mut follower = Follower::new(&asked, &harp, true);
    for note in &asked[again..] {
        follower.hear(note.note, note.onset_s);
    }
    follower.hide(&masked.seconds(0.0, 1_000.0));
    let path = follower.path(f64::INFINITY);
    let meant: Vec<Option<usize>> = (0..asked.len()).map(|i| i.checked_sub(again)).collect();
    assert_eq!(path, meant);
}

#[test]
fn nothing_played_is_nothing_answered() {
    let (harp, asked) = long_run(0);
    let follower = Follower::new(&asked, &harp, true);
    assert!(follower.path(f64::INFINITY).iter().all(Option::is_none));
}
