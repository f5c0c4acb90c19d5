//! Items of several notes, and vibrato: five of each played right and five wrong, on three harps; twenty where
//! everything is to be checked.

use crate::{TRIES, judged, way};
use layout::{Harp, HarpKey};
use oorandom::Rand64;
use scoring::Outcome;
use synth::Gesture;

/// A kind of joined item, and how it is played.
#[derive(Clone, Copy)]
struct Joined {
    name: &'static str,
    hold_s: f64,
    items: [&'static str; 3],
    how: How,
}

#[derive(Clone, Copy)]
enum How {
    /// In one breath from the natural note into the bend and back.
    Release,
    /// A natural note and a bend of another hole, each with a breath of its own.
    Leap,
    /// One hole after the other, as fast as a shake that can still be heard.
    Shake,
    /// One note with a regular swing of its pitch.
    Vibrato,
}

const KINDS: [Joined; 4] = [
    Joined {
        name: "bend and release",
        hold_s: 0.6,
        items: ["-4 -4' -4", "-3 -3'' -3", "-2 -2' -2"],
        how: How::Release,
    },
    Joined { name: "leaps into bends", hold_s: 0.6, items: ["4 -4'", "-2 -3'", "6 -6'"], how: How::Leap },
    Joined { name: "shakes", hold_s: 0.3, items: ["-4 -5 -4 -5", "-3 -4 -3 -4", "4 5 4 5"], how: How::Shake },
    Joined { name: "vibrato", hold_s: 1.5, items: ["-4", "-3", "6"], how: How::Vibrato },
];

/// How far off a note is played, cents, and the word for it; a bend that is sharp is short of its depth.
fn fault(tab: &str, random: &mut Rand64) -> (f64, &'static str) {
    let off = 36.0 + 18.0 * random.rand_float();
    match (random.rand_range(0..2) == 0, tab.ends_with('\'')) {
        (true, true) => (off, "short"),
        (false, true) => (-off, "past"),
        (true, false) => (off, "sharp"),
        (false, false) => (-off, "flat"),
    }
}

/// What the player does with an item, and what each of its notes has to be called. In a wrong item one note is off.
fn played(harp: &Harp, kind: Joined, at: usize, random: &mut Rand64) -> (Vec<Gesture>, Vec<&'static str>) {
    let tabs: Vec<&str> = kind.items[at / 2 % 3].split(' ').collect();
    let is_right = at.is_multiple_of(2);
    let slight = 24.0 * random.rand_float() - 12.0;
    // Of a release the bend goes wrong, of a leap its bend, of a shake its second note.
    let wrong = usize::from(!matches!(kind.how, How::Vibrato));
    let (cents, word) = if is_right { (slight, "landed") } else { fault(tabs[wrong], random) };
    let mut words = vec!["landed"; tabs.len()];
    words[wrong] = word;
    // What is wrong is held for a second at least before it is said to be so.
    let held_s = if is_right { kind.hold_s + 0.35 } else { kind.hold_s.max(1.0) + 0.7 };
    let before = |gesture: Gesture, first: bool| gesture.rest(if first { 0.8 } else { 0.04 });
    let gestures = match kind.how {
        How::Release => {
            let bend = Gesture::new(way(harp, tabs[1])).dwell(kind.hold_s + 0.3).glide(0.12);
            vec![before(bend.cents_off(cents).seconds(held_s).back(0.12, kind.hold_s + 0.4), true)]
        }
        How::Vibrato => {
            let note = Gesture::new(way(harp, tabs[0])).cents_off(cents).seconds(kind.hold_s + 0.5);
            vec![before(note.vibrato(5.2, 22.0), true)]
        }
        How::Leap | How::Shake => {
            let note = |(index, tab): (usize, &&str)| {
                let (cents, seconds) =
                    if index == wrong { (cents, held_s) } else { (0.0, kind.hold_s + 0.25) };
                let note = Gesture::new(way(harp, tab)).cents_off(cents).seconds(seconds);
                before(if tab.ends_with('\'') { note.glide(0.06) } else { note }, index == 0)
            };
            tabs.iter().enumerate().map(note).collect()
        }
    };
    (gestures, words)
}

/// How many right items had a note blamed, and how many wrong ones had every note named as what it was.
fn score(key: &str, kind: Joined, seed: u64) -> (usize, usize) {
    let harp = Harp::richter(key.parse::<HarpKey>().unwrap());
    let mut random = Rand64::new(seed.into());
    let plan: Vec<_> = (0..2 * *TRIES).map(|at| played(&harp, kind, at, &mut random)).collect();
    let items: Vec<&str> = (0..2 * *TRIES).map(|at| kind.items[at / 2 % 3]).collect();
    let gestures: Vec<Gesture> = plan.iter().flat_map(|(gestures, _)| gestures.clone()).collect();
    let results = judged(&harp, (&items, kind.hold_s), &gestures, seed);
    let (mut blamed, mut named) = (0, 0);
    let mut next = results.iter();
    for (at, (_, words)) in plan.iter().enumerate() {
        let said: Vec<&Outcome> =
            next.by_ref().take(words.len()).map(|tried| &tried.verdict.outcome).collect();
        let told = |outcome: &Outcome| !matches!(outcome, Outcome::CannotTell(_) | Outcome::NotHeard(_));
        let fits = |(outcome, word): (&&Outcome, &&str)| outcome.word() == *word;
        let as_played = said.len() == words.len() && said.iter().zip(words).all(fits);
        if at.is_multiple_of(2) {
            blamed += usize::from(said.iter().zip(words).any(|pair| told(pair.0) && !fits(pair)));
        } else {
            named += usize::from(as_played);
        }
        if !as_played {
            println!("{key}, {}: {} was to be {words:?}: {said:?}", kind.name, items[at]);
        }
    }
    assert_eq!(next.count(), 0, "{key}, {}: one verdict for each note", kind.name);
    (blamed, named)
}

#[test]
fn joined_items_and_vibrato_are_judged_note_by_note() {
    let scores = std::thread::scope(|scope| {
        let run = |key: &'static str| {
            let scores = move || {
                KINDS
                    .into_iter()
                    .zip(70u64..)
                    .map(move |(kind, seed)| (key, kind.name, score(key, kind, seed)))
            };
            scope.spawn(move || scores().collect::<Vec<_>>())
        };
        let runs = ["C", "low F", "high G"].map(run);
        runs.into_iter().flat_map(|run| run.join().unwrap()).collect::<Vec<_>>()
    });
    let mut named_in_all = 0;
    for (key, kind, (blamed, named)) in &scores {
        println!("{key}, {kind}: {blamed} right ones blamed, {named} wrong ones named, of {} each", *TRIES);
        assert!(*blamed <= 1, "{key}, {kind}: {blamed} right items were blamed");
        named_in_all += named;
    }
    let all = scores.len() * *TRIES;
    assert!(named_in_all as f64 >= 0.95 * all as f64, "{named_in_all} of {all} wrong items were named");
}
