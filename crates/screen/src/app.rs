//! The screen: what it shows of an exercise, and what keys mean on it.

mod act;
mod setup;

use crate::day_plan::DayPlan;
use crate::desk::Desk;
use crate::ghosts::Ghosts;
use crate::keys::{Command, KeyMap};
use crate::mapping::Library;
use crate::notice::World;
use crate::prompt::Typed;
use crate::scene::Scene;
use crate::trace;
use crate::views::help::Help;
use crate::{Look, Notice, View, views, words};
use course::{Day, Past, Programme};
use layout::{Harp, Way};
use pitch::Reading;
use practice::ear::EarPhase;
use practice::{Chords, Drill, Ending, Event, Exercise, Phase, ReedSet, ReedVoice, Started};
use ratatui::Frame;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyEvent, KeyEventKind};
use ratatui::layout::Rect;
use scoring::{Live, Trace};
use std::time::Duration;
use theory::Position;

pub use setup::{Action, Setup};

/// The screen. It draws an [`Exercise`] that the program around it feeds. Of the exercise it keeps only what the next
/// picture is compared with.
#[derive(Clone, Debug)]
pub struct App {
    look: Look,
    keys: KeyMap,
    /// Numbers instead of moving marks, and at most four pictures a second.
    still: bool,
    desk: Desk,
    /// The help page, if it is open: lines scrolled away.
    help: Option<usize>,
    /// Where the screen was drawn last.
    area: Rect,
    world: World,
    trace: trace::Trace,
    ghosts: Ghosts,
    /// What the drill showed when it was last looked at.
    seen: Option<(Phase, Live)>,
    /// What questions by ear showed when they were last looked at.
    seen_by_ear: Option<(EarPhase, usize)>,
    /// The reeds that sounded together when they were last looked at.
    seen_reeds: Vec<ReedVoice>,
    /// What a drill of chords showed when it was last looked at.
    seen_chords: Option<SeenChords>,
    /// Something has changed since the last picture.
    dirty: bool,
    /// The player waits for that change (a key, a new size, a verdict): it is drawn at once.
    urgent: bool,
    /// When the key that leaves was pressed last.
    left_at: Option<Duration>,
    /// Seconds on the clock of the exercise now, and at the last picture.
    now_s: f64,
    drawn_s: f64,
    /// The clock at the last reading of a run or a jam, in steps of `BEAT_MOVES_S`.
    ticks: u64,
}

/// Presses of the key that leaves count as one if less time than this lies between them. Otherwise a key that is held
/// down, or pressed again in haste, would end the program.
const ONE_PRESS: Duration = Duration::from_millis(500);

/// How often the beat of a run moves on the screen, seconds: three pictures at 60 a second.
const BEAT_MOVES_S: f64 = 0.05;
/// With reduced motion a picture stands at least this long, seconds.
const STILL_S: f64 = 0.25;

impl App {
    /// The first screen, with this harp in the player's hand.
    pub fn new(setup: Setup, harp: &Harp) -> Self {
        let Setup { look, keys, drills, library, first, reduced_motion, today, minutes } = setup;
        let day = DayPlan::new((today, minutes), library.ability.clone());
        let mut desk = Desk::new(drills, library, first, day);
        desk.replan(harp);
        Self {
            look,
            keys,
            still: reduced_motion,
            desk,
            help: None,
            area: Rect::new(0, 0, 80, 24),
            world: World::default(),
            trace: trace::Trace::default(),
            ghosts: Ghosts::default(),
            seen: None,
            seen_by_ear: None,
            seen_reeds: Vec::new(),
            seen_chords: None,
            dirty: true,
            urgent: true,
            left_at: None,
            now_s: 0.0,
            drawn_s: 0.0,
            ticks: 0,
        }
    }

    /// Offers these drills from now on, and this library on the map when the map is next opened. The chosen drill stays
    /// chosen if it is still there.
    pub fn offer(&mut self, drills: Vec<Drill>, library: Library, harp: &Harp) {
        self.desk.offer(drills, library);
        self.desk.replan(harp);
        self.redraw();
    }

    /// The keyboard's keys for another harp go through the owned harps first; `owned` from the lowest up.
    pub fn own(&mut self, owned: Vec<Harp>) {
        self.desk.owned = owned;
    }

    /// Takes what the player practised until today.
    pub fn remember(&mut self, past: Past, today: Day, harp: &Harp) {
        self.desk.remember(past, today, harp);
        self.redraw();
    }

    /// Takes the player's name, and whether it is shown (`told`): a player who never gave a name need not read it.
    pub fn call(&mut self, who: &str, told: bool) {
        (self.desk.who, self.desk.who_is_told) = (who.to_owned(), told);
    }

    /// Follows a programme from a day on, or none.
    pub fn follow(&mut self, programme: Option<(Programme, Day)>, harp: &Harp) {
        self.desk.follow(programme, harp);
        self.redraw();
    }

    /// Takes how the pitch went in the last tries of other days at each way, the latest one last.
    pub fn remember_traces(&mut self, traces: Vec<(Way, Trace)>) {
        self.ghosts.remember(traces);
        self.redraw();
    }

    /// How long there is for today's practice, minutes.
    pub fn minutes(&self) -> u32 {
        self.desk.day.minutes
    }

    /// Goes on with the position and the scale of the last time that the program ran.
    pub fn go_on_with(&mut self, position: Option<Position>, scale: Option<&str>) {
        self.desk.position = position.unwrap_or(self.desk.position);
        self.desk.scale = scale.map(str::to_owned);
    }

    /// The position whose degrees are shown.
    pub fn position(&self) -> Position {
        self.desk.position
    }

    /// The name of the scale that the map shows, or showed last.
    pub fn scale(&self) -> Option<&str> {
        self.desk.scale.as_deref()
    }

    /// The view on the screen.
    pub fn view(&self) -> View {
        self.desk.view
    }

    /// Begins the next block of today's practice once the last result was shown long enough: both hands hold the harp.
    pub fn next_block(&mut self, exercise: &Exercise) -> Option<Action> {
        self.desk.day.comes_in_s.filter(|left_s| *left_s == 0.0)?;
        views::next_block(&mut self.desk, exercise)
    }

    /// Takes what an exercise said.
    pub fn on_event(&mut self, event: &Event, exercise: &Exercise) {
        if *event == Event::Ended(Ending::Done) {
            if self.desk.view == View::Drill {
                self.desk.view = View::Summary;
            }
            self.desk.day.end(self.now_s);
        }
        match event {
            Event::Started(started) => {
                // The sentence on the screen belongs to what went before.
                self.world.read();
                match started {
                    Started::Drill(drill) => self.desk.begin(&format!("drill {}", drill.name)),
                    Started::Run(plan) => {
                        self.desk.begin(&format!("run {}", plan.material.name.kept_as));
                        self.desk.forget_whole(plan);
                    }
                    Started::Jam(_) => self.desk.scrolled = 0,
                    Started::Free | Started::Ear(_) => {}
                }
                self.desk.view = match started {
                    Started::Drill(_) => View::Drill,
                    Started::Free => View::Listen,
                    Started::Run(_) => View::Run,
                    Started::Jam(_) => View::Jam,
                    Started::Ear(_) => View::Ear,
                };
                self.help = None;
                self.trace.clear();
                self.ghosts.clear();
            }
            // While the judged note sounds, its line stays.
            Event::Asked(_) if exercise.session().is_some_and(|it| it.phase() == Phase::Released) => {}
            Event::Asked(_) | Event::Paused | Event::ModelBegan(_) | Event::ModelOver => self.trace.clear(),
            Event::Judged(tried) => self.ghosts.keep(tried.way(), &self.trace),
            Event::TookHarp(_) => self.desk.take_harp(exercise.harp()),
            Event::OtherHarp(key) => {
                self.world.hear(&Notice::Say(words::other_harp(*key, exercise.harp().key())));
            }
            Event::RunBegan(began) => {
                // Only a run sets the tempo of later runs; a jam does not.
                if exercise.running().is_some() {
                    self.desk.tempo = Some(began.tempo);
                }
                self.trace.clear();
            }
            // Free playing is redrawn by readings, not by these events.
            Event::Played(_) | Event::Sounded(_) => return,
            Event::Ended(Ending::Left) => self.desk.day.pass(),
            Event::Ended(Ending::Done)
            | Event::Began(_)
            | Event::Unfinished(..)
            | Event::ChordAsked(_)
            | Event::ChordJudged(_)
            | Event::ChordUnfinished(..)
            | Event::RunJudged(_)
            | Event::JamNote(_)
            | Event::ChorusOver(_)
            | Event::JamOver(_)
            | Event::Posed(_)
            | Event::EarSounds(_)
            | Event::EarSilent
            | Event::Answered(_) => {}
        }
        self.seen = shown(exercise);
        self.redraw();
    }

    /// Takes a reading, after the exercise has taken it.
    pub fn on_reading(&mut self, reading: &Reading, exercise: &Exercise) {
        let now = exercise.now();
        self.now_s = now.seconds();
        self.dirty |= self.desk.day.tick(self.now_s);
        if !exercise.is_on() {
            return;
        }
        // The beat moves on whether anything sounds or not.
        let ticks = (self.now_s / BEAT_MOVES_S) as u64;
        let moves = exercise.running().is_some() || exercise.jam().is_some();
        self.dirty |= moves && ticks != std::mem::replace(&mut self.ticks, ticks);
        let by_ear = exercise.by_ear().map(|by_ear| (by_ear.phase(), by_ear.notes_heard()));
        self.dirty |= by_ear != std::mem::replace(&mut self.seen_by_ear, by_ear);
        let seen = shown(exercise);
        let phase = |seen: Option<(Phase, Live)>| seen.map(|(phase, _)| phase);
        if (phase(self.seen), phase(seen)) == (Some(Phase::Released), Some(Phase::Waiting)) {
            self.trace.clear();
        }
        self.dirty |= phase(seen) != Some(Phase::Paused) && self.trace.hear(reading, now);
        self.dirty |= self.seen != seen;
        self.seen = seen;
    }

    /// Looks again at which reeds sound together, after the exercise has heard of them.
    pub fn on_reeds(&mut self, exercise: &Exercise) {
        let chords = exercise.chords().map(seen_chords);
        if self.seen_chords != chords {
            self.seen_chords = chords;
            self.dirty = true;
        }
        let sounding = exercise.free().and_then(|free| free.together()).map_or(&[][..], |set| &set.voices);
        if self.seen_reeds != sounding {
            sounding.clone_into(&mut self.seen_reeds);
            self.dirty = true;
        }
    }

    /// Takes news of the world outside.
    pub fn on_notice(&mut self, notice: &Notice) {
        if notice.is_gap() {
            self.trace.clear();
            self.dirty = true;
        }
        self.dirty |= self.world.hear(notice);
    }

    /// Takes a key that was pressed at this time since the program began; says what the program around the screen has
    /// to do about it.
    pub fn on_key(&mut self, event: KeyEvent, at: Duration, exercise: &Exercise) -> Option<Action> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        self.dirty |= self.world.read();
        if let Some(prompt) = &mut self.desk.prompt
            && self.keys.command(self.desk.view, &event) != Some(Command::Quit)
        {
            let typed = prompt.key(&event);
            self.redraw();
            let Typed::Over(action) = typed else { return None };
            self.desk.prompt = None;
            if let Some(Action::HandOver(who)) = &action {
                self.desk.hand_over(who, exercise.harp());
                // The lines of another player's tries are no measure for this one.
                self.ghosts = Ghosts::default();
            }
            return action;
        }
        let command = self.keys.command(self.desk.view, &event)?;
        if command == Command::Leave {
            let before = self.left_at.replace(at);
            if before.is_some_and(|before| at.saturating_sub(before) < ONE_PRESS) {
                return None;
            }
        }
        self.redraw();
        self.act(command, exercise)
    }

    /// Whether the picture has changed since [`App::drawn`]; with reduced motion also whether it has stood long enough.
    pub fn needs_draw(&self) -> bool {
        let stood = (self.now_s - self.drawn_s).abs() >= STILL_S;
        self.dirty && (!self.still || stood || self.urgent)
    }

    /// Says that the picture has been drawn.
    pub fn drawn(&mut self) {
        self.dirty = false;
        self.urgent = false;
        self.drawn_s = self.now_s;
    }

    /// Asks for a new picture at once, after the terminal was resized or woken.
    pub fn redraw(&mut self) {
        self.dirty = true;
        self.urgent = true;
    }

    /// The help page, scrolled as far as it is.
    fn help_page(&self) -> Option<Help<'_>> {
        let Self { look, keys, .. } = self;
        self.help.map(|scrolled| Help { look, keys, view: self.desk.view, scrolled })
    }

    /// Draws the screen and keeps its size: a page key goes by half its rows.
    pub fn draw(&mut self, exercise: &Exercise, frame: &mut Frame<'_>) {
        let area = frame.area();
        (self.area, self.desk.rows) = (area, area.height);
        self.render(exercise, area, frame.buffer_mut());
    }

    /// Draws the screen into a buffer.
    pub fn render(&self, exercise: &Exercise, area: Rect, buf: &mut Buffer) {
        let Self { desk, trace, ghosts, world, look, keys, .. } = self;
        let scene = Scene { exercise, desk, trace, ghosts, world, look, keys, still: self.still };
        views::render(&scene, self.help_page().as_ref(), area, buf);
        look.glyphs.settle(buf);
    }
}

/// Where a drill of chords stands, how many tenths of a second a chord has been held, and what sounds.
type SeenChords = (Phase, u64, Vec<Way>);

fn seen_chords(chords: &Chords) -> SeenChords {
    let ways = chords.together().map(ReedSet::ways).unwrap_or_default();
    (chords.phase(), (10.0 * chords.held_s()) as u64, ways)
}

/// What a drill shows that moves with every reading.
fn shown(exercise: &Exercise) -> Option<(Phase, Live)> {
    exercise.session().map(|session| (session.phase(), session.live()))
}
