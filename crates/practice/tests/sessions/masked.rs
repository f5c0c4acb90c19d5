//! What a drill says of a try during which the player may have been hidden by what the program itself sounds: nothing
//! against him.

use crate::player::Player;
use practice::Phase;
use scoring::{Outcome, Why};

/// From a moment this many seconds ago until now, the player was hidden.
fn hidden(player: &mut Player, seconds: f64) {
    let now = player.time + 1024;
    player.exercise.mask(now - (seconds * player.rate) as u64, now);
}

fn last(player: &Player) -> Outcome {
    player.session().results().last().unwrap().verdict.outcome
}

/// Played flat, too briefly, at another pitch, not at all, and in tune: each with the player hidden for so long within
/// the try.
fn tried(hidden_s: f64) -> Vec<Outcome> {
    let mut told = Vec::new();
    for (played, rest) in [
        (Some((1.6, -60.0)), 0.5),
        (Some((0.6, 0.0)), 0.5),
        (Some((1.6, 400.0)), 0.5),
        (None, 10.5),
        (Some((1.2, 0.0)), 0.5),
    ] {
        let mut player = Player::at(&["-4"], 3);
        player.rest(0.5);
        player.play(0.15, played.map(|(_, cents)| cents));
        hidden(&mut player, hidden_s);
        if let Some((seconds, cents)) = played {
            player.play(seconds - 0.15, cents);
        }
        player.rest(rest);
        told.push(last(&player));
        assert_eq!(player.session().attempt() == 1, player.session().results()[0].verdict.asks_again());
    }
    told
}

#[test]
fn what_went_wrong_while_the_player_may_have_been_hidden_is_not_told() {
    let words = |told: Vec<Outcome>| told.into_iter().map(Outcome::word).collect::<Vec<_>>();
    let open = ["flat", "let go early", "another note", "not heard", "landed"];
    assert_eq!(words(tried(0.0)), open);
    assert_eq!(words(tried(0.05)), open, "a moment hides no note");
    let masked = Outcome::CannotTell(Why::Masked);
    // A try of which nothing was heard for ten seconds is told as not heard all the same.
    assert_eq!(tried(0.2), [masked, masked, masked, Outcome::NotHeard(-20.0), Outcome::Landed]);
}

/// A hidden stretch before a try counts where it reaches up to the try: the note before may have gone on through it.
#[test]
fn a_note_that_was_hidden_is_no_new_one_behind_that() {
    let mut player = Player::at(&["-4", "-3'"], 1);
    player.rest(0.5).play(1.1, 0.0).check(&["began", "landed 0.1", "asked 1.1"]);
    // It goes on, and for 0.3 s nothing can be heard of it. In cents from 3 draw, bent by a half step, it is a major
    // third up.
    let four = Some(400.0);
    player.play(0.3, four).rest(0.3);
    hidden(&mut player, 0.3);
    player.play(1.5, four).rest(0.5);
    assert_eq!(last(&player), Outcome::CannotTell(Why::Masked));
    player.check(&["began", "cannot tell 1.1", "asked 1.1"]);
    // What is wrong later is told.
    player.play(1.5, four).rest(0.5).check(&["began", "another note 1.1"]);
}

/// Where it is not known how the sound comes back, what was heard is left out: that is no loss of sound.
#[test]
fn what_was_left_out_is_not_called_lost() {
    for (left_out, why) in [(true, Why::Masked), (false, Why::SamplesLost)] {
        let mut player = Player::at(&["-4"], 1);
        player.rest(0.5).play(0.4, 0.0).is(Phase::Playing);
        if left_out {
            let now = player.time + 1024;
            player.exercise.mask(now, now + 480);
        }
        player.press(practice::Exercise::gap);
        assert_eq!(last(&player), Outcome::CannotTell(why));
    }
}

/// A leak that was heard while the program sounded may be the program's.
#[test]
fn a_leak_that_may_be_the_programs_is_none() {
    use pitch::reeds::{Reed, Sounding, Voice};
    use scoring::reeds::Clean;
    for (hidden_s, clean) in [(0.0, Clean::Leaked(5, 10.0)), (0.3, Clean::CannotTell)] {
        let mut player = Player::with("title = 't'\nhold = 1\n[[item]]\nplay = '-4'\nclean = true\n");
        player.rest(0.5);
        for step in 0..120 {
            player.play(0.01, 0.0);
            let reed = |hole, level_dbfs| Voice {
                reed: Some(Reed { hole, draw: true }),
                bent: false,
                hz: 400.0,
                level_dbfs,
            };
            let sounding = Sounding::new(player.time, player.time + 1024, [reed(4, -20.0), reed(5, -30.0)]);
            player.press(|exercise| exercise.hear_reeds(&sounding));
            if step == 60 {
                hidden(&mut player, hidden_s);
            }
        }
        let tried = player.session().results()[0].clone();
        assert_eq!((tried.verdict.outcome, tried.clean), (Outcome::Landed, Some(clean)));
        assert_eq!(tried.has_landed(), hidden_s > 0.0);
        // The summary counts it as the try does.
        let summary = player.session().summary();
        assert_eq!((summary.tries, summary.landed), (1, usize::from(hidden_s > 0.0)));
    }
}
