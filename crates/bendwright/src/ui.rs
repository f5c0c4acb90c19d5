//! The full screen: keys and news in, pictures out.

mod hearing;
mod tones;

use crate::failure::Failure;
use crate::listener::News;
use crate::pipeline::Heard;
use crate::setup::{From, Setup};
use crate::signals::Signals;
use crate::terminal::{self, FullScreen};
use crate::{catalogue, fault, stderr, words};
use hearing::Hearing;
use practice::{Drill, Event};
use ratatui::crossterm::event::{self, Event as Input};
use screen::keys::KeyMap;
use screen::{Action, App, DrillEntry, Glyphs, Look, Notice, Theme};
use sound::FeedEvent;
use std::io::{self, Write};
use std::time::{Duration, Instant};
use tones::Tones;

/// At most 60 pictures a second.
const FRAME: Duration = Duration::from_micros(16_667);

/// What the player sees first.
pub(crate) enum Start {
    /// The first screen.
    Home,
    /// A drill.
    Drill(Drill),
    /// Free playing.
    Listen,
}

/// Opens the full screen and stays there until the player leaves.
///
/// # Errors
/// If there is no terminal, the source named on the command line cannot be opened, or a signal ends the program.
pub(crate) fn run(setup: Setup, start: Start) -> Result<(), Failure> {
    let signals = Signals::watch(terminal::leave)?;
    let app = app(&setup);
    let mut screen = FullScreen::take()?;
    let mut ui = Ui {
        app,
        hearing: Hearing::new(&setup),
        tones: Tones::default(),
        setup,
        reeds_chosen: false,
        quit: false,
    };
    let end = ui.start(start, &mut screen).and_then(|()| ui.stay(&mut screen, &signals));
    drop(screen);
    ui.say_goodbye()?;
    end
}

/// The screen as the settings want it.
pub(crate) fn app(setup: &Setup) -> App {
    let own = setup.settings.config.keys.iter().map(|(name, keys)| (name.as_str(), keys.as_str()));
    let (keys, problem) = match KeyMap::with(own) {
        Ok(keys) => (keys, None),
        Err(error) => (KeyMap::default(), Some(format!("settings, keys: {error}; using the usual keys"))),
    };
    if let Some(problem) = &problem {
        stderr::say(&format!("bendwright: {problem}"));
    }
    let theme = if setup.mono { Theme::MONO } else { Theme::COLOUR };
    let glyphs = if setup.ascii { Glyphs::ASCII } else { Glyphs::UNICODE };
    let drills = catalogue::all(&setup.library, &setup.harp).into_iter().map(DrillEntry::from).collect();
    let mut app = App::new(screen::Setup {
        harp: setup.harp.clone(),
        tolerance: setup.tolerance,
        look: Look { theme, glyphs, tab: setup.tab.clone() },
        keys,
        drills,
        reduced_motion: setup.settings.config.reduced_motion,
    });
    app.use_library(screen::Library {
        tunings: setup.library.tunings.iter().cloned().collect(),
        temperaments: setup.library.temperaments.clone(),
        scales: setup.library.scales.clone(),
        ability: setup.settings.config.ability.clone().unwrap_or_default(),
    });
    for warning in setup.warnings.iter().cloned().chain(problem) {
        app.on_notice(&Notice::Say(warning));
    }
    app
}

struct Ui {
    app: App,
    setup: Setup,
    hearing: Hearing,
    tones: Tones,
    /// The player has chosen reeds on the map, so the settings do not decide about them any more.
    reeds_chosen: bool,
    quit: bool,
}

impl Ui {
    fn start(&mut self, start: Start, screen: &mut FullScreen) -> Result<(), Failure> {
        match start {
            Start::Home => {
                // A device takes its time to open; the first picture does not wait for it.
                screen.draw(|frame| self.app.draw(frame))?;
                self.hearing.open_microphone(&self.setup, &mut self.app)
            }
            Start::Drill(drill) => self.begin(drill),
            Start::Listen => {
                self.app.listen();
                self.open()?;
                self.hearing.play_freely(self.app.harp());
                Ok(())
            }
        }
    }

    fn stay(&mut self, screen: &mut FullScreen, signals: &Signals) -> Result<(), Failure> {
        let mut next_frame = Instant::now();
        while !self.quit {
            signals.check()?;
            self.hearing.tell_reeds(self.app.wants_reeds());
            self.take_news()?;
            if self.app.needs_draw() && Instant::now() >= next_frame {
                screen.draw(|frame| self.app.draw(frame))?;
                self.app.drawn();
                fault::strike("screen");
                next_frame = Instant::now() + FRAME;
            }
            self.take_input(screen)?;
        }
        Ok(())
    }

    /// Waits for keys, but never longer than a frame: the queue of news cannot wake this thread.
    fn take_input(&mut self, screen: &mut FullScreen) -> Result<(), Failure> {
        let gone = |error| Failure::world(format!("the keyboard is gone: {error}"));
        let mut patience = FRAME;
        while event::poll(patience).map_err(gone)? {
            patience = Duration::ZERO;
            match event::read().map_err(gone)? {
                Input::Key(key) => {
                    let was_paused = self.paused();
                    if let Some(action) = self.app.on_key(key) {
                        self.act(action, screen)?;
                    }
                    self.steer_the_coach(was_paused);
                }
                Input::Resize(..) => self.app.redraw(),
                _ => {}
            }
        }
        Ok(())
    }

    fn act(&mut self, action: Action, screen: &mut FullScreen) -> Result<(), Failure> {
        match action {
            Action::Quit => self.quit = true,
            Action::Suspend => {
                screen.suspend()?;
                self.app.on_notice(&Notice::Slept);
                self.app.redraw();
            }
            Action::StartDrill(name) => match catalogue::find(&self.setup.library, &name, self.app.harp()) {
                Ok(drill) => {
                    let begun = self.begin(drill);
                    self.complain_of(begun);
                }
                // The reeds may have been changed on the map since the drills were listed.
                Err(failure) => self.complain_of(Err(failure)),
            },
            Action::Listen => {
                let opened = self.open();
                self.complain_of(opened);
                self.hearing.play_freely(self.app.harp());
            }
            Action::Home => self.hearing.rest(),
            Action::SetHarp(key) => {
                if !self.reeds_chosen {
                    let cents = self.setup.reed_cents(self.app.harp());
                    self.app.tune(cents);
                }
                self.setup.harp = self.app.harp().clone();
                self.hearing.take_harp(&self.setup.harp);
                let saved = self.setup.settings.remember("harp", &key.to_string());
                self.complain(saved);
            }
            Action::UsePlayer => self.switch(From::Player),
            Action::UseMicrophone => self.switch(self.setup.microphone()),
            Action::SetReeds => {
                self.reeds_chosen = true;
                self.setup.harp = self.app.harp().clone();
                self.hearing.take_harp(&self.setup.harp);
            }
            Action::Hear(hz) => {
                let heard = self.tones.sound(&[vec![hz]]);
                self.complain(heard);
            }
            Action::HearRun(run) => {
                let heard = self.tones.sound(&run);
                self.complain(heard);
            }
        }
        Ok(())
    }

    /// A failure under the player's hands is said, and does not end the program.
    fn complain_of(&mut self, done: Result<(), Failure>) {
        self.complain(done.map_err(|failure| failure.message().unwrap_or_default().to_owned()));
    }

    fn complain(&mut self, done: Result<(), String>) {
        if let Err(sentence) = done {
            self.app.on_notice(&Notice::Say(sentence));
        }
    }

    fn begin(&mut self, drill: Drill) -> Result<(), Failure> {
        self.open()?;
        self.app.begin(drill, self.hearing.sample_rate());
        self.tell_the_coach();
        Ok(())
    }

    /// Opens the source afresh where it has a beginning (a recording, the player); keeps a microphone that is open.
    fn open(&mut self) -> Result<(), Failure> {
        self.hearing.open(&self.setup)
    }

    fn switch(&mut self, from: From) {
        self.hearing.switch(from);
        let opened = self.open();
        self.complain_of(opened);
        match self.app.session() {
            Some(session) => {
                let asked = Event::Asked(session.item(), session.attempt());
                self.hearing.asked(&[asked], session.drill());
            }
            None => self.hearing.play_freely(self.app.harp()),
        }
    }

    fn take_news(&mut self) -> Result<(), Failure> {
        while let Some(news) = self.hearing.news() {
            match news {
                News::Open(rate) => self.hearing.set_sample_rate(rate),
                News::NotOpened(failure) => self.hearing.missing(failure, &mut self.app)?,
                News::Heard(heard) => self.take_heard(heard),
                News::Stopped(why) => self.app.on_notice(&Notice::Say(why)),
            }
        }
        self.tell_the_coach();
        Ok(())
    }

    fn take_heard(&mut self, heard: Heard) {
        match heard {
            // What our own loudspeaker sounds is not what the player played.
            Heard::Readings(_) | Heard::Reeds(_) if self.tones.sounding() && self.hearing.is_microphone() => {
            }
            Heard::Readings(readings) => self.app.on_readings(&readings, self.hearing.sample_rate()),
            Heard::Reeds(now) => self.app.on_reeds(&now),
            Heard::Restarted(rate) => self.hearing.set_sample_rate(rate),
            // The event of the feed has told of the gap; the first screen has no room for a level that is good.
            Heard::Gap | Heard::Level(_) => {}
            Heard::Feed(event) => self.take_event(event),
            Heard::Complaint(complaint) => self.app.on_notice(&words::complaint_notice(complaint)),
        }
    }

    fn take_event(&mut self, event: FeedEvent) {
        for notice in words::feed_notices(event, self.hearing.is_player()) {
            self.app.on_notice(&notice);
        }
    }

    fn tell_the_coach(&mut self) {
        let events = self.app.take_events();
        if let Some(session) = self.app.session() {
            self.hearing.asked(&events, session.drill());
        }
    }

    /// After a key: what the built-in player is playing is no longer asked for if the player took another item, paused,
    /// or goes on after a pause.
    fn steer_the_coach(&mut self, was_paused: bool) {
        let mut events = self.app.take_events();
        let paused = self.paused();
        if let Some(session) = self.app.session()
            && was_paused
            && !paused
        {
            events.push(Event::Asked(session.item(), session.attempt()));
        }
        if paused || events.iter().any(|event| matches!(event, Event::Asked(..))) {
            self.hearing.hush();
        }
        if let Some(session) = self.app.session() {
            self.hearing.asked(&events, session.drill());
        }
    }

    fn paused(&self) -> bool {
        self.app.session().is_some_and(|session| session.phase() == practice::Phase::Paused)
    }

    /// Leaves a line in the shell about what was practised.
    fn say_goodbye(&self) -> Result<(), Failure> {
        let Some(session) = self.app.session().filter(|session| !session.results().is_empty()) else {
            return Ok(());
        };
        let line = crate::report::Line::summary(session, session.phase() == practice::Phase::Done);
        Ok(writeln!(io::stdout(), "{}: {}", session.drill().title, line.sentence())?)
    }
}
