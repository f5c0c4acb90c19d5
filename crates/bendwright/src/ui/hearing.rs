//! What the full screen listens to, and how that changes while it is open.

use crate::coach::Coach;
use crate::failure::Failure;
use crate::input::Input;
use crate::listener::{Listener, News};
use crate::pipeline::{Expected, Sounded};
use crate::setup::{HearFrom, Setup};
use crate::source::{self, BLOCK};
use layout::Harp;
use practice::jam::JamPlan;
use practice::run::{Plan, StartAt};
use screen::{App, Notice};
use sound::Pace;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::SyncSender;

/// The rate that is assumed until a source says its own, hertz.
pub(super) const USUAL_RATE: f64 = 48_000.0;

/// What wakes the thread that draws: one call for all the news that came since it looked last, so that news cannot
/// crowd out the keys.
#[derive(Clone)]
pub(super) struct Wake {
    inputs: SyncSender<Input>,
    called: Arc<AtomicBool>,
}

impl Wake {
    /// Wakes by an [`Input::Heard`].
    pub(super) fn by(inputs: SyncSender<Input>) -> Self {
        Self { inputs, called: Arc::default() }
    }

    /// What the listener calls.
    fn call(&self) -> impl Fn() + Send + use<> {
        let Self { inputs, called } = self.clone();
        move || {
            // A queue that is full wakes its reader as well.
            if !called.swap(true, Ordering::AcqRel) && inputs.try_send(Input::Heard).is_err() {
                called.store(false, Ordering::Release);
            }
        }
    }

    /// The news is about to be read.
    fn answered(&self) {
        self.called.store(false, Ordering::Release);
    }
}

/// The source in use, if any.
pub(super) struct Hearing {
    from: HearFrom,
    from_was_named: bool,
    listener: Option<Listener>,
    /// Wakes the thread that draws.
    wake: Wake,
    /// What a microphone is not to hear.
    sounded: Sounded,
    /// Whether the listener has been asked to tell which reeds sound together.
    tells_reeds: bool,
}

impl Hearing {
    /// Nothing is open yet. A microphone will not hear what the program itself sounds, `sounded`.
    pub(super) fn new(setup: &Setup, wake: Wake, sounded: Sounded) -> Self {
        Self {
            from: setup.from.clone(),
            from_was_named: setup.from_was_named,
            listener: None,
            wake,
            sounded,
            tells_reeds: false,
        }
    }

    /// Whether the source is opened for the first screen: a microphone, so that its level can be seen. Other sources
    /// wait for a beginning.
    ///
    /// # Errors
    /// A recording that cannot be read ends the program now and not under the player's hands.
    pub(super) fn opens_at_once(&self, setup: &Setup, app: &mut App) -> Result<bool, Failure> {
        match &self.from {
            HearFrom::Mic(_) => return Ok(true),
            HearFrom::Player => app.on_notice(&Notice::Player),
            HearFrom::File(path) => {
                source::open(&self.from, setup, Pace::InTime, BLOCK)?;
                app.on_notice(&Notice::Recording(path.display().to_string()));
            }
        }
        Ok(false)
    }

    /// Opens the source for this harp, from its beginning if it has one; gives the built-in player, if that is who
    /// plays, and the sample rate. A microphone that is open stays open. A device is opened by the listener, who tells
    /// how that went and at which rate.
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
            let sounded = self.sounded.clone();
            let opening = move || Ok(opening()?.without(sounded));
            self.listener = Some(Listener::start(opening, self.wake.call())?);
            return Ok(Some((None, USUAL_RATE)));
        }
        let pipeline = opening()?;
        let rate = pipeline.sample_rate();
        self.listener = Some(Listener::start(move || Ok(pipeline), self.wake.call())?);
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

    /// Where the sound comes from.
    pub(super) fn from(&self) -> &HearFrom {
        &self.from
    }

    /// Whether a device is listened to.
    pub(super) fn is_microphone(&self) -> bool {
        matches!(self.from, HearFrom::Mic(_))
    }

    /// Whether a recording is listened to.
    pub(super) fn is_recording(&self) -> bool {
        matches!(self.from, HearFrom::File(_))
    }

    /// A plan of runs as it suits this source: the built-in player hears the beat as it is made, the delay of a
    /// microphone is told when it is known, and a recording begins where it likes and is played through once.
    pub(super) fn suit(&self, plan: Plan) -> Plan {
        let counted = match plan.start {
            StartAt::FreeTime => StartAt::FreeTime,
            StartAt::CountIn | StartAt::FirstNote | StartAt::At(_) => StartAt::CountIn,
        };
        match (&self.from, plan.start) {
            (HearFrom::Player, _) => Plan { start: counted, delay_s: Some(0.0), ..plan },
            (HearFrom::Mic(_), _) => Plan { start: counted, delay_s: None, ..plan },
            (HearFrom::File(_), StartAt::CountIn) => {
                Plan { start: StartAt::FirstNote, runs: 1, delay_s: None, ..plan }
            }
            (HearFrom::File(_), _) => Plan { runs: 1, delay_s: None, ..plan },
        }
    }

    /// A plan of a jam as it suits this source.
    pub(super) fn suit_jam(&self, plan: JamPlan) -> JamPlan {
        let (start, delay_s) = match (&self.from, plan.start) {
            (HearFrom::Player, _) => (StartAt::CountIn, Some(0.0)),
            (HearFrom::Mic(_), _) => (StartAt::CountIn, None),
            (HearFrom::File(_), StartAt::CountIn) => (StartAt::FirstNote, None),
            (HearFrom::File(_), start) => (start, None),
        };
        JamPlan { start, delay_s, ..plan }
    }

    /// Takes another source from the next opening on.
    pub(super) fn switch(&mut self, from: HearFrom) {
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

    /// Says that a click is sounded, and may come back.
    pub(super) fn expect(&self, click: Expected) {
        if let Some(listener) = &self.listener {
            listener.expect(click);
        }
    }

    /// Says that the news is about to be read.
    pub(super) fn answer(&self) {
        self.wake.answered();
    }

    /// The listener has stopped. The next drill opens the source anew.
    pub(super) fn stopped(&mut self) {
        self.close();
    }

    /// The next news, if there is any.
    pub(super) fn news(&self) -> Option<News> {
        self.listener.as_ref()?.next()
    }
}
