//! What each command does in each view.

use super::{Action, App, View};
use crate::keys::{Command, Dial};
use crate::mapping::turned;
use crate::notice::Source;
use layout::{Breath, Harp, HarpKey, ReedCents};

impl App {
    /// Does what is asked for; gives back what only the program around the screen can do.
    pub(super) fn act(&mut self, command: Command) -> Option<Action> {
        match command {
            Command::Quit => return Some(Action::Quit),
            Command::Suspend => return Some(Action::Suspend),
            _ if self.help.is_some() => self.turn_page(command),
            Command::Help => self.help = Some(0),
            Command::Leave => return Some(self.leave()),
            Command::Up | Command::Down => self.choose(command == Command::Up),
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
            Command::Map => self.map(),
            Command::Turn(dial, forward) => return self.turn(dial, forward),
            Command::Chord | Command::Run | Command::HearChord => return self.on_map(command),
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

    /// Moves through the list of drills, or from note to note of the map.
    fn choose(&mut self, up: bool) {
        let last = self.setup.drills.len().saturating_sub(1);
        match &mut self.view {
            View::Home if up => self.chosen = self.chosen.saturating_sub(1),
            View::Home => self.chosen = (self.chosen + 1).min(last),
            View::Map(map) => map.step_note(up),
            View::Drill(_) | View::Listen(_) | View::Summary(_) => {}
        }
    }

    /// Turns a dial of the map; in free playing there is only the position.
    fn turn(&mut self, dial: Dial, forward: bool) -> Option<Action> {
        let View::Map(map) = &mut self.view else {
            self.position = turned(self.position, forward);
            return None;
        };
        let harp = map.turn(dial, forward, &self.setup.harp);
        self.position = map.position();
        self.setup.harp = harp?;
        Some(Action::SetReeds)
    }

    /// What only the map knows.
    fn on_map(&mut self, command: Command) -> Option<Action> {
        let View::Map(map) = &mut self.view else { return None };
        let run = match command {
            Command::Chord => {
                map.step_chord();
                return None;
            }
            Command::HearChord => vec![map.chord()?.hz(&self.setup.harp)],
            _ => map.run(&self.setup.harp),
        };
        Some(Action::HearRun(run))
    }

    /// From a drill to its summary if anything was tried, from anywhere else to the first screen, from there out.
    fn leave(&mut self) -> Action {
        match &self.view {
            View::Home => return Action::Quit,
            View::Drill(session) if !session.results().is_empty() => self.finish(),
            View::Drill(_) | View::Listen(_) | View::Summary(_) | View::Map(_) => self.view = View::Home,
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

    /// Takes the next harp up or down, as far as harps go; it is tuned as this one is.
    fn take_harp(&mut self, steps: i32) -> Option<Action> {
        let harp = &self.setup.harp;
        let wanted = HarpKey::from_blow_1(harp.key().blow_1().up(steps)?);
        let key = HarpKey::all().find(|key| *key == wanted)?;
        let cents = |breath| (1..=harp.holes()).map(|hole| harp.reed_cents(hole, breath)).collect();
        let reed_cents = ReedCents { blow: cents(Breath::Blow), draw: cents(Breath::Draw) };
        self.setup.harp = Harp::new(key, harp.tuning().clone(), harp.concert()).with_reed_cents(reed_cents);
        if let View::Map(map) = &mut self.view {
            map.rebuild(&self.setup.harp);
        }
        Some(Action::SetHarp(key))
    }

    /// The note asked for by a drill, or looked at on the map.
    fn hear_target(&self) -> Option<Action> {
        let harp = &self.setup.harp;
        if let View::Map(map) = &self.view {
            let note = &map.note()?.note;
            return Some(Action::Hear(note.simplest().and_then(|way| harp.hz(way))?));
        }
        let session = self.session()?;
        let target = session.drill().items.get(session.item())?.target;
        Some(Action::Hear(harp.hz(target.way)? * (target.cents / 1200.0).exp2()))
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
