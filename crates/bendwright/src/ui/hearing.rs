//! What the full screen listens to, and how that changes while it is open.

use crate::coach::Coach;
use crate::failure::Failure;
use crate::listener::{Listener, News};
use crate::setup::{From, Setup};
use crate::source::{self, BLOCK};
use layout::Harp;
use practice::{Drill, Event};
use screen::{App, Notice};
use sound::Pace;

/// The rate that is assumed until a source says its own, hertz.
const USUAL_RATE: f64 = 48_000.0;

/// The source in use, if any.
pub(super) struct Hearing {
    from: From,
    from_was_named: bool,
    listener: Option<Listener>,
    coach: Option<Coach>,
    rate: f64,
    /// Whether the listener has been asked to tell which reeds sound together.
    tells_reeds: bool,
}

impl Hearing {
    /// Nothing is open yet.
    pub(super) fn new(setup: &Setup) -> Self {
        Self {
            from: setup.from.clone(),
            from_was_named: setup.from_was_named,
            listener: None,
            coach: None,
            rate: USUAL_RATE,
            tells_reeds: false,
        }
    }

    /// Opens the microphone for the first screen, so that its level can be seen; other sources wait for a beginning.
    ///
    /// # Errors
    /// A recording that cannot be read ends the program now and not under the player's hands.
    pub(super) fn open_microphone(&mut self, setup: &Setup, app: &mut App) -> Result<(), Failure> {
        match self.from {
            From::Mic(_) => self.open(setup)?,
            From::Player => app.on_notice(&Notice::Player),
            From::File(ref path) => {
                source::open(&self.from, setup, Pace::InTime, BLOCK)?;
                app.on_notice(&Notice::Hearing(path.display().to_string()));
            }
        }
        Ok(())
    }

    /// Opens the source: from its beginning if it has one; a microphone that is open stays open. A device is opened by
    /// the listener, who tells how that went.
    ///
    /// # Errors
    /// If a recording cannot be opened, or the system gives no thread.
    pub(super) fn open(&mut self, setup: &Setup) -> Result<(), Failure> {
        if self.is_microphone() && self.listener.is_some() {
            return Ok(());
        }
        self.close();
        let (opening, coach) = source::opening(&self.from, setup, Pace::InTime, BLOCK);
        self.listener = Some(if self.is_microphone() {
            Listener::start(opening)?
        } else {
            let pipeline = opening()?;
            self.rate = pipeline.sample_rate();
            Listener::start(move || Ok(pipeline))?
        });
        self.coach = coach;
        Ok(())
    }

    /// The device could not be opened: an offer to use the built-in player, unless the device was named on the command
    /// line.
    ///
    /// # Errors
    /// The failure, where there is no offer to make.
    pub(super) fn missing(&mut self, failure: Failure, app: &mut App) -> Result<(), Failure> {
        self.close();
        if self.from_was_named {
            return Err(failure);
        }
        app.on_notice(&Notice::NoInput);
        Ok(())
    }

    /// Whether a device is listened to.
    pub(super) fn is_microphone(&self) -> bool {
        matches!(self.from, From::Mic(_))
    }

    /// Takes another source from the next opening on.
    pub(super) fn switch(&mut self, from: From) {
        self.close();
        self.from = from;
        self.from_was_named = false;
    }

    /// Closes a source that has a beginning; a microphone stays open.
    pub(super) fn rest(&mut self) {
        if !self.is_microphone() {
            self.close();
        }
    }

    fn close(&mut self) {
        self.coach = None;
        self.listener = None;
        self.tells_reeds = false;
    }

    /// Tells the ear which harp it hears.
    pub(super) fn take_harp(&mut self, harp: &Harp) {
        if let Some(listener) = &self.listener {
            listener.take_harp(source::known(harp));
        }
    }

    /// Asks to be told which reeds sound together as long as somebody wants to know.
    pub(super) fn tell_reeds(&mut self, wanted: bool) {
        if let Some(listener) = &self.listener
            && self.tells_reeds != wanted
        {
            listener.tell_reeds(wanted);
            self.tells_reeds = wanted;
        }
    }

    /// The next news, if there is any.
    pub(super) fn news(&self) -> Option<News> {
        self.listener.as_ref()?.next()
    }

    /// The sample rate in force, hertz.
    pub(super) fn sample_rate(&self) -> f64 {
        self.rate
    }

    /// The source came back at this rate.
    pub(super) fn set_sample_rate(&mut self, rate: f64) {
        self.rate = rate;
    }

    /// Whether the built-in player sounds.
    pub(super) fn is_player(&self) -> bool {
        self.coach.is_some()
    }

    /// Passes on to the built-in player what a drill asks for.
    pub(super) fn asked(&mut self, events: &[Event], drill: &Drill) {
        let Some(coach) = &mut self.coach else { return };
        for event in events {
            if let Event::Asked(item, _) = event
                && let Some(item) = drill.items.get(*item)
            {
                coach.asked(item.target.way, item.target.hold_s);
            }
        }
    }

    /// Stops what the built-in player is playing, if it is in use.
    pub(super) fn hush(&self) {
        if let Some(coach) = &self.coach {
            coach.hush();
        }
    }

    /// Lets the built-in player, if it is in use, play something of its own.
    pub(super) fn play_freely(&mut self, harp: &Harp) {
        if let Some(coach) = &mut self.coach {
            coach.play_freely(harp);
        }
    }
}
