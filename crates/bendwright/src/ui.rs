//! The full screen: keys and news in, pictures out.

mod hearing;
mod tones;

use crate::failure::Failure;
use crate::listener::News;
use crate::pipeline::Heard;
use crate::practising::{Follower, Practising};
use crate::setup::{From, Setup};
use crate::signals::Signals;
use crate::terminal::{self, FullScreen};
use crate::{catalogue, fault, stderr};
use hearing::Hearing;
use layout::{Harp, HarpKey};
use pitch::Reading;
use practice::{Drill, Event, Exercise, Order, Phase};
use ratatui::crossterm::event::{self, Event as Input};
use screen::keys::KeyMap;
use screen::{Action, App, DrillEntry, Glyphs, Look, Notice, Theme};
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
    let exercise = Exercise::new(setup.harp.clone(), setup.tolerance, hearing::USUAL_RATE);
    let mut ui = Ui {
        app,
        practising: Practising::new(exercise),
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
        look: Look { theme, glyphs, tab: setup.tab.clone() },
        keys,
        drills,
        library: screen::Library {
            tunings: setup.library.tunings.iter().cloned().collect(),
            temperaments: setup.library.temperaments.clone(),
            scales: setup.library.scales.clone(),
            ability: setup.settings.config.ability.clone().unwrap_or_default(),
        },
        reduced_motion: setup.settings.config.reduced_motion,
    });
    for warning in setup.warnings.iter().cloned().chain(problem) {
        app.on_notice(&Notice::Say(warning));
    }
    app
}

impl Follower for App {
    fn event(&mut self, event: &Event, exercise: &Exercise) {
        self.on_event(event, exercise);
    }

    fn reading(&mut self, reading: &Reading, exercise: &Exercise) {
        self.on_reading(reading, exercise);
    }

    fn reeds(&mut self, exercise: &Exercise) {
        self.on_reeds(exercise);
    }

    fn notice(&mut self, notice: &Notice) {
        self.on_notice(notice);
    }
}

struct Ui {
    app: App,
    practising: Practising,
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
                self.draw(screen)?;
                if self.hearing.opens_at_once(&self.setup, &mut self.app)? {
                    self.open()?;
                }
                Ok(())
            }
            Start::Drill(drill) => self.begin(drill),
            Start::Listen => self.play_freely(),
        }
    }

    fn draw(&self, screen: &mut FullScreen) -> Result<(), Failure> {
        screen.draw(|frame| self.app.draw(self.practising.exercise(), frame))
    }

    fn stay(&mut self, screen: &mut FullScreen, signals: &Signals) -> Result<(), Failure> {
        let mut next_frame = Instant::now();
        while !self.quit {
            signals.check()?;
            self.hearing.tell_reeds(self.practising.exercise().wants_reeds());
            self.take_news()?;
            if self.app.needs_draw() && Instant::now() >= next_frame {
                self.draw(screen)?;
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
                    if let Some(action) = self.app.on_key(key, self.practising.exercise()) {
                        self.act(action, screen)?;
                    }
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
                self.practising.lose(&mut self.app);
                self.app.on_notice(&Notice::Slept);
                self.app.redraw();
            }
            Action::StartDrill(name) => {
                // The reeds may have been changed on the map since the drills were listed.
                let found = catalogue::find(&self.setup.library, &name, self.practising.harp());
                let begun = found.and_then(|drill| self.begin(drill));
                self.complain_of(begun);
            }
            Action::Order(Order::PlayFreely) => {
                let opened = self.play_freely();
                self.complain_of(opened);
            }
            Action::Order(order) => {
                let over = matches!(order, Order::Leave | Order::Rest);
                self.practising.order(order, &mut self.app);
                if over {
                    self.hearing.rest();
                }
            }
            Action::TakeKey(key) => self.take_key(key),
            Action::SetReeds(harp) => {
                self.reeds_chosen = true;
                self.take_harp(*harp);
            }
            Action::UsePlayer => self.switch(From::Player),
            Action::UseMicrophone => self.switch(self.setup.microphone()),
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

    /// Takes the harp of another key, its reeds as the settings have them, or as the player chose them on the map.
    fn take_key(&mut self, key: HarpKey) {
        let now = self.practising.harp();
        let bare = Harp::new(key, now.tuning().clone(), now.concert());
        let cents =
            if self.reeds_chosen { now.all_reed_cents().clone() } else { self.setup.reed_cents(&bare) };
        self.take_harp(bare.with_reed_cents(cents));
        let saved = self.setup.settings.remember("harp", &key.to_string());
        self.complain(saved);
    }

    fn take_harp(&mut self, harp: Harp) {
        self.hearing.take_harp(&harp);
        self.practising.order(Order::TakeHarp(Box::new(harp)), &mut self.app);
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
        self.practising.order(Order::Drill(Box::new(drill)), &mut self.app);
        Ok(())
    }

    fn play_freely(&mut self) -> Result<(), Failure> {
        let opened = self.open();
        self.practising.order(Order::PlayFreely, &mut self.app);
        opened
    }

    /// Opens the source afresh where it has a beginning (a recording, the player); keeps a microphone that is open.
    fn open(&mut self) -> Result<(), Failure> {
        if let Some((coach, rate)) = self.hearing.open(&self.setup, self.practising.harp())? {
            self.practising.listen_to(coach, rate, &mut self.app);
        }
        Ok(())
    }

    fn switch(&mut self, from: From) {
        self.hearing.switch(from);
        let opened = self.open();
        self.complain_of(opened);
    }

    fn take_news(&mut self) -> Result<(), Failure> {
        while let Some(news) = self.hearing.news() {
            match news {
                News::Open(rate) => self.practising.hear(Heard::Restarted(rate), &mut self.app),
                News::NotOpened(failure) => self.hearing.missing(failure, &mut self.app)?,
                // What our own loudspeaker sounds is not what the player played.
                News::Heard(Heard::Readings(_) | Heard::Reeds(_))
                    if self.tones.sounding() && self.hearing.is_microphone() => {}
                News::Heard(heard) => self.practising.hear(heard, &mut self.app),
                News::Stopped(why) => self.app.on_notice(&Notice::Say(why)),
            }
        }
        Ok(())
    }

    /// Leaves a line in the shell about what was practised.
    fn say_goodbye(&self) -> Result<(), Failure> {
        let session = self.practising.exercise().session();
        let Some(session) = session.filter(|session| !session.results().is_empty()) else {
            return Ok(());
        };
        let line = crate::report::Line::summary(session, session.phase() == Phase::Done);
        Ok(writeln!(io::stdout(), "{}: {}", session.drill().title, line.sentence())?)
    }
}
