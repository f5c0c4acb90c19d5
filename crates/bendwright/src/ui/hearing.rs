//! What the full screen listens to, and how that changes while it is open.

use crate::coach::Coach;
use crate::failure::Failure;
use crate::listener::{Listener, News};
use crate::setup::{From, Setup};
use crate::source::{self, BLOCK};
use layout::Harp;
use screen::{App, Notice};
use sound::Pace;

/// The rate that is assumed until a source says its own, hertz.
pub(super) const USUAL_RATE: f64 = 48_000.0;

/// The source in use, if any.
pub(super) struct Hearing {
    from: From,
    from_was_named: bool,
    listener: Option<Listener>,
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
            tells_reeds: false,
        }
    }

    /// Whether the source is opened for the first screen: a microphone, so that its level can be seen. Other sources wait
    /// for a beginning.
    ///
    /// # Errors
    /// A recording that cannot be read ends the program now and not under the player's hands.
    pub(super) fn opens_at_once(&self, setup: &Setup, app: &mut App) -> Result<bool, Failure> {
        match &self.from {
            From::Mic(_) => return Ok(true),
            From::Player => app.on_notice(&Notice::Player),
            From::File(path) => {
                source::open(&self.from, setup, Pace::InTime, BLOCK)?;
                app.on_notice(&Notice::Hearing(path.display().to_string()));
            }
        }
        Ok(false)
    }

    /// Opens the source for this harp, from its beginning if it has one; gives the built-in player, if that is who plays,
    /// and the sample rate. A microphone that is open stays open. A device is opened by the listener, who tells how that
    /// went and at which rate.
    ///
    /// # Errors
    /// If a recording cannot be opened, or the system gives no thread.
    pub(super) fn open(
        &mut self,
        setup: &Setup,
        harp: &Harp,
    ) -> Result<Option<(Option<Coach>, f64)>, Failure> {
        if self.is_microphone() && self.listener.is_some() {
            return Ok(None);
        }
        self.close();
        let (opening, coach) = source::opening(&self.from, (setup, harp), Pace::InTime, BLOCK);
        if self.is_microphone() {
            self.listener = Some(Listener::start(opening)?);
            return Ok(Some((None, USUAL_RATE)));
        }
        let pipeline = opening()?;
        let rate = pipeline.sample_rate();
        self.listener = Some(Listener::start(move || Ok(pipeline))?);
        Ok(Some((coach, rate)))
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
}
