//! What the commands do that work in every view.

use super::{Action, App};
use crate::keys::Command;
use crate::notice::Source;
use layout::{Harp, HarpKey, Tuning};
use practice::Exercise;

impl App {
    /// Does what is asked for; gives back what only the program around the screen can do.
    pub(super) fn act(&mut self, command: Command, exercise: &Exercise) -> Option<Action> {
        match command {
            Command::Quit => Some(Action::Quit),
            Command::Suspend => Some(Action::Suspend),
            _ if self.help.is_some() => {
                self.turn_page(command);
                None
            }
            Command::Help => {
                self.help = Some(0);
                None
            }
            Command::Leave => Some(self.desk.view.page().leave(&mut self.desk, exercise)),
            Command::Lower => other_harp(&self.desk.owned, exercise.harp(), false),
            Command::Higher => other_harp(&self.desk.owned, exercise.harp(), true),
            Command::Player => {
                let back = matches!(self.world.source, Source::Player | Source::Stopped(_));
                Some(if back { Action::UseMicrophone } else { Action::UsePlayer })
            }
            _ => self.desk.view.page().act(&mut self.desk, exercise, command),
        }
    }

    /// Scrolls the help page; any other key closes it and does nothing else.
    fn turn_page(&mut self, command: Command) {
        let most = self.help_page().map_or(0, |page| page.most_scrolled());
        self.help = match (command, self.help) {
            (Command::Up, Some(scrolled)) => Some(scrolled.saturating_sub(1)),
            (Command::Down, Some(scrolled)) => Some((scrolled + 1).min(most)),
            _ => None,
        };
    }
}

/// The next harp up or down, as far as harps go.
fn other_harp(owned: &[Harp], here: &Harp, up: bool) -> Option<Action> {
    let row = row_of_harps(owned, here.tuning());
    let now = row.iter().position(|(key, tuning)| *key == here.key() && *tuning == here.tuning())?;
    let next = if up { now.checked_add(1) } else { now.checked_sub(1) };
    let (key, tuning) = *row.get(next?)?;
    Some(Action::TakeHarp(key, tuning.clone()))
}

/// Key and tuning of the harps in the order in which the keys for another harp go through them: those that the player
/// owns from the lowest up, and after the last of them all others, which are tuned like the one in the hand.
fn row_of_harps<'a>(owned: &'a [Harp], tuning: &'a Tuning) -> Vec<(HarpKey, &'a Tuning)> {
    let owned: Vec<(HarpKey, &Tuning)> = owned.iter().map(|own| (own.key(), own.tuning())).collect();
    let others = HarpKey::all().map(|key| (key, tuning)).filter(|other| !owned.contains(other));
    let last = owned.last().map(|(key, _)| *key);
    // What lies above the last owned one comes next, so that going up goes on as before.
    let (below, above): (Vec<_>, Vec<_>) = others.partition(|(key, _)| Some(*key) <= last);
    owned.into_iter().chain(above).chain(below).collect()
}
