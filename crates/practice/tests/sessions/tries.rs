//! When a try begins and ends, and what is no try.

use crate::player::{HOP, Player, RATE, at, harp};
use layout::{Harp, HarpKey};
use practice::{Drill, Ending, Event, Exercise, Order, Phase};
use scoring::Tolerance;

#[test]
fn a_drill_from_end_to_end() {
    let mut player = Player::at(&["-3'", "-4'"], 2);
    player.is(Phase::Waiting).check(&[]);
    player.rest(0.5).play(0.5, 4.0).is(Phase::Playing).check(&["began"]);
    // The next try is asked for at once; what goes on sounding belongs to the one before.
    player.play(0.7, 4.0).is(Phase::Released).check(&["landed 0.1", "asked 0.2"]);
    player.rest(0.2).is(Phase::Waiting);
    player.play(1.2, 40.0).rest(0.2).check(&["began", "short 0.2", "asked 1.1"]);
    player.play(1.2, -55.0).rest(0.2).check(&["began", "past 1.1", "asked 1.2"]);
    // After the last verdict there is nothing to ask; it is shown for a while.
    player.play(0.6, 0.0).rest(0.5).check(&["began", "let go early 1.2"]).is(Phase::Judged);
    player.rest(1.5).check(&["done"]).is(Phase::Done);
    player.play(2.0, 0.0).check(&[]);
    let tried = player.session().results();
    assert_eq!(tried.len(), 4);
    // Half a second of rest, then the note; the verdict is known 1024 samples after the reading that decided.
    assert!(tried[0].began.samples.abs_diff(24_000) <= HOP, "{:?}", tried[0]);
    assert!(tried[0].ended.samples.abs_diff(72_000 + 1024) <= 4 * HOP, "{:?}", tried[0]);
}

#[test]
fn the_release_of_a_judged_note_is_no_try() {
    let mut player = Player::at(&["-4'", "-4", "-4'"], 1);
    player.play(1.2, 0.0).check(&["began", "landed 0.1", "asked 1.1"]);
    // Held on, wavering, and let rise to the natural note for half a second, which is what is asked for now.
    player.play(6.0, -100.0).play(0.5, -65.0).play(0.45, 0.0).is(Phase::Playing).rest(0.2).check(&[]);
    player.is(Phase::Waiting).play(1.2, 0.0).check(&["began", "landed 1.1", "asked 2.1"]);
    // The natural note sags by forty cents while the bend is asked for.
    player.play(3.0, 60.0).is(Phase::Released).check(&[]);
    // A breath of 0.05 s is no end unless the ear tells an onset.
    player.rest(0.05).play(0.3, 0.0).rest(0.1).check(&[]);
    player.play(1.2, 0.0).check(&["began", "landed 2.1"]);
}

#[test]
fn a_slur_into_what_is_asked_is_a_try() {
    let mut player = Player::at(&["-4", "-4'", "-5"], 1);
    player.play(1.2, 0.0).check(&["began", "landed 0.1", "asked 1.1"]);
    player.play(0.1, 60.0).play(1.2, 5.0).check(&["began", "landed 1.1", "asked 2.1"]);
    // Into another hole without a breath.
    player.play(1.2, 0.0).check(&["began", "landed 2.1"]);
    // A slur that ends too soon for the hold is a try once it is too long for a release.
    let mut player = Player::at(&["-4", "-4'"], 1);
    player.play(1.2, 0.0).play(0.8, 0.0).rest(0.5);
    player.check(&["began", "landed 0.1", "asked 1.1", "began", "let go early 1.1"]);
}

#[test]
fn a_correction_of_the_judged_note_is_a_try_only_if_it_is_another_note() {
    let mut player = Player::at(&["-3''"], 2);
    // Stopped at the half step, then bent on to the whole step that is asked for once more.
    player.play(1.2, 100.0).check(&["began", "short 0.1", "asked 0.2"]);
    player.play(1.2, 0.0).check(&["began", "landed 0.2"]);
    let mut player = Player::at(&["-3''"], 2);
    player.play(1.2, 40.0).check(&["began", "short 0.1", "asked 0.2"]);
    player.play(3.0, 0.0).is(Phase::Released).check(&[]);
}

#[test]
fn a_key_while_sounding_waits_for_a_new_sound() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(0.5, 0.0).check(&["began"]);
    player.order(Order::Next).check(&["asked 1.1"]);
    // Still hole 3: B♭4 is 300 cents below D♭5.
    player.play(2.0, -300.0).is(Phase::Released).check(&[]);
    player.rest(0.1).play(1.2, 0.0).check(&["began", "landed 1.1"]);
}

#[test]
fn skipping_and_trying_again() {
    let mut player = Player::at(&["-3'", "-4'", "-6'"], 2);
    player.order(Order::Next).check(&["asked 1.1"]);
    // Again before anything was played: the same try.
    player.order(Order::Again).check(&["asked 1.1"]);
    player.rest(0.2).play(1.2, 60.0).rest(0.2).check(&["began", "short 1.1", "asked 1.2"]);
    player.play(1.2, 0.0).rest(0.2).check(&["began", "landed 1.2", "asked 2.1"]);
    // Again after the last verdict of an item: one try more at it, and then the next item.
    player.order(Order::Again).check(&["asked 1.3"]);
    player.play(1.2, 0.0).rest(0.2).check(&["began", "landed 1.3", "asked 2.1"]);
    // Skipping leaves the tries that are left.
    player.play(1.2, 0.0).check(&["began", "landed 2.1", "asked 2.2"]);
    player.order(Order::Next).is(Phase::Done).check(&["done"]);
    player.order(Order::Next).check(&[]);
    // Once more after the end.
    player.order(Order::Again).is(Phase::Released).check(&["asked 2.3"]);
    player.rest(0.4).play(1.2, 0.0).rest(1.5).check(&["began", "landed 2.3", "done"]);
}

#[test]
fn again_in_the_middle_of_an_item_begins_it_afresh() {
    // While the second note sounds it is that one that is meant, and not the one that was judged before.
    let mut player = Player::at(&["-4", "-4'"], 1);
    player.play(1.2, 0.0).rest(0.2).play(0.4, 0.0);
    player.check(&["began", "landed 0.1", "asked 1.1", "began"]).order(Order::Again).check(&["asked 1.1"]);
    // Between the two notes of a joined item both are asked for once more.
    let mut player = Player::with("title = 't'\nhold = 0.5\n[[item]]\nplay = \"-4 -4'\"\n");
    player.play(0.7, 0.0).rest(0.3).check(&["began", "landed 0.1", "asked 0.1/1"]);
    player.order(Order::Again).check(&["asked 0.1"]);
}

/// A judged note that is bent for 0.4 s and let go again is its release and no try, whatever the player does next.
#[test]
fn a_slur_that_goes_back_leaves_nothing_behind() {
    let slurred = || {
        let mut player = Player::at(&["-4", "-4'"], 1);
        player.play(1.2, 0.0).check(&["began", "landed 0.1", "asked 1.1"]);
        // In cents from the bend the natural note is a half step up.
        player.play(0.4, 0.0).is(Phase::Playing).play(0.3, 100.0).is(Phase::Released).check(&[]);
        player
    };
    let live = slurred().session().live();
    assert!(live.sounding && live.held_s == 0.0 && live.reached_s.is_none(), "{live:?}");
    // Nothing has been played since the verdict: again means what was judged.
    slurred().order(Order::Again).check(&["asked 0.2"]);
    slurred().order(Order::Leave).check(&["left"]);
    slurred().press(Exercise::gap).check(&[]);
}

#[test]
fn a_pause_judges_nothing() {
    let mut player = Player::at(&["-3'"], 2);
    player.play(0.5, 0.0).check(&["began"]);
    player.order(Order::Pause).check(&["paused"]);
    player.is(Phase::Paused).play(3.0, 70.0).is(Phase::Paused).check(&[]);
    player.order(Order::Pause).check(&["asked 0.1"]);
    // Still sounding from before.
    player.is(Phase::Released).play(3.0, 70.0).check(&[]);
    player.rest(0.4).play(1.2, 0.0).check(&["began", "landed 0.1", "asked 0.2"]);
    player.rest(0.2).play(1.2, 0.0).check(&["began", "landed 0.2"]);
    // A pause while the last verdict is shown keeps it shown.
    player.order(Order::Pause).check(&["paused"]);
    player.rest(3.0).is(Phase::Paused).check(&[]);
    player.order(Order::Pause).check(&[]);
    player.is(Phase::Judged).rest(0.1).is(Phase::Done).check(&["done"]);
}

/// An item that is asked for ends the pause, so that none is asked for before.
#[test]
fn what_is_next_after_a_pause_is_asked_when_the_pause_is_over() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.order(Order::Pause).order(Order::Next).is(Phase::Paused).check(&["paused"]);
    player.order(Order::Pause).is(Phase::Waiting).check(&["asked 1.1"]);
}

#[test]
fn silence_uses_nothing_up() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.rest(10.2).check(&["not heard 0.1", "asked 0.1"]).is(Phase::Waiting);
    // From now on it waits for as long as it takes.
    player.rest(120.0).check(&[]).play(1.2, 0.0).rest(0.2).check(&["began", "landed 0.1", "asked 1.1"]);
    assert_eq!(player.session().summary().tries, 1);
    // Only what was not heard is waited for so long: the next item is given up like every other.
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.rest(10.2).order(Order::Next).check(&["not heard 0.1", "asked 0.1", "asked 1.1"]);
    player.rest(10.2).check(&["not heard 1.1", "asked 1.1"]);
}

#[test]
fn lost_samples_are_asked_again() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.rest(0.2).press(Exercise::gap).check(&[]);
    player.play(0.5, 0.0).check(&["began"]);
    player.press(Exercise::gap).check(&["cannot tell 0.1", "asked 0.1"]).is(Phase::Released);
    // The rest of the spoilt note counts for nothing.
    player.play(1.5, 0.0).rest(0.4).check(&[]);
    player.play(1.2, 0.0).check(&["began", "landed 0.1", "asked 1.1"]);
    // Lost samples after a verdict change nothing, but what sounds on is not known any more.
    player.press(Exercise::gap).check(&[]).is(Phase::Released).rest(0.3).is(Phase::Waiting).check(&[]);
}

#[test]
fn a_device_that_comes_back_at_another_rate_goes_on() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 0.0).rest(0.5).play(0.5, 0.0).check(&["began", "landed 0.1", "asked 1.1", "began"]);
    player.press(|exercise| exercise.restart(16_000.0)).check(&["cannot tell 1.1", "asked 1.1"]);
    (player.time, player.rate) = (0, 16_000.0);
    player.rest(0.5).play(0.9, 0.0).is(Phase::Playing).play(0.3, 0.0).check(&["began", "landed 1.1"]);
    // Again, with a verdict on show and the rate of before.
    player.press(|exercise| exercise.restart(48_000.0)).check(&[]);
    (player.time, player.rate) = (0, 48_000.0);
    player.rest(1.1).is(Phase::Judged).rest(0.3).check(&["done"]);
    assert_eq!(player.session().results().len(), 3);
}

#[test]
fn a_clock_that_starts_anew_unannounced_is_lost_samples() {
    let mut player = Player::at(&["-3'"], 1);
    player.rest(5.0).play(0.5, 0.0).check(&["began"]);
    player.time = 0;
    player.play(0.1, 0.0).check(&["cannot tell 0.1", "asked 0.1"]);
    player.rest(0.5).play(1.2, 0.0).check(&["began", "landed 0.1"]);
}

#[test]
fn who_leaves_early_is_told_so_once() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 0.0).order(Order::Leave).check(&["began", "landed 0.1", "asked 1.1", "left"]);
    player.is(Phase::Left);
    player.order(Order::Leave).rest(0.5).play(1.2, 0.0).check(&[]);
    assert_eq!(player.session().results().len(), 1);
    // Another harp ends a drill that was read for this one, and says which harp is in the hand now.
    let mut player = Player::at(&["-3'"], 1);
    let low = Harp::richter("low F".parse::<HarpKey>().unwrap());
    let said = player.exercise.order(Order::TakeHarp(Box::new(low.clone())));
    assert_eq!(said, [Event::Ended(Ending::Left), Event::TookHarp(Box::new(low.clone()))]);
    assert_eq!(player.exercise.harp(), &low);
}

#[test]
fn who_leaves_in_the_middle_of_a_try_is_told_which_it_was_and_when_it_had_begun() {
    let mut player = Player::at(&["-3'"], 1);
    player.rest(0.5).play(0.5, 0.0).order(Order::Leave);
    let began = player.log.iter().find_map(|event| match event {
        Event::Unfinished(_, began) => Some(began.samples),
        _ => None,
    });
    // Half a second of rest came before it.
    assert!(began.unwrap().abs_diff(24_000) <= HOP, "{began:?}");
    player.check(&["began", "unfinished 0.1", "left"]);
    // Before it has begun there is nothing to tell.
    Player::at(&["-3'"], 1).rest(0.5).order(Order::Leave).check(&["left"]);
}

#[test]
fn a_try_owns_what_it_says() {
    let mut player = Player::at(&["-3'"], 1);
    player.play(1.2, 4.0);
    let [tried] = player.session().results() else { panic!("one try") };
    assert_eq!((tried.drill.name.as_str(), tried.drill.title.as_str()), ("test", "test"));
    assert_eq!((&tried.harp, tried.way().to_string().as_str()), (&harp(), "half step on 3 draw"));
    assert_eq!((tried.asked.target.hold_s, tried.tolerance), (1.0, Tolerance::USUAL));
    assert_eq!(tried.clean, None, "the drill does not ask for that");
    let json = serde_json::to_value(tried).unwrap();
    assert_eq!(json["asked"]["target"]["hold_s"], 1.0);
    assert_eq!(json["ended"]["rate"], RATE);
    assert_eq!(json["verdict"]["outcome"], "Landed");
    assert_eq!(json["harp"]["tuning"]["name"], "Richter");
}

#[test]
fn drills_for_another_harp_or_for_none() {
    // Minor tunings bend less on some holes: what cannot be played is passed over.
    let text = "title = 't'\nhold = 1\n[[item]]\nplay = \"-3'''\"\n[[item]]\nplay = '4'\n[[item]]\nplay = \"-3'''\"\n";
    let drill = Drill::parse("t", text, &harp()).unwrap();
    let minor = layout::Tuning::new(
        "natural minor",
        &[0, 3, 7, 12, 15, 19, 24, 27, 31, 36],
        &[2, 7, 10, 14, 17, 21, 22, 26, 29, 33],
    )
    .unwrap();
    let minor = Harp::new(harp().key(), minor, harp().concert());
    let (mut exercise, _) = at(drill.clone(), minor);
    let session = exercise.session().unwrap();
    assert_eq!((session.item(), session.phase()), (1, Phase::Waiting));
    assert_eq!(exercise.order(Order::Next), [Event::Ended(Ending::Done)]);
    // Nothing to do at all.
    let (mut exercise, said) = at(Drill { items: vec![], ..drill }, harp());
    assert_eq!(said, [Event::Ended(Ending::Done)]);
    assert_eq!(exercise.session().unwrap().phase(), Phase::Done);
    assert_eq!(exercise.order(Order::Again), []);
}

#[test]
fn the_summary_says_what_to_practise_next() {
    let mut player = Player::at(&["-3'", "-4'", "-6'"], 1);
    assert_eq!(player.session().summary(), practice::Summary::default());
    for cents in [4.0, 44.0, -18.0] {
        player.rest(0.4).play(1.2, cents).rest(1.3);
    }
    let summary = player.session().summary();
    assert_eq!((summary.tries, summary.landed, summary.centred), (3, 2, 1));
    assert!((summary.median_cents_off.unwrap() - 18.0).abs() < 0.01);
    assert_eq!(summary.weakest.map(|way| way.to_string()).as_deref(), Some("half step on 4 draw"));

    // Everything landed: the one that was not centred. Everything centred: nothing.
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 3.0).rest(1.5);
    assert_eq!(player.session().summary().weakest, None);
    player.play(1.2, 15.0);
    assert_eq!(player.session().summary().weakest.map(|way| way.hole), Some(4));
    // A note somewhere else is the worst of all, but no figure near the target.
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(1.2, 40.0).rest(1.5).play(1.5, 500.0);
    let summary = player.session().summary();
    assert_eq!(summary.weakest.map(|way| way.hole), Some(4));
    assert!((summary.median_cents_off.unwrap() - 40.0).abs() < 0.01);
}

#[test]
fn the_live_state_shows_what_sounds() {
    let mut player = Player::at(&["-3'", "-4'"], 1);
    player.play(0.5, 12.0);
    let live = player.session().live();
    assert!(live.sounding && (live.cents_off.unwrap() - 12.0).abs() < 1e-6 && live.held_s > 0.4);
    assert_eq!(live.reached_s, Some(0.0));
    // After the verdict the pitch goes on being shown, against what is asked for now; nothing is held for it.
    player.play(1.0, 12.0);
    let live = player.session().live();
    // D♭5 is asked for, B♭4 and 12 cents sound.
    assert!(live.sounding && (live.cents_off.unwrap() + 288.0).abs() < 0.1 && live.held_s == 0.0, "{live:?}");
    player.rest(0.2);
    assert_eq!(player.session().live(), scoring::Live::default());
    // The figures of the last try stay with its verdict.
    player.play(1.2, 12.0);
    let live = player.session().live();
    assert!(live.sounding && live.cents_off.is_some() && (1.0..1.05).contains(&live.held_s), "{live:?}");
}
