//! Items that are wanted several times in a row, joined items, shuffled drills.

use crate::player::{Player, RATE, harp};
use practice::{Drill, Event, Exercise, Order, Phase};
use scoring::Tolerance;

#[test]
fn until_it_has_landed_three_times_in_a_row() {
    let drill =
        "title = 't'\nhold = 1\nin_a_row = 3\n[[item]]\nplay = \"-3'\"\n[[item]]\nplay = '4'\ntries = 4\n";
    let mut player = Player::with(drill);
    for cents in [0.0, 0.0, 40.0, 0.0, 0.0] {
        player.rest(0.2).play(1.2, cents);
    }
    assert_eq!(player.session().in_a_row(), Some((2, 3)));
    player.log.clear();
    player.rest(0.2).play(1.2, 5.0).check(&["began", "landed 0.6", "asked 1.1"]);
    // No more tries than the item has, however they went.
    for _ in 0..4 {
        player.rest(0.2).play(1.2, 45.0);
    }
    player.rest(1.5).is(Phase::Done);
}

/// Again asks for one try more and not for another row.
#[test]
fn what_has_landed_often_enough_is_asked_for_once_more_and_not_again_until_it_has() {
    let drill = "title = 't'\nhold = 1\nin_a_row = 2\n[[item]]\nplay = '4'\n[[item]]\nplay = '-4'\n";
    for (cents, word) in [(0.0, "landed"), (40.0, "sharp")] {
        let mut player = Player::with(drill);
        player.play(1.2, 0.0).rest(0.2).play(1.2, 0.0).rest(0.2);
        player.check(&["began", "landed 0.1", "asked 0.2", "began", "landed 0.2", "asked 1.1"]);
        player.order(Order::Again).check(&["asked 0.3"]);
        player.play(1.2, cents).check(&["began", &format!("{word} 0.3"), "asked 1.1"]);
    }
}

#[test]
fn the_notes_of_a_joined_item_are_judged_each() {
    let drill = "title = 't'\nhold = 0.5\n[[item]]\nplay = \"-4 -4' -4\"\n[[item]]\nplay = '4'\n";
    let mut player = Player::with(drill);
    // One breath: the natural note, the bend twenty cents short, the natural note again.
    player.play(0.7, 0.0).check(&["began", "landed 0.1", "asked 0.1/1"]);
    player.play(0.1, 50.0).play(0.7, 20.0).check(&["began", "landed 0.1/1", "asked 0.1/2"]);
    player.play(0.7, 0.0).check(&["began", "landed 0.1/2", "asked 1.1"]);
    // The next item is no part of it.
    player.play(1.0, 200.0).is(Phase::Released).check(&[]);
    // A bend that stops 40 cents short is blamed where the notes are joined.
    let mut player = Player::with(drill);
    player.play(0.7, 0.0).play(1.2, 40.0).check(&[
        "began",
        "landed 0.1",
        "asked 0.1/1",
        "began",
        "short 0.1/1",
        "asked 0.1/2",
    ]);
}

/// In which order the items of a drill of these lines of tab are asked for, shuffled by each of so many seeds.
fn shuffled(tab: &[&str], seeds: u64) -> Vec<Vec<usize>> {
    let items: Vec<String> = tab.iter().map(|tab| format!("[[item]]\nplay = '{tab}'\n")).collect();
    let text = format!("title = 't'\nhold = 1\norder = 'random'\n{}", items.concat());
    let drill = Drill::parse("t", &text, &harp()).unwrap();
    let orders = (0..seeds).map(|seed| {
        let mut exercise = Exercise::new(harp(), Tolerance::default(), RATE).shuffled_by(seed);
        let mut events = exercise.order(Order::Drill(Box::new(drill.clone())));
        let mut order = Vec::new();
        while let Some(Event::Asked(asked)) = events.pop() {
            order.push(asked.item);
            events = exercise.order(Order::Next);
        }
        order
    });
    orders.collect()
}

#[test]
fn a_shuffled_drill_asks_for_everything_once() {
    let orders = shuffled(&["-1", "-2", "-3", "-4", "4", "5", "6"], 5);
    for order in &orders {
        let mut sorted = order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (0..7).collect::<Vec<_>>());
    }
    assert!(orders.windows(2).any(|pair| pair[0] != pair[1]), "{orders:?}");
    // Of two items either may come first: that one and the same does with all of 20 seeds is one chance in half a
    // million.
    let orders = shuffled(&["4", "-4"], 20);
    assert!(orders.contains(&vec![0, 1]) && orders.contains(&vec![1, 0]), "{orders:?}");
}

#[test]
fn another_harp_in_the_hand_is_asked_about_once() {
    let hints = |player: &Player| -> Vec<String> {
        let said = player.log.iter().filter_map(|event| match event {
            Event::OtherHarp(key) => Some(key.to_string()),
            _ => None,
        });
        said.collect()
    };
    // A D harp in the hand while a C harp is asked for: everything a whole step sharp.
    let mut player = Player::at(&["4", "-4", "-3'", "5", "-5"], 1);
    for cents in [196.0, 203.0, 201.0, 198.0, 202.0] {
        player.rest(0.3).play(1.4, cents);
    }
    assert_eq!(hints(&player), ["D"]);
    // Bends that stop a half step short are the player's own, however alike they are.
    let mut player = Player::at(&["-3''", "-2''", "-3'''"], 1);
    for cents in [100.0, 101.0, 99.0] {
        player.rest(0.3).play(2.4, cents);
    }
    assert_eq!(hints(&player), [""; 0]);
    // So are misses that differ, and misses of less than a half step.
    for misses in [[196.0, 150.0, 201.0], [60.0, 61.0, 59.0]] {
        let mut player = Player::at(&["4", "-4", "5"], 1);
        for cents in misses {
            player.rest(0.3).play(1.4, cents);
        }
        assert_eq!(hints(&player), [""; 0], "{misses:?}");
    }
}
