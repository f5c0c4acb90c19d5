//! Drills made of what was practised, and another tolerance in the middle of one.

use crate::player::{Player, harp};
use layout::TabStyle;
use practice::{Drill, Order, Phase};
use scoring::{Outcome, Tolerance};

/// The items of a drill as tab.
fn tabs(drill: &Drill) -> Vec<String> {
    let style = TabStyle::default();
    let tab = |item: &practice::Item| item.ways().map(|way| style.print(way)).collect::<Vec<_>>().join(" ");
    drill.items.iter().map(tab).collect()
}

/// A drill of three notes and a joined pair, played so many cents off one after the other.
fn played(cents: [f64; 5]) -> Player {
    let text = "title = 'Three'\nhold = 0.5\n[[item]]\nplay = \"-3'\"\n[[item]]\nplay = '4'\nwithin = 15\n\
                [[item]]\nplay = \"-4 -4'\"\n[[item]]\nplay = '-6'\n";
    let mut player = Player::with(text);
    for cents in cents {
        player.rest(0.3).play(1.2, cents);
    }
    player.rest(2.0).is(Phase::Done);
    player
}

#[test]
fn only_what_did_not_land_is_asked_again() {
    let player = played([3.0, -40.0, 0.0, 38.0, 0.0]);
    let missed = player.session().missed().unwrap();
    assert_eq!(tabs(&missed), ["4", "-4 -4'"], "the notes of a joined item stay together");
    assert_eq!(missed.items[0], player.session().drill().items[1], "with its own tolerance");
    assert_eq!(missed.title, "Three: what did not land");
    assert_eq!(played([0.0; 5]).session().missed(), None);
    // Again and again the title stays as it is.
    let mut player = played([3.0, -40.0, 0.0, 38.0, 0.0]);
    player.order(Order::Drill(Box::new(missed)));
    player.rest(0.3).play(1.2, 45.0);
    assert_eq!(player.session().missed().unwrap().title, "Three: what did not land");
}

#[test]
fn what_has_to_land_several_times_in_a_row_is_missed_if_it_never_did() {
    let text =
        "title = 't'\nhold = 0.5\nin_a_row = 2\ntries = 3\n[[item]]\nplay = '4'\n[[item]]\nplay = '-4'\n";
    let mut player = Player::with(text);
    for cents in [40.0, 0.0, 0.0, 0.0, 40.0, 0.0] {
        player.rest(0.3).play(1.2, cents);
    }
    player.rest(2.0).is(Phase::Done);
    assert_eq!(tabs(&player.session().missed().unwrap()), ["-4"]);
}

#[test]
fn the_notes_of_a_joined_item_count_together_towards_a_row() {
    let text = "title = 't'\nhold = 0.5\nin_a_row = 2\ntries = 3\n[[item]]\nplay = \"-4 -4'\"\n[[item]]\nplay = '4'\n";
    // Out of tune twice, and then once in tune from the first note to the last: that is no two in a row.
    let mut player = Player::with(text);
    for cents in [40.0, 40.0, 0.0] {
        player.rest(0.3).play(1.2, cents).rest(0.3).play(1.2, cents);
    }
    assert_eq!(player.session().item(), 1);
    // What was not tried was not missed.
    assert_eq!(tabs(&player.session().missed().unwrap()), ["-4 -4'"]);
}

#[test]
fn the_weakest_note_is_asked_for_until_it_lands_three_times_in_a_row() {
    let mut player = played([3.0, -40.0, 0.0, 18.0, 0.0]);
    let weakest = player.session().weakest().unwrap();
    assert_eq!((tabs(&weakest), weakest.title.as_str()), (vec!["4".to_owned()], "4 blow, three in a row"));
    assert_eq!(weakest.items[0].tolerance, Tolerance::new(10.0, 15.0).ok());
    player.order(Order::Drill(Box::new(weakest)));
    for (cents, in_a_row) in [(0.0, 1), (-30.0, 0), (0.0, 1), (0.0, 2)] {
        player.rest(0.3).play(1.2, cents);
        assert_eq!(player.session().in_a_row(), Some((in_a_row, 3)));
    }
    player.rest(0.3).play(1.2, 0.0).rest(2.0).is(Phase::Done);
    assert_eq!(played([0.0; 5]).session().weakest(), None, "every note was centred");
}

#[test]
fn a_run_asks_for_its_notes_in_their_order() {
    let ways = ["-2", "-3'", "4", "-4"].map(|tab| TabStyle::default().read_for(&harp(), tab).unwrap());
    let drill = Drill::of_ways("G minor, up".to_owned(), ways);
    assert_eq!(tabs(&drill), ["-2", "-3'", "4", "-4"]);
    assert_eq!(drill.cannot_play(&harp()), None);
}

#[test]
fn another_tolerance_judges_from_the_next_try_on() {
    let mut player = Player::at(&["4"], 3);
    player.rest(0.3).play(1.5, 20.0);
    let strict = Tolerance::new(5.0, 15.0).unwrap();
    // In the middle of a try: it begins afresh, and the note that sounds belongs to the try before.
    player.rest(0.3).play(0.5, 20.0).order(Order::TakeTolerance(strict));
    assert_eq!(player.session().tolerance(), strict);
    assert_eq!(player.exercise.tolerance(), strict);
    player.rest(0.5).play(1.5, 20.0);
    let outcomes: Vec<(Outcome, Tolerance)> =
        player.session().results().iter().map(|tried| (tried.verdict.outcome, tried.tolerance)).collect();
    assert_eq!(outcomes[0], (Outcome::Landed, Tolerance::USUAL));
    assert!(matches!(outcomes[1], (Outcome::Sharp(_), tolerance) if tolerance == strict), "{outcomes:?}");
    assert_eq!(outcomes.len(), 2);
}

#[test]
fn a_habit_is_told_from_four_tries_on() {
    let lean = |cents: &[f64]| {
        let mut player = Player::at(&["4"], cents.len() as u32);
        for cents in cents {
            player.rest(0.3).play(1.5, *cents);
        }
        player.session().summary().lean
    };
    let side = |lean: Option<practice::Lean>| lean.map(|lean| (lean.flat, lean.is_flat(), lean.is_sharp()));
    assert_eq!(side(lean(&[-12.0, -8.0, -30.0])), None, "three tries are too few");
    assert_eq!(side(lean(&[-12.0, -8.0, -30.0, 4.0])), Some((3, true, false)));
    assert_eq!(side(lean(&[12.0, 8.0, 30.0, 14.0])), Some((0, false, true)));
    assert_eq!(side(lean(&[12.0, -8.0, 30.0, -14.0])), Some((2, false, false)), "as often flat as sharp");
    assert_eq!(side(lean(&[-2.0, -3.0, -1.0, -4.0])), Some((4, false, false)), "nobody hears that");
    let median = lean(&[-12.0, -8.0, -30.0, 4.0]).unwrap().median_cents;
    assert!((median + 10.0).abs() < 0.5, "{median}");
}
