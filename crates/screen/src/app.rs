//! The whole state of the screen, and what changes it.

mod act;
mod setup;

use crate::keys::Place;
use crate::listening::Listening;
use crate::mapping::{Library, Mapping};
use crate::notice::World;
use crate::trace::Trace;
use crate::views::help::Help;
use crate::{Notice, views};
use layout::{Harp, ReedCents};
use pitch::{Reading, reeds};
use practice::{Drill, Event, Session};
use ratatui::Frame;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyEvent, KeyEventKind};
use ratatui::layout::Rect;
use theory::Position;

pub use setup::{Action, DrillEntry, Setup};

/// What is on the screen.
#[derive(Clone, Debug)]
pub(crate) enum View {
    /// The first screen.
    Home,
    /// A drill.
    Drill(Box<Session>),
    /// Free playing.
    Listen(Box<Listening>),
    /// The end of a drill.
    Summary(Box<Session>),
    /// The map of a harp.
    Map(Box<Mapping>),
}

/// The screen.
#[derive(Clone, Debug)]
pub struct App {
    pub(crate) setup: Setup,
    pub(crate) view: View,
    /// The chosen line of the list of drills.
    pub(crate) chosen: usize,
    /// The position whose degrees are shown.
    pub(crate) position: Position,
    /// What the map can choose from; made when it is first needed.
    library: Option<Library>,
    /// The help page, if it is open: lines scrolled away.
    pub(crate) help: Option<usize>,
    pub(crate) world: World,
    pub(crate) trace: Trace,
    events: Vec<Event>,
    /// Something has changed since the last picture.
    dirty: bool,
    /// … and the player waits for it: a key, a new size, a verdict.
    urgent: bool,
    heard: u64,
    drawn: u64,
    rate: f64,
}

/// With reduced motion a picture stands at least this long.
const STILL_S: f64 = 0.25;

impl App {
    /// The first screen.
    pub fn new(setup: Setup) -> Self {
        Self {
            setup,
            view: View::Home,
            chosen: 0,
            position: Position::new(2).unwrap_or(Position::FIRST),
            library: None,
            help: None,
            world: World::default(),
            trace: Trace::new(48_000.0),
            events: Vec::new(),
            dirty: true,
            urgent: true,
            heard: 0,
            drawn: 0,
            rate: 48_000.0,
        }
    }

    /// Lets the map choose from the player's own tunings, scales and ability as well.
    pub fn use_library(&mut self, library: Library) {
        self.library = Some(library);
    }

    /// Opens the map, as the key for it does.
    pub fn map(&mut self) {
        let library = self.library.get_or_insert_with(Library::default).clone();
        if let Some(map) = Mapping::new(library, &self.setup.harp, self.position) {
            self.view = View::Map(Box::new(map));
        }
        self.redraw();
    }

    /// Tunes the reeds of the harp, as the player's settings have them for this very one.
    pub fn tune(&mut self, reed_cents: ReedCents) {
        self.setup.harp = self.setup.harp.clone().with_reed_cents(reed_cents);
        if let View::Map(map) = &mut self.view {
            map.rebuild(&self.setup.harp);
        }
    }

    /// The harp in the player's hand.
    pub fn harp(&self) -> &Harp {
        &self.setup.harp
    }

    /// The running or finished drill.
    pub fn session(&self) -> Option<&Session> {
        match &self.view {
            View::Drill(session) | View::Summary(session) => Some(session),
            View::Home | View::Listen(_) | View::Map(_) => None,
        }
    }

    /// Starts a drill whose readings come at `sample_rate` samples a second.
    pub fn begin(&mut self, drill: Drill, sample_rate: f64) {
        self.hear_at(sample_rate);
        self.trace.clear();
        let session = Session::new(drill, self.setup.harp.clone(), self.setup.tolerance, sample_rate);
        self.events.push(Event::Asked(session.item(), session.attempt()));
        self.view = View::Drill(Box::new(session));
        self.help = None;
        self.dirty = true;
    }

    /// Starts free playing, as the key for it does.
    pub fn listen(&mut self) {
        self.trace.clear();
        self.view = View::Listen(Box::new(Listening::new(&self.setup.harp, self.rate)));
        self.dirty = true;
    }

    /// Takes readings of a stream of `sample_rate` samples a second.
    pub fn on_readings(&mut self, readings: &[Reading], sample_rate: f64) {
        self.hear_at(sample_rate);
        for reading in readings {
            self.on_reading(reading);
        }
    }

    /// A stream at another rate is a new stream, whose clock begins anew.
    fn hear_at(&mut self, sample_rate: f64) {
        if self.rate == sample_rate {
            return;
        }
        self.rate = sample_rate;
        self.trace = Trace::new(sample_rate);
        if let View::Drill(session) = &mut self.view {
            let events = session.restart_clock(sample_rate);
            self.take(events);
        }
    }

    fn on_reading(&mut self, reading: &Reading) {
        self.heard = reading.known;
        match &mut self.view {
            View::Drill(session) => {
                let before = (session.phase(), session.live());
                let events = session.hear(reading);
                let moved = self.trace.hear(reading);
                self.dirty |= moved || !events.is_empty() || before != (session.phase(), session.live());
                self.take(events);
            }
            View::Listen(listening) => {
                self.dirty |= self.trace.hear(reading);
                self.dirty |= listening.hear(reading, &self.setup.harp, self.rate);
            }
            View::Home | View::Summary(_) | View::Map(_) => {}
        }
    }

    /// Whether which reeds sound together is shown, so that [`App::on_reeds`] ought to be told.
    pub fn wants_reeds(&self) -> bool {
        matches!(self.view, View::Listen(_))
    }

    /// Takes a reading of the reeds that sound together, at the sample rate of the last [`App::on_readings`].
    pub fn on_reeds(&mut self, reading: &reeds::Sounding) {
        if let View::Listen(listening) = &mut self.view {
            self.dirty |= listening.hear_reeds(reading, &self.setup.harp, self.rate);
        }
    }

    /// Files what the session said, and shows the end of the drill when it is reached.
    fn take(&mut self, events: Vec<Event>) {
        for event in events {
            self.redraw();
            if let Event::Asked(..) = event {
                self.trace.clear();
            }
            self.events.push(event);
            if event == Event::Done {
                self.finish();
            }
        }
    }

    /// Shows the end of the drill.
    fn finish(&mut self) {
        self.view = match std::mem::replace(&mut self.view, View::Home) {
            View::Drill(session) => View::Summary(session),
            other => other,
        };
        self.dirty = true;
    }

    /// Takes news of the world outside.
    pub fn on_notice(&mut self, notice: &Notice) {
        if notice.is_gap()
            && let View::Drill(session) = &mut self.view
        {
            let events = session.gap();
            self.take(events);
            self.trace.clear();
            self.dirty = true;
        }
        self.dirty |= self.world.hear(notice);
    }

    /// Takes a key; says what the program around the screen has to do about it.
    pub fn on_key(&mut self, event: KeyEvent) -> Option<Action> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        self.dirty |= self.world.read();
        let command = self.setup.keys.command(self.place(), &event)?;
        self.redraw();
        self.act(command)
    }

    pub(crate) fn place(&self) -> Place {
        match self.view {
            View::Home => Place::Home,
            View::Drill(_) => Place::Drill,
            View::Listen(_) => Place::Listen,
            View::Summary(_) => Place::Summary,
            View::Map(_) => Place::Map,
        }
    }

    /// What happened in the drill since this was last asked, oldest first.
    pub fn take_events(&mut self) -> Vec<Event> {
        std::mem::take(&mut self.events)
    }

    /// Whether the picture has changed since [`App::drawn`]; with reduced motion also whether it has stood long enough.
    pub fn needs_draw(&self) -> bool {
        let stood = self.heard.abs_diff(self.drawn) as f64 >= STILL_S * self.rate;
        self.dirty && (!self.setup.reduced_motion || stood || self.urgent)
    }

    /// Says that the picture has been drawn.
    pub fn drawn(&mut self) {
        self.dirty = false;
        self.urgent = false;
        self.drawn = self.heard;
    }

    /// Asks for a new picture at once, after the terminal was resized or woken.
    pub fn redraw(&mut self) {
        self.dirty = true;
        self.urgent = true;
    }

    /// The help page, scrolled as far as it is.
    pub(crate) fn help_page(&self) -> Option<Help<'_>> {
        let Setup { look, keys, .. } = &self.setup;
        self.help.map(|scrolled| Help { look, keys, place: self.place(), scrolled })
    }

    /// Draws the screen.
    pub fn draw(&self, frame: &mut Frame<'_>) {
        let area = frame.area();
        self.render(area, frame.buffer_mut());
    }

    /// Draws the screen into a buffer.
    pub fn render(&self, area: Rect, buf: &mut Buffer) {
        views::render(self, area, buf);
        self.setup.look.glyphs.settle(buf);
    }
}
