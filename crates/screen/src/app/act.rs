//! What each command does in each view.

use super::{Action, App, View};
use crate::keys::Command;
use crate::notice::Source;
use crate::scale;
use layout::{Harp, HarpKey};

impl App {
    /// Does what is asked for; gives back what only the program around the screen can do.
    pub(super) fn act(&mut self, command: Command) -> Option<Action> {
        match command {
            Command::Quit => return Some(Action::Quit),
            Command::Suspend => return Some(Action::Suspend),
            _ if self.help.is_some() => self.turn_page(command),
            Command::Help => self.help = Some(0),
            Command::Leave => return Some(self.leave()),
            Command::Up | Command::Down => self.choose(command),
            Command::Lower => return self.take_harp(-1),
            Command::Higher => return self.take_harp(1),
            Command::Start => return self.start(),
            Command::Listen => {
                self.listen();
                return Some(Action::Listen);
            }
            Command::Player => {
                let plays = self.world.source == Source::Player;
                return Some(if plays { Action::UseMicrophone } else { Action::UsePlayer });
            }
            Command::Position => self.position = self.position % 12 + 1,
            Command::Hear => return self.hear_target(),
            Command::Pause | Command::Again | Command::Next => self.steer(command),
        }
        None
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

    /// Moves through the list of drills.
    fn choose(&mut self, command: Command) {
        let last = self.setup.drills.len().saturating_sub(1);
        self.chosen = match (&self.view, command) {
            (View::Home, Command::Up) => self.chosen.saturating_sub(1),
            (View::Home, Command::Down) => (self.chosen + 1).min(last),
            _ => self.chosen,
        };
    }

    /// From a drill to its summary if anything was tried, from anywhere else to the first screen, from there out.
    fn leave(&mut self) -> Action {
        match &self.view {
            View::Home => return Action::Quit,
            View::Drill(session) if !session.results().is_empty() => self.finish(),
            View::Drill(_) | View::Listen(_) | View::Summary(_) => self.view = View::Home,
        }
        Action::Home
    }

    fn start(&self) -> Option<Action> {
        let name = match &self.view {
            View::Summary(session) => session.drill().name.clone(),
            _ => self.setup.drills.get(self.chosen)?.name.clone(),
        };
        Some(Action::StartDrill(name))
    }

    /// Takes the next harp up or down, as far as harps go.
    fn take_harp(&mut self, steps: i32) -> Option<Action> {
        let harp = &self.setup.harp;
        let wanted = HarpKey::from_blow_1(harp.key().blow_1().up(steps)?);
        let key = HarpKey::all().find(|key| *key == wanted)?;
        self.setup.harp = Harp::new(key, harp.tuning().clone(), harp.concert());
        Some(Action::SetHarp(key))
    }

    fn hear_target(&self) -> Option<Action> {
        let session = self.session()?;
        let target = session.drill().items.get(session.item())?.target;
        let number = scale::number_of(&self.setup.harp, target.way)? + target.cents / 100.0;
        Some(Action::Hear(self.setup.harp.concert().a4_hz() * ((number - 69.0) / 12.0).exp2()))
    }

    /// Passes a command on to the drill.
    fn steer(&mut self, command: Command) {
        let View::Drill(session) = &mut self.view else { return };
        let events = match command {
            Command::Next => session.skip(),
            Command::Again => session.again(),
            _ => {
                session.toggle_pause();
                Vec::new()
            }
        };
        self.take(events);
    }
}
