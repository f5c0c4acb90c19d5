//! What is shown beside the ranking: the second position, and a minor blues.

use super::Ranked;
use super::song::Asked;
use theory::{Choice, Feel, Position, Song, choose, usual_harps};

/// Choices beside the ranking.
#[derive(Default)]
pub(super) struct Beside {
    /// The second position, where another won, and why it is not the first.
    pub(super) second: Option<(Choice, Vec<String>)>,
    /// For a blues of which it is not said whether it is minor: the best choice if it is.
    pub(super) minor_blues: Option<Choice>,
}

impl Beside {
    pub(super) fn new(asked: &Asked, ranked: &Ranked<'_>) -> Self {
        Self { second: second(&asked.song, ranked), minor_blues: minor_blues(asked, ranked) }
    }
}

/// The best second position among the harps asked for, or if there is none among them, of the harps in the tuning of
/// the player's harp.
fn second(song: &Song, ranked: &Ranked<'_>) -> Option<(Choice, Vec<String>)> {
    let is_second = |choice: &&Choice| Some(choice.position) == Position::new(2);
    let best = ranked.choices.first().filter(|best| !is_second(best))?;
    let asked_for = ranked.choices.iter().find(is_second).cloned();
    let second = asked_for.or_else(|| {
        let harps = usual_harps(&ranked.setup.library.tunings, ranked.setup.harp.concert());
        let tuning = ranked.setup.harp.tuning();
        let harps: Vec<_> = harps.into_iter().filter(|harp| harp.tuning() == tuning).collect();
        choose(song, &harps, &ranked.ability).iter().find(is_second).cloned()
    })?;
    let owned = ranked.harps.contains(&second.harp);
    let mut why = second.behind(best, &ranked.setup.tab);
    if !owned {
        why.insert(0, "not among the harps counted here".to_owned());
    }
    Some((second, why))
}

fn minor_blues(asked: &Asked, ranked: &Ranked<'_>) -> Option<Choice> {
    if asked.feel_is_known || !asked.song.is_blues() {
        return None;
    }
    let song = Song { feel: Some(Feel::Minor), ..asked.song.clone() };
    choose(&song, &ranked.harps, &ranked.ability).into_iter().next()
}
