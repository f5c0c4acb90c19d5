//! When it is shown how a try goes.

use crate::player::Player;
use practice::{Feedback, Order};
use scoring::Outcome;

/// Plays a try in tune and says, while it sounded and when it was over, what may be shown: whether it is live, and how
/// many are told.
fn tried(player: &mut Player) -> (bool, usize) {
    player.rest(0.4).play(0.3, 2.0);
    let live = player.session().shows_live();
    player.play(1.0, 2.0).rest(0.2);
    (live, player.session().told().len())
}

fn shown(feedback: Feedback, tries: usize) -> (String, Vec<usize>) {
    let mut player = Player::at(&["-4"], 20);
    player.order(Order::TakeFeedback(feedback));
    let all: Vec<(bool, usize)> = (0..tries).map(|_| tried(&mut player)).collect();
    assert_eq!(player.session().results().len(), tries);
    (
        all.iter().map(|(live, _)| if *live { 'x' } else { '.' }).collect(),
        all.iter().map(|(_, told)| *told).collect(),
    )
}

#[test]
fn the_display_is_always_on_or_off_until_the_verdict() {
    assert_eq!(shown(Feedback::Always, 3), ("xxx".to_owned(), vec![1, 2, 3]));
    assert_eq!(shown(Feedback::After, 3), ("...".to_owned(), vec![1, 2, 3]));
}

#[test]
fn fading_feedback_goes_from_every_try_to_every_second_and_to_a_summary() {
    let (live, told) = shown(Feedback::Fading, 19);
    assert_eq!(live, "xxxxx.x.x.x.x.x....");
    assert_eq!(told[..15], (1..=15).collect::<Vec<_>>()[..]);
    assert_eq!(told[15..], [15, 15, 15, 15]);
}

/// So that it can be told later with which feedback a try was played.
#[test]
fn each_try_keeps_the_feedback_that_was_chosen_for_it() {
    let mut player = Player::at(&["-4"], 20);
    for feedback in Feedback::ALL {
        player.order(Order::TakeFeedback(feedback));
        assert_eq!(player.session().feedback(), feedback);
        tried(&mut player);
    }
    let kept: Vec<Feedback> = player.session().results().iter().map(|tried| tried.feedback).collect();
    assert_eq!(kept, Feedback::ALL);
}

/// The last try ends the drill: then everything is told, whether five were together or not.
#[test]
fn at_the_end_every_try_is_told() {
    for (tries, press) in [(18, true), (20, false)] {
        let mut player = Player::at(&["-4"], 20);
        player.order(Order::TakeFeedback(Feedback::Fading));
        for _ in 0..tries {
            tried(&mut player);
        }
        if press {
            assert_eq!((player.session().told().len(), player.session().untold()), (15, 3));
            player.order(Order::Leave);
        }
        assert_eq!((player.session().told().len(), player.session().untold()), (tries, 0));
    }
}

/// What counts neither way does not move on from one stage to the next.
#[test]
fn a_try_that_cannot_be_told_counts_for_nothing() {
    let mut player = Player::at(&["-4"], 20);
    player.order(Order::TakeFeedback(Feedback::Fading));
    for _ in 0..16 {
        tried(&mut player);
    }
    player.rest(0.4).play(0.2, 60.0).rest(0.6);
    let last = player.session().results().last().unwrap().verdict.outcome;
    assert!(matches!(last, Outcome::CannotTell(_)), "{last:?}");
    assert_eq!((player.session().results().len(), player.session().told().len()), (17, 15));
    assert_eq!(player.exercise.feedback(), Feedback::Fading, "it holds for the drills to come");
}
