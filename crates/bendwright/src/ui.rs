//! The full screen: keys and news in, pictures out.

mod app;
mod by_ear;
mod hearing;
mod news;

use crate::clicks::{self, Clicks};
use crate::commands::sheet;
use crate::ear_sound::EarSound;
use crate::failure::Failure;
use crate::input::Input;
use crate::keeping::{self, Keeping, NO_JOURNAL};
use crate::model::ModelSound;
use crate::pipeline::Heard;
use crate::practising::{Follower, Practising};
use crate::setup::{HearFrom, Setup};
use crate::signals::Signals;
use crate::terminal::{self, FullScreen};
use crate::tones::Tones;
use crate::tty::Tty;
use crate::{catalogue, fault, files};
pub(crate) use app::app;
use app::library;
use hearing::{Hearing, Wake};
use layout::{Harp, HarpKey, Tuning};
use pitch::Reading;
use practice::ear::EarPlan;
use practice::jam::JamPlan;
use practice::run::Plan;
use practice::{Drill, Event, Exercise, Order};
use screen::{Action, App, Notice, View};
use sheets::Request;
use std::env;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, sync_channel};
use std::time::{Duration, Instant};
use theory::{Ability, Position, ScaleInKey};

/// At most 60 pictures a second.
const FRAME: Duration = Duration::from_micros(16_667);

/// How long nothing may come before the loop looks around by itself: a terminal may have taken what it was owed, a tone
/// may be over.
const IDLE: Duration = Duration::from_millis(50);

/// How often the player's own files are looked at: nobody is back from an editor sooner.
const LOOK_AGAIN: Duration = Duration::from_secs(1);

/// Keys that may wait here; more of them wait in the terminal.
const KEYS: usize = 64;

/// What the player sees first.
pub(crate) enum Start {
    /// The first screen.
    Home,
    /// A drill.
    Drill(Drill),
    /// Free playing.
    Listen,
    /// Free playing over a form.
    Jam(JamPlan),
    /// Questions by ear.
    Ear(EarPlan),
    /// Runs in time, and whether they are played to the player first.
    Run(Plan, bool),
}

impl Start {
    fn view(&self) -> View {
        match self {
            Self::Home => View::Today,
            Self::Drill(_) => View::Drill,
            Self::Listen => View::Listen,
            Self::Jam(_) => View::Jam,
            Self::Ear(_) => View::Ear,
            Self::Run(..) => View::Run,
        }
    }
}

/// Opens the full screen and stays there until the player leaves.
///
/// # Errors
/// If there is no terminal, the source named on the command line cannot be opened, or a signal ends the program.
pub(crate) fn run(setup: Setup, start: Start) -> Result<(), Failure> {
    let tty = Arc::new(Tty::open()?);
    let (tell, inputs) = sync_channel(KEYS);
    let (keys, wake) = (tell.clone(), tell.clone());
    let left = Arc::clone(&tty);
    let signals = Signals::watch_for_screen(
        // When the program is about to end nobody listens any more.
        move |input| tell.send(input).unwrap_or_default(),
        move || terminal::give_back(&left),
    )?;
    let app = app(&setup, start.view());
    let mut screen = FullScreen::take(Arc::clone(&tty), move |input| keys.send(input).is_ok())?;
    let exercise = setup.exercise(hearing::USUAL_RATE);
    let tones = Tones::new();
    let clicks = Clicks::new(hearing::USUAL_RATE).with_own_band(setup.own_band.clone());
    let sounded = tones.sounded();
    let mut ui = Ui {
        to: Told { app, clicks, model: ModelSound::default(), ear: EarSound::default(), tones },
        inputs,
        practising: Practising::new(exercise, setup.journal.as_ref().map(Keeping::new)),
        hearing: Hearing::new(&setup, Wake::by(wake), sounded),
        setup,
        reeds_chosen: false,
        looked: Instant::now(),
        begun: Instant::now(),
        quit: false,
    };
    let end = fault::caught(|| ui.start(start, &mut screen).and_then(|()| ui.stay(&mut screen, &signals)));
    drop(screen);
    ui.say_goodbye(&tty);
    // A terminal that goes away also sends a signal, as a rule, and its number is what shells expect.
    signals.check().and(end)
}

/// Who is told what happens: the screen, the click, and what plays a run to the player.
struct Told {
    app: App,
    clicks: Clicks,
    model: ModelSound,
    ear: EarSound,
    tones: Tones,
}

impl Follower for Told {
    fn event(&mut self, event: &Event, exercise: &Exercise) {
        self.model.event(event, exercise, &self.tones);
        self.ear.event(event, exercise, &self.tones);
        self.clicks.event(event, exercise, self.tones.speaker());
        self.app.on_event(event, exercise);
    }

    fn reading(&mut self, reading: &Reading, exercise: &Exercise) {
        self.app.on_reading(reading, exercise);
    }

    fn reeds(&mut self, exercise: &Exercise) {
        self.app.on_reeds(exercise);
    }

    fn notice(&mut self, notice: &Notice) {
        self.app.on_notice(notice);
    }
}

struct Ui {
    to: Told,
    inputs: Receiver<Input>,
    practising: Practising,
    setup: Setup,
    hearing: Hearing,
    /// The player has chosen reeds on the map, so the settings do not decide about them any more.
    reeds_chosen: bool,
    /// When the player's own files were last looked at.
    looked: Instant,
    /// When the program began; keys are told by the time since then.
    begun: Instant,
    quit: bool,
}

impl Ui {
    fn start(&mut self, start: Start, screen: &mut FullScreen) -> Result<(), Failure> {
        match start {
            Start::Home => {
                // A device takes its time to open; the first picture does not wait for it.
                self.draw(screen)?;
                if self.hearing.opens_at_once(&self.setup, &mut self.to.app)? {
                    self.open()?;
                }
                Ok(())
            }
            Start::Drill(drill) => self.begin(drill),
            Start::Listen => self.play_freely(),
            Start::Jam(plan) => self.jam(plan),
            Start::Ear(plan) => self.ask_by_ear(plan),
            Start::Run(plan, hear) => {
                self.play_in_time(plan)?;
                if hear {
                    self.practising.order(Order::Model, &mut self.to);
                }
                Ok(())
            }
        }
    }

    fn draw(&mut self, screen: &mut FullScreen) -> Result<bool, Failure> {
        screen.draw(|frame| self.to.app.draw(self.practising.exercise(), frame))
    }

    fn stay(&mut self, screen: &mut FullScreen, signals: &Signals) -> Result<(), Failure> {
        let mut next_frame = Instant::now();
        while !self.quit {
            signals.check()?;
            self.hearing.tell_reeds(self.practising.exercise().wants_reeds());
            // News is taken when the next picture may be drawn: taken sooner, it could not be seen sooner.
            if Instant::now() >= next_frame {
                self.take_news()?;
            }
            if let Some(action) = self.to.app.next_block(self.practising.exercise()) {
                self.act(action, screen);
            }
            self.read_again();
            screen.settle()?;
            if self.to.app.needs_draw() && Instant::now() >= next_frame {
                if self.draw(screen)? {
                    self.to.app.drawn();
                    fault::strike(if self.practising.results().any() {
                        "screen after a verdict"
                    } else {
                        "screen"
                    });
                }
                // A terminal that has not taken the picture is asked again when the next one would be due: it gets no
                // more than one then, however often it is asked.
                next_frame = Instant::now() + FRAME;
            }
            self.take_inputs(screen, signals, next_frame)?;
        }
        Ok(())
    }

    /// Reads the player's own files again if they have changed. What is being practised stays as it is.
    fn read_again(&mut self) {
        if self.looked.elapsed() < LOOK_AGAIN {
            return;
        }
        self.looked = Instant::now();
        if !self.setup.library.changed() {
            return;
        }
        let harp = self.practising.harp();
        let mut problems = self.setup.library.reload();
        problems.extend(self.setup.library.own_problems(harp));
        let (drills, library) = (catalogue::for_any_harp(&self.setup.library), library(&self.setup));
        self.to.app.offer(drills, library, self.practising.harp());
        self.to.app.follow(self.setup.followed(), self.practising.harp());
        if problems.is_empty() {
            problems.push("your own files have changed and were read again".to_owned());
        }
        for problem in problems {
            self.to.app.on_notice(&Notice::Say(problem));
        }
    }

    /// Waits for keys and for news, but not beyond the time at which the next picture may be drawn.
    fn take_inputs(
        &mut self,
        screen: &mut FullScreen,
        signals: &Signals,
        next_frame: Instant,
    ) -> Result<(), Failure> {
        let due = next_frame.saturating_duration_since(Instant::now());
        let patience = if due.is_zero() { IDLE } else { due };
        let mut next = self.inputs.recv_timeout(patience).ok();
        let begun = Instant::now();
        while let Some(input) = next {
            // A program that shall end in the background must not wait there for its shell.
            signals.check()?;
            self.take_input(input, signals, screen)?;
            // Many keys that take long must not keep the picture from being drawn.
            next = (begun.elapsed() < FRAME).then(|| self.inputs.try_recv().ok()).flatten();
        }
        Ok(())
    }

    fn take_input(
        &mut self,
        input: Input,
        signals: &Signals,
        screen: &mut FullScreen,
    ) -> Result<(), Failure> {
        match input {
            Input::Key(key) => {
                if let Some(action) =
                    self.to.app.on_key(key, self.begun.elapsed(), self.practising.exercise())
                {
                    self.act(action, screen);
                }
            }
            Input::Resized => self.to.app.redraw(),
            Input::Stop => screen.suspend(),
            Input::GoesOn => {
                screen.wait_for_an_end();
                signals.check()?;
                screen.resume()?;
                self.practising.lose(&mut self.to);
                self.to.tones.slept();
                self.to.app.on_notice(&Notice::Slept);
                self.to.app.redraw();
            }
            // They wake the loop, which looks at the signals and at the news.
            Input::End | Input::Heard => {}
            Input::Gone => return Err(terminal::gone()),
        }
        Ok(())
    }

    fn act(&mut self, action: Action, screen: &mut FullScreen) {
        match action {
            Action::Quit => self.quit = true,
            Action::Suspend => screen.suspend(),
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
            Action::Order(Order::Drill(drill)) => {
                let begun = self.begin(*drill);
                self.complain_of(begun);
            }
            Action::Order(Order::Run(plan)) => {
                let begun = self.play_in_time(*plan);
                self.complain_of(begun);
            }
            Action::Order(Order::Jam(plan)) => {
                let begun = self.jam(*plan);
                self.complain_of(begun);
            }
            Action::Order(Order::Ear(plan)) => {
                let begun = self.ask_by_ear(*plan);
                self.complain_of(begun);
            }
            Action::Order(Order::Model) if self.hearing.is_recording() => {
                self.complain(Err("a recording does not wait for it to be played to you first".to_owned()));
            }
            Action::Order(order) => {
                let over = matches!(order, Order::Leave | Order::Rest);
                self.practising.order(order, &mut self.to);
                if over {
                    self.hearing.rest();
                }
            }
            Action::TakeHarp(key, tuning) => self.take_another(key, tuning),
            Action::BeginAnew(key, tuning, drill) => {
                self.take_another(key, tuning);
                let begun = self.begin(*drill);
                self.complain_of(begun);
            }
            Action::SetReeds(harp) => {
                self.reeds_chosen = true;
                self.take_harp(*harp);
            }
            Action::WriteSheet(position, key, ability) => {
                let written = self.write_sheet(position, &key, &ability);
                self.complain_of(written);
            }
            Action::Remark(text) => {
                let said = if self.practising.remark(&text) { "the remark is kept" } else { NO_JOURNAL };
                self.to.app.on_notice(&Notice::Say(said.to_owned()));
            }
            Action::HandOver(who) => self.hand_over(who),
            Action::UsePlayer => self.switch(HearFrom::Player),
            Action::UseMicrophone => self.switch(self.setup.microphone()),
            Action::Hear(hz) => self.to.tones.sound(vec![vec![hz]]),
            Action::HearRun(run) => self.to.tones.sound(run),
        }
    }

    /// Takes another harp, its reeds as the settings have them, or as the player chose them for this tuning on the map.
    fn take_another(&mut self, key: HarpKey, tuning: Tuning) {
        let now = self.practising.harp();
        let chosen = self.reeds_chosen && tuning == *now.tuning();
        let bare = Harp::new(key, tuning, now.concert());
        let cents = if chosen { now.all_reed_cents().clone() } else { self.setup.reed_cents(&bare) };
        self.take_harp(bare.with_reed_cents(cents));
    }

    fn take_harp(&mut self, harp: Harp) {
        let saved = self.setup.remember_harp(&harp);
        self.hearing.take_harp(&harp);
        self.practising.order(Order::TakeHarp(Box::new(harp)), &mut self.to);
        self.complain(saved);
    }

    /// Another player takes the harp.
    fn hand_over(&mut self, who: String) {
        let Some(place) = &mut self.setup.journal else {
            return self.complain(Err(NO_JOURNAL.to_owned()));
        };
        place.who = who;
        let lost = self.practising.keep_for(Keeping::new(place));
        self.to.app.follow(self.setup.followed(), self.practising.harp());
        self.complain(lost.map_or(Ok(()), Err));
    }

    /// Writes the sheet of the map into the folder in which the program was started, and says where.
    fn write_sheet(
        &mut self,
        position: Position,
        key: &ScaleInKey,
        ability: &Ability,
    ) -> Result<(), Failure> {
        let request = Request {
            harp: self.practising.harp(),
            position,
            scale: key.scale(),
            ability: Some(ability),
            tab: &self.setup.tab,
        };
        let file = sheet::write_pdf(&request, key.tonic())?;
        let folder = env::current_dir().unwrap_or_default();
        let sentence = format!("wrote {} in {}", files::shown(&file), files::shown(&folder));
        self.to.app.on_notice(&Notice::Say(sentence));
        Ok(())
    }

    /// A failure under the player's hands is said, and does not end the program.
    fn complain_of(&mut self, done: Result<(), Failure>) {
        self.complain(done.map_err(|failure| failure.message().unwrap_or_default().to_owned()));
    }

    fn complain(&mut self, done: Result<(), String>) {
        if let Err(sentence) = done {
            self.to.app.on_notice(&Notice::Say(sentence));
        }
    }

    fn begin(&mut self, drill: Drill) -> Result<(), Failure> {
        self.open()?;
        self.practising.order(Order::Drill(Box::new(drill)), &mut self.to);
        Ok(())
    }

    fn play_in_time(&mut self, plan: Plan) -> Result<(), Failure> {
        self.open()?;
        self.to.tones.open();
        let plan = self.hearing.suit(plan);
        self.practising.order(Order::Run(Box::new(plan)), &mut self.to);
        self.take_delay();
        Ok(())
    }

    fn jam(&mut self, plan: JamPlan) -> Result<(), Failure> {
        self.open()?;
        self.to.tones.open();
        let plan = self.hearing.suit_jam(plan);
        self.practising.order(Order::Jam(Box::new(plan)), &mut self.to);
        self.take_delay();
        if self.hearing.is_microphone() {
            self.to.app.on_notice(&Notice::Say(clicks::HEADPHONES.to_owned()));
        }
        Ok(())
    }

    fn hear(&mut self, heard: Heard) {
        if self.to.clicks.hear(&heard, self.to.tones.speaker()) {
            self.take_delay();
        }
        for click in self.to.clicks.expected() {
            self.hearing.expect(click);
        }
        self.practising.hear(heard, &mut self.to);
    }

    fn play_freely(&mut self) -> Result<(), Failure> {
        let opened = self.open();
        self.practising.order(Order::PlayFreely, &mut self.to);
        opened
    }

    /// Opens the source afresh where it has a beginning (a recording, the player); keeps a microphone that is open.
    fn open(&mut self) -> Result<(), Failure> {
        if let Some((coach, rate)) = self.hearing.open(&self.setup, self.practising.harp())? {
            self.to.clicks.restart(rate);
            let by = keeping::by(self.hearing.from());
            self.practising.listen_to(coach, (rate, by), &mut self.to);
        }
        Ok(())
    }

    /// Leaves a line in the shell for each drill and each run that was practised, and remembers what was looked at.
    fn say_goodbye(&mut self, tty: &Tty) {
        self.practising.order(Order::Leave, &mut self.to);
        for line in self.practising.results().lines() {
            terminal::tell(tty, &line);
        }
        if let Some(sentence) = self.practising.close_journal() {
            terminal::tell(tty, &format!("bendwright: {sentence}"));
        }
        let (app, state) = (&self.to.app, &mut self.setup.state);
        let remembered =
            [state.remember_view(app.position(), app.scale()), state.remember_minutes(app.minutes())];
        if let Some(sentence) = remembered.into_iter().find_map(Result::err) {
            terminal::tell(tty, &format!("bendwright: {sentence}"));
        }
    }
}
