//! What the commands do that work in every view.

use super::{Action, App};
use crate::keys::Command;
use crate::notice::Source;
use layout::{Harp, HarpKey};
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
            Command::Lower => other_key(exercise.harp(), -1),
            Command::Higher => other_key(exercise.harp(), 1),
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
fn other_key(harp: &Harp, steps: i32) -> Option<Action> {
    let wanted = HarpKey::from_blow_1(harp.key().blow_1().up(steps)?);
    HarpKey::all().find(|key| *key == wanted).map(Action::TakeKey)
}
