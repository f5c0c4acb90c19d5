//! What the commands do that work in every view.

use super::{Action, App};
use crate::desk::step;
use crate::keys::{Command, Dial};
use crate::notice::Source;
use crate::prompt::{Asks, Prompt};
use crate::{Notice, View, words};
use layout::{Harp, HarpKey, Tuning};
use practice::run::RunPhase;
use practice::{Exercise, Order};
use scoring::Tolerance;

impl App {
    /// Does what is asked for; gives back what only the program around the screen can do.
    pub(super) fn act(&mut self, command: Command, exercise: &Exercise) -> Option<Action> {
        let answered = self.desk.asks.take();
        // Whoever presses a key while a result is shown wants to look at it.
        self.desk.day.wait();
        match command {
            Command::Quit => Some(Action::Quit),
            Command::Suspend => Some(Action::Suspend),
            _ if self.help.is_some() => {
                self.turn_page(command);
                None
            }
            Command::Help => {
                self.help = Some(0);
                // Nobody reads the page while a run goes on behind it.
                let goes = exercise.running().is_some_and(|running| {
                    matches!(running.phase(), RunPhase::CountIn | RunPhase::Playing | RunPhase::Shown)
                });
                goes.then_some(Action::Order(Order::Pause))
            }
            Command::Leave => Some(self.desk.view.page().leave(&mut self.desk, exercise)),
            Command::Lower | Command::Higher => {
                let (key, tuning) =
                    other_harp(&self.desk.owned, exercise.harp(), command == Command::Higher)?;
                if self.desk.view != View::Drill {
                    return Some(Action::TakeHarp(key, tuning));
                }
                self.ask((command, words::anew_on(key)), answered.as_ref())?;
                let harp = Harp::new(key, tuning.clone(), exercise.harp().concert());
                let drill = self.desk.drill_for(&harp, exercise.drill()?)?;
                Some(Action::BeginAnew(key, tuning, Box::new(drill)))
            }
            Command::Turn(Dial::Position, forward) if self.desk.view == View::Drill => {
                let Some(position) = self.desk.other_position(exercise.drill()?, forward) else {
                    self.world.hear(&Notice::Say(words::SAME_HOLES.to_owned()));
                    return None;
                };
                self.ask((command, format!("begin anew in {position}")), answered.as_ref())?;
                let drill = self.desk.drill_beside(forward, exercise.harp())?;
                Some(Action::Order(Order::Drill(Box::new(drill))))
            }
            Command::Remark => {
                self.desk.prompt = Some(Prompt::new(Asks::Remark, ""));
                None
            }
            Command::HandOver => {
                self.desk.prompt = Some(Prompt::new(Asks::Player, &self.desk.gave));
                None
            }
            Command::Feedback => {
                let feedback = exercise.feedback().next();
                self.world.hear(&Notice::Say(format!("{feedback}: {}", feedback.about())));
                Some(Action::Order(Order::TakeFeedback(feedback)))
            }
            Command::Wider | Command::Narrower => self.other_tolerance(command == Command::Wider, exercise),
            Command::Player => {
                let back = matches!(self.world.source, Source::Player | Source::Stopped(_));
                Some(if back { Action::UseMicrophone } else { Action::UsePlayer })
            }
            _ => self.desk.view.page().act(&mut self.desk, exercise, command),
        }
    }

    /// Asks before a drill that is going on is lost: the first press of a key asks, the next one is the answer.
    fn ask(&mut self, question: (Command, String), answered: Option<&(Command, String)>) -> Option<()> {
        if answered == Some(&question) {
            return Some(());
        }
        self.desk.asks = Some(question);
        None
    }

    /// Takes the next tolerance, and says it.
    fn other_tolerance(&mut self, wider: bool, exercise: &Exercise) -> Option<Action> {
        let now = exercise.tolerance();
        let own_centred = *self.desk.own_centred.get_or_insert(now.centred_cents);
        let in_tune = if wider {
            STEPS_CENTS.into_iter().find(|cents| *cents > now.in_tune_cents)
        } else {
            STEPS_CENTS.into_iter().rev().find(|cents| *cents < now.in_tune_cents)
        }?;
        let tolerance = Tolerance::new(own_centred.min((in_tune / 2.0).floor()), in_tune).ok()?;
        let mut said = words::tolerance(tolerance);
        let session = exercise.session().filter(|_| self.desk.view == View::Drill);
        if session.is_some_and(|session| session.tolerance() != now) {
            said.push_str("; the note asked for keeps that of its drill");
        }
        self.world.hear(&Notice::Say(said));
        Some(Action::Order(Order::TakeTolerance(tolerance)))
    }

    /// Scrolls the help page; any other key closes it and does nothing else.
    fn turn_page(&mut self, command: Command) {
        let places = self.help_page().map_or(0, |page| page.places(self.area));
        let scrolls = matches!(
            command,
            Command::Up
                | Command::Down
                | Command::PageUp
                | Command::PageDown
                | Command::First
                | Command::Last
        );
        self.help = self.help.filter(|_| scrolls).map(|now| step(command, now, places, self.desk.page()));
    }
}

/// The tolerances to choose from, cents either side that count as in tune: from the expert's to one for the first
/// bends. Our own choice; [`Tolerance`] tells where the middle ones come from.
const STEPS_CENTS: [f64; 5] = [10.0, 15.0, 20.0, 25.0, 35.0];

/// The next harp up or down, as far as harps go.
fn other_harp(owned: &[Harp], here: &Harp, up: bool) -> Option<(HarpKey, Tuning)> {
    let row = row_of_harps(owned, here.tuning());
    let now = row.iter().position(|(key, tuning)| *key == here.key() && *tuning == here.tuning())?;
    let next = if up { now.checked_add(1) } else { now.checked_sub(1) };
    let (key, tuning) = *row.get(next?)?;
    Some((key, tuning.clone()))
}

/// Key and tuning of the harps in the order in which the keys for another harp go through them: those that the player
/// owns from the lowest up, and after the last of them all others, which are tuned like the one in the hand.
fn row_of_harps<'a>(owned: &'a [Harp], tuning: &'a Tuning) -> Vec<(HarpKey, &'a Tuning)> {
    let owned: Vec<(HarpKey, &Tuning)> = owned.iter().map(|own| (own.key(), own.tuning())).collect();
    let others = HarpKey::all().map(|key| (key, tuning)).filter(|other| !owned.contains(other));
    let last = owned.last().map(|(key, _)| *key);
    // Harps above the last owned one come next, so that each step up still leads to a higher harp.
    let (below, above): (Vec<_>, Vec<_>) = others.partition(|(key, _)| Some(*key) <= last);
    owned.into_iter().chain(above).chain(below).collect()
}
