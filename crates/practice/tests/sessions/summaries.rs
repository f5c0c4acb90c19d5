//! What a drill comes to, and when another harp is asked about: tries whose errors are written down.

use crate::player::{Player, harp};
use practice::{Event, Exercise, Feedback, Lean, Order, Phase, Summary};
use scoring::Tolerance;

/// Tries at natural notes, one after the other, so many cents off.
fn summary(tab: &[&str], cents: &[f64]) -> Summary {
    let mut player = Player::at(tab, 1);
    for cents in cents {
        player.rest(0.3).play(1.3, *cents).rest(0.3);
    }
    player.session().summary()
}

#[test]
fn a_habit_is_told_from_four_tries_on_by_its_side_and_its_middle() {
    let notes = ["4", "-4", "5", "-5"];
    let lean = |cents: &[f64]| summary(&notes[..cents.len()], cents).lean;
    assert_eq!(lean(&[8.0, 9.0, 12.0]), None, "three say nothing");
    let sharp = lean(&[8.0, 9.0, 12.0, -3.0]).unwrap();
    // The middle of -3, 8, 9 and 12 is 8.5; three of four are three quarters.
    assert_eq!((sharp.flat, sharp.sharp, sharp.tries()), (1, 3, 4));
    assert!((sharp.median_cents - 8.5).abs() < 0.1 && sharp.is_sharp() && !sharp.is_flat(), "{sharp:?}");
    let flat = lean(&[-8.0, -9.0, -12.0, 3.0]).unwrap();
    assert!(flat.is_flat() && !flat.is_sharp());
    // Two of four are no habit, and less than 5 cents is not heard.
    let none = |lean: Lean| !lean.is_flat() && !lean.is_sharp();
    assert!(none(lean(&[8.0, 9.0, -8.0, -9.0]).unwrap()) && none(lean(&[2.0, 3.0, 4.0, 3.0]).unwrap()));
    // All to one side, but for the most part by less than is heard: 4, 4, 4 and 20 cents.
    assert!(none(lean(&[4.0, 4.0, 4.0, 20.0]).unwrap()));
    // The edge: 5 cents are heard.
    let edge = Lean { flat: 3, sharp: 1, median_cents: -5.0 };
    assert!(
        edge.is_flat()
            && none(Lean { median_cents: -4.9, ..edge })
            && none(Lean { flat: 2, sharp: 1, ..edge })
    );
}

#[test]
fn where_a_drill_asks_for_bends_the_habit_is_that_of_the_bends() {
    let tab = ["4", "-4'", "5", "-3'", "-5", "-6'", "6", "-2'"];
    // The natural notes are flat, the bends sharp.
    let told = summary(&tab, &[-12.0, 14.0, -12.0, 15.0, -12.0, 16.0, -12.0, 17.0]).lean.unwrap();
    assert_eq!((told.flat, told.sharp), (0, 4));
    assert!((told.median_cents - 15.5).abs() < 0.1, "{told:?}");
}

#[test]
fn the_weakest_is_what_landed_least_and_then_what_was_furthest_off() {
    // Landed and centred, landed and not centred, missed by little, missed by more.
    let told = summary(&["4", "-4", "5", "-5"], &[2.0, 15.0, 40.0, 45.0]);
    assert_eq!((told.tries, told.landed, told.centred), (4, 2, 1));
    assert_eq!(told.weakest.map(|way| way.hole), Some(5));
    assert_eq!(told.weakest.map(|way| way.breath), Some(layout::Breath::Draw), "45 cents are more than 40");
    // The distances are 2, 15, 40 and 45: the middle is 27.5.
    assert!((told.median_cents_off.unwrap() - 27.5).abs() < 0.1, "{told:?}");
    // What landed is never weaker than what did not, though it was less exact.
    assert_eq!(
        summary(&["4", "-4"], &[24.0, 26.0]).weakest.map(|way| way.breath),
        Some(layout::Breath::Draw)
    );
    // Of two tries at one item that landed once and two at another that never did, the second is weaker.
    let mut player = Player::at(&["4", "-4"], 2);
    for cents in [0.0, 44.0, 30.0, 31.0] {
        player.rest(0.3).play(1.3, cents).rest(0.3);
    }
    assert_eq!(player.session().summary().weakest.map(|way| way.breath), Some(layout::Breath::Draw));
    // One of three is less than one of two, though what missed there was further off.
    let drill = "title = 't'\nhold = 1\n[[item]]\nplay = '4'\ntries = 3\n[[item]]\nplay = '-4'\ntries = 2\n";
    let mut player = Player::with(drill);
    for cents in [0.0, 30.0, 30.0, 20.0, 60.0] {
        player.rest(0.3).play(1.3, cents).rest(0.3);
    }
    assert_eq!(player.session().summary().weakest.map(|way| way.breath), Some(layout::Breath::Blow));
}

/// Which breath and which technique went worst.
fn weakest(player: &Player) -> Option<(layout::Breath, layout::Technique)> {
    player.session().summary().weakest.map(|way| (way.breath, way.technique))
}

#[test]
fn what_was_centred_every_time_is_not_the_weakest_however_far_its_middle_is_off() {
    use layout::{Breath, Technique};
    // 9 and 9 cents are centred, 15 are not, though the middle of 15 and 1 is 8.
    let mut player = Player::at(&["4", "-4"], 2);
    for cents in [9.0, 9.0, 15.0, 1.0] {
        player.rest(0.3).play(1.3, cents).rest(0.3);
    }
    assert_eq!(weakest(&player), Some((Breath::Draw, Technique::Natural)));
    // The same of the two notes of a joined item.
    let mut player = Player::with("title = 't'\nhold = 0.5\ntries = 2\n[[item]]\nplay = \"-4 -4'\"\n");
    for (natural, bend) in [(9.0, 15.0), (9.0, 1.0)] {
        player.rest(0.3).play(0.7, natural).play(0.8, bend).rest(0.3);
    }
    assert_eq!(player.session().summary().landed, 4);
    assert_eq!(weakest(&player), Some((Breath::Draw, Technique::Bend(1))));
    // Of what was not tried yet nothing is known.
    let mut player = Player::at(&["4", "-4"], 1);
    player.rest(0.3).play(1.3, 15.0);
    assert_eq!(weakest(&player), Some((Breath::Blow, Technique::Natural)));
}

#[test]
fn what_landed_is_not_the_weakest_though_it_had_more_room() {
    // 24 cents off are in tune as usual; 20 are not where the drill asks for 15.
    let mut player =
        Player::with("title = 't'\nhold = 1\n[[item]]\nplay = '4'\n[[item]]\nplay = '-4'\nwithin = 15\n");
    for cents in [24.0, 20.0] {
        player.rest(0.3).play(1.3, cents).rest(0.3);
    }
    assert_eq!(weakest(&player).map(|(breath, _)| breath), Some(layout::Breath::Draw));
}

#[test]
fn another_harp_is_asked_about_where_every_note_is_off_by_the_same_interval() {
    let asked = |tab: &[&str], cents: &[f64]| {
        let mut player = Player::at(tab, 1);
        for cents in cents {
            player.rest(0.3).play(1.4, *cents).rest(0.3);
        }
        let keys = player.log.iter().filter_map(|event| match event {
            Event::OtherHarp(key) => Some(key.to_string()),
            _ => None,
        });
        keys.collect::<Vec<_>>()
    };
    let notes = ["4", "-4", "5", "-5"];
    // A half step flat: a B harp. A minor third sharp: an E♭ harp.
    assert_eq!(asked(&notes[..3], &[-99.0, -101.0, -100.0]), ["B"]);
    assert_eq!(asked(&notes[..3], &[299.0, 301.0, 300.0]).len(), 1);
    assert_eq!(asked(&notes[..2], &[200.0, 201.0]), [""; 0], "two are chance");
    // The misses lie within 20 cents of each other, and their mean within 20 cents of a whole number of half steps.
    assert_eq!(asked(&notes[..3], &[190.0, 200.0, 209.0]).len(), 1);
    assert_eq!(asked(&notes[..3], &[185.0, 200.0, 210.0]), [""; 0]);
    assert_eq!(asked(&notes[..3], &[250.0, 251.0, 249.0]), [""; 0], "between two keys");
    // One right note among them and it is this harp. Three of the last count.
    assert_eq!(asked(&notes, &[200.0, 0.0, 200.0, 201.0]), [""; 0]);
    assert_eq!(asked(&notes, &[0.0, 199.0, 200.0, 201.0]), ["D"]);
    // Who asks for 10 cents and is 15 off every time is out of tune on this very harp.
    let items = ["4", "-4", "5"].map(|tab| format!("[[item]]\nplay = '{tab}'\n")).concat();
    let mut player = Player::with(&format!("title = 't'\nhold = 1\nwithin = 10\n{items}"));
    for _ in 0..3 {
        player.rest(0.3).play(1.4, 15.0).rest(0.3);
    }
    assert_eq!((player.session().results().len(), player.session().summary().landed), (3, 0));
    assert!(!player.log.iter().any(|event| matches!(event, Event::OtherHarp(_))));
}

#[test]
fn where_a_drill_stands_is_told_by_its_places() {
    let mut player = Player::at(&["4", "-4", "5"], 1);
    let coming = |player: &Player| player.session().coming().count();
    assert_eq!((player.session().place(), player.session().note(), coming(&player)), (0, 0, 2));
    player.rest(0.3).play(1.3, 0.0).rest(0.3);
    assert_eq!((player.session().place(), coming(&player)), (1, 1));
    player.rest(0.3).play(1.3, 0.0).rest(0.3);
    assert_eq!((player.session().place(), coming(&player)), (2, 0));
    assert_eq!(player.session().order(), [0, 1, 2]);
    // The notes of a joined item are counted from nought.
    let mut player = Player::with("title = 't'\nhold = 0.5\n[[item]]\nplay = \"-4 -4'\"\n");
    assert_eq!(player.session().note(), 0);
    player.play(0.7, 0.0).is(Phase::Released);
    assert_eq!(player.session().note(), 1);
}

#[test]
fn what_is_on_is_told_and_what_is_free_is_not_judged() {
    let mut exercise = Exercise::new(harp(), Tolerance::default(), 48_000.0);
    assert!(!exercise.is_on() && exercise.free().is_none() && !exercise.wants_reeds());
    exercise.order(Order::PlayFreely);
    assert!(
        exercise.is_on() && exercise.free().is_some() && exercise.wants_reeds() && exercise.drill().is_none()
    );
    exercise.order(Order::Leave);
    assert!(!exercise.is_on() && exercise.free().is_none());
    let player = Player::at(&["4"], 1);
    assert!(player.exercise.is_on() && !player.exercise.wants_reeds());
}

#[test]
fn when_the_pitch_is_shown_has_a_name_and_a_sentence_each() {
    for feedback in Feedback::ALL {
        assert_eq!(feedback.to_string().parse(), Ok(feedback));
        assert!(feedback.about().starts_with("your pitch is shown"), "{}", feedback.about());
    }
    let refused = "never".parse::<Feedback>().unwrap_err().to_string();
    assert!(refused.contains("never") && refused.contains("always, fading, after"), "{refused}");
}
