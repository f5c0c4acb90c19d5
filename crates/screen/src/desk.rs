//! What the player has chosen on the screen: the part of its state that views change.

use crate::InTime;
use crate::View;
use crate::day_plan::{self, DayPlan};
use crate::in_time::Listed;
use crate::keys::{Command, Dial};
use crate::mapping::{Library, Mapping, turned};
use crate::prompt::Prompt;
use course::{Day, Offer, Past, Programme, Progress, Skills, ThingDay, What};
use layout::{Harp, Note, Temperament, Way};
use practice::Drill;
use practice::run::{Plan, Tempo};
use std::cmp::Ordering;
use std::collections::HashMap;
use theory::{Position, ScaleInKey};

/// What came of a drill or a run the last time that the player practised it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LastTime {
    /// The day.
    pub(crate) day: Day,
    /// Tries that count, or notes of a run.
    pub(crate) of: u32,
    /// How many of them landed, or were right in pitch and in time.
    pub(crate) good: u32,
    /// Of a run: its tempo, beats a minute, and the fastest tempo that is clean, if there is one.
    pub(crate) run: Option<(f64, Option<f64>)>,
    /// Whether that was better or worse than the days before.
    pub(crate) trend: Option<Ordering>,
}

impl LastTime {
    /// The tempo with which a run goes on: its fastest clean one, or else that of its last one.
    pub(crate) fn goes_on_at(&self) -> Option<Tempo> {
        let (last, clean) = self.run?;
        Tempo::new(clean.unwrap_or(last)).ok()
    }

    fn of(thing: &ThingDay, past: &Past) -> Self {
        let run = thing.tempo.map(|tempo| (tempo, past.clean_tempo(&thing.name)));
        Self { day: thing.day, of: thing.of, good: thing.good, run, trend: past.trend(&thing.name) }
    }
}

/// The view of progress sets this many days against as many before them.
const WHILE_DAYS: u32 = 30;

/// What was practised of a thing before it was begun now.
#[derive(Clone, Debug, Default)]
pub(crate) struct Before {
    /// The last day.
    pub(crate) last: Option<ThingDay>,
    /// The best day.
    pub(crate) best: Option<ThingDay>,
    /// The fastest clean tempo of a run, beats a minute.
    pub(crate) clean: Option<f64>,
}

/// What lies before the player.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    /// The view on the screen.
    pub(crate) view: View,
    /// The view in which the program begins.
    pub(crate) first: View,
    /// The view from which the map or the progress was opened.
    pub(crate) opened_from: View,
    /// The view to which the player returns from what is practised; `None` where the program began with it.
    pub(crate) below: Option<View>,
    /// The drills to choose from.
    pub(crate) drills: Vec<Drill>,
    /// The chosen line of the list: the drills, and then what is played in time.
    pub(crate) chosen: usize,
    /// Rows scrolled away at the top, in a view that scrolls.
    pub(crate) scrolled: usize,
    /// Rows of the screen when it was last drawn.
    pub(crate) rows: u16,
    /// A line that is being typed.
    pub(crate) prompt: Option<Prompt>,
    /// The player's name, and whether it is shown.
    pub(crate) who: String,
    pub(crate) who_is_told: bool,
    /// The player who gave the harp away last: he is offered for the way back.
    pub(crate) gave: String,
    /// A question that is answered by pressing the same key again: the key's command, and what it would do.
    pub(crate) asks: Option<(Command, String)>,
    /// What the player called centred before the tolerance was changed here, cents.
    pub(crate) own_centred: Option<f64>,
    /// The position whose degrees are shown.
    pub(crate) position: Position,
    /// The name of the scale that is shown, if one was chosen.
    pub(crate) scale: Option<String>,
    /// The harps that the player owns, from the lowest up.
    pub(crate) owned: Vec<Harp>,
    /// The whole runs, while only some of their bars are practised.
    pub(crate) whole: Option<Box<Plan>>,
    /// The tempo of the last run.
    pub(crate) tempo: Option<Tempo>,
    /// The last result of each drill and each run: by `drill` and its name, or `run` and the name its results
    /// are kept as.
    pub(crate) last: HashMap<String, LastTime>,
    /// The earlier results of the drill or the run that was begun last.
    pub(crate) before: Before,
    /// Today's practice.
    pub(crate) day: DayPlan,
    /// The map, once it was opened.
    pub(crate) map: Option<Box<Mapping>>,
    /// What the view of progress shows, once it was opened.
    pub(crate) progress: Option<Box<Progress>>,
    /// What the map can choose from.
    pub(crate) library: Library,
}

impl Desk {
    /// The first screen, with these drills, where `first` is the view in which the program begins.
    pub(crate) fn new(drills: Vec<Drill>, library: Library, first: View, day: DayPlan) -> Self {
        let lists = matches!(first, View::Today | View::Home);
        Self {
            view: if lists { first } else { View::Home },
            first: if lists { first } else { View::Home },
            opened_from: View::Home,
            below: lists.then_some(first),
            drills,
            chosen: 0,
            scrolled: 0,
            rows: 24,
            prompt: None,
            who: String::new(),
            who_is_told: false,
            gave: String::new(),
            asks: None,
            own_centred: None,
            position: Position::default(),
            scale: None,
            owned: Vec::new(),
            whole: None,
            tempo: None,
            last: HashMap::new(),
            before: Before::default(),
            day,
            map: None,
            progress: None,
            library,
        }
    }

    /// Takes other drills and another library; the same line stays chosen if it is still there.
    pub(crate) fn offer(&mut self, drills: Vec<Drill>, library: Library) {
        let name = self.chosen_line().map(Listed::name);
        self.day.claimed = library.ability.clone();
        (self.drills, self.library) = (drills, library);
        self.add_asked();
        self.infer();
        let same = (0..self.lines()).find(|i| self.line(*i).map(Listed::name) == name);
        let was_drill = name.is_some_and(|(what, _)| what == Listed::DRILL);
        let last = if was_drill && !self.drills.is_empty() { self.drills.len() } else { self.lines() };
        self.chosen = same.unwrap_or(self.chosen.min(last.saturating_sub(1)));
    }

    /// Takes what was practised until today: last results, what the player commands by them, and the plan.
    pub(crate) fn remember(&mut self, past: Past, today: Day, harp: &Harp) {
        // Things are sorted by day, so that the last day of each name is kept.
        let last: HashMap<&str, &ThingDay> =
            past.things.iter().map(|thing| (thing.name.as_str(), thing)).collect();
        let last = last.into_iter().map(|(name, thing)| (name.to_owned(), LastTime::of(thing, &past)));
        self.last = last.collect();
        (self.day.past, self.day.today) = (past, today);
        self.infer();
        self.replan(harp);
    }

    /// Follows a programme from a day on, or none. Its scales stand in the list beside those that stand there anyway.
    pub(crate) fn follow(&mut self, programme: Option<(Programme, Day)>, harp: &Harp) {
        self.day.follow(programme);
        self.add_asked();
        self.replan(harp);
    }

    /// Adds the scales of the programme to what is played in time.
    fn add_asked(&mut self) {
        let Some((programme, _)) = self.day.standing() else { return };
        let mut new: Vec<InTime> = Vec::new();
        for item in programme.weeks.iter().flat_map(|week| &week.items) {
            let What::Scale { scale, position } = &item.what else { continue };
            let known = self.library.in_time.iter().chain(&new).any(|it| it.is_scale(scale, *position));
            if !known {
                new.push(InTime::Asked(scale.clone(), *position));
            }
        }
        self.library.in_time.extend(new);
    }

    /// A drill or a run of this name in the journal begins: what came of it before is kept beside it.
    pub(crate) fn begin(&mut self, name: &str) {
        let past = &self.day.past;
        let [last, best] = [past.last(name), past.best(name)].map(Option::<&ThingDay>::cloned);
        self.before = Before { last, best, clean: past.clean_tempo(name) };
    }

    /// Forgets the whole runs, unless the runs that begin are some of their bars.
    pub(crate) fn forget_whole(&mut self, begun: &Plan) {
        let is_part = |whole: &Plan| {
            begun.material.bars() < whole.material.bars()
                && begun.material.name.title.starts_with(&whole.material.name.title)
        };
        self.whole = self.whole.take().filter(|whole| is_part(whole));
    }

    /// What the player commands follows from what was heard, and where too little was, from what he claims.
    fn infer(&mut self) {
        let DayPlan { past, claimed, today, .. } = &self.day;
        self.library.ability = Skills::of(past, claimed, *today).ability();
    }

    /// The harp goes to another player, of whom nothing is known yet.
    pub(crate) fn hand_over(&mut self, who: &str, harp: &Harp) {
        self.gave = std::mem::replace(&mut self.who, who.to_owned());
        self.who_is_told = true;
        let (today, minutes, claimed) = (self.day.today, self.day.minutes, self.day.claimed.clone());
        self.day = DayPlan::new((today, minutes), claimed);
        self.remember(Past::default(), today, harp);
    }

    /// Makes the plan for today anew.
    pub(crate) fn replan(&mut self, harp: &Harp) {
        let lines = (self.drills.len()..self.lines()).filter_map(|index| self.line(index));
        let offers: Vec<Offer> = lines.filter_map(|line| day_plan::offer(line, harp)).collect();
        self.day.replan(harp, &self.drills, &offers);
    }

    /// Scrolls a page of so many rows.
    pub(crate) fn scroll(&mut self, command: Command, rows: usize) {
        self.scrolled = step(command, self.scrolled, rows, self.page());
    }

    /// Chooses another line of the list.
    pub(crate) fn choose(&mut self, command: Command) {
        self.chosen = step(command, self.chosen, self.lines(), self.page());
    }

    /// Rows that a page key goes: about what a list shows at once.
    pub(crate) fn page(&self) -> usize {
        usize::from(self.rows / 2).max(1)
    }

    /// How many lines the list has.
    pub(crate) fn lines(&self) -> usize {
        self.drills.len() + self.library.in_time.len()
    }

    /// A line of the list.
    pub(crate) fn line(&self, index: usize) -> Option<Listed<'_>> {
        if let Some(drill) = self.drills.get(index) {
            return Some(Listed::Drill(drill));
        }
        let in_time = self.library.in_time.get(index - self.drills.len())?;
        Some(Listed::InTime(in_time, &self.library, (self.tempo, &self.last)))
    }

    /// The line that is chosen.
    pub(crate) fn chosen_line(&self) -> Option<Listed<'_>> {
        self.line(self.chosen)
    }

    /// The ways of these that the player is taken to command, in their order; if he commands no way to the note, the
    /// note's first way on the harp.
    pub(crate) fn within_reach(&self, harp: &Harp, note: Note, ways: &[Way]) -> Vec<Way> {
        let reached = self.library.ability.ways_to(harp, note);
        ways.iter().copied().filter(|way| reached.contains(way)).collect()
    }

    /// The temperament of the harp's reeds, if it is one that has a name.
    pub(crate) fn temperament_of(&self, harp: &Harp) -> Option<&Temperament> {
        self.library.temperament_of(harp)
    }

    /// Chooses the next drill of the list that a harp can play, after the one of this name if it is in the list.
    pub(crate) fn choose_after(&mut self, name: &str, harp: &Harp) -> Option<&Drill> {
        self.chosen = self.after(name, harp)?;
        self.drills.get(self.chosen)
    }

    /// The next drill of the list that a harp can play, after the one of this name if it is in the list.
    pub(crate) fn after(&self, name: &str, harp: &Harp) -> Option<usize> {
        let now = self.drills.iter().position(|drill| drill.name == name).unwrap_or(self.chosen);
        (now + 1..self.drills.len()).find(|i| self.drills[*i].cannot_play(harp).is_none())
    }

    /// The scale that is shown, in the position that is shown; `None` if there is no scale.
    pub(crate) fn key(&self, harp: &Harp) -> Option<ScaleInKey> {
        let scale = self.library.scale(self.scale.as_deref())?;
        Some(ScaleInKey::in_position(scale.clone(), harp, self.position))
    }

    /// Shows the next scale, or the one before.
    pub(crate) fn turn_scale(&mut self, forward: bool) {
        let other = self.library.scale_beside(self.scale.as_deref(), forward);
        self.scale = other.map(|scale| scale.name().to_owned());
    }

    /// Opens the map of a harp; without a scale to show there is none.
    pub(crate) fn open_map(&mut self, harp: &Harp) {
        let map = Mapping::new(self.library.clone(), harp, self.position, self.scale.as_deref());
        self.map = map.map(Box::new);
        if self.map.is_some() {
            self.opened_from = self.view;
            self.view = View::Map;
        }
    }

    /// Opens what has changed.
    pub(crate) fn open_progress(&mut self) {
        let DayPlan { past, claimed, today, .. } = &self.day;
        self.progress = Some(Box::new(Progress::of(past, claimed, *today, WHILE_DAYS)));
        (self.opened_from, self.view, self.scrolled) = (self.view, View::Progress, 0);
    }

    /// The map, if this drill is the one that the map makes of its scale.
    fn map_of(&self, drill: &Drill) -> Option<&Mapping> {
        self.map.as_deref().filter(|map| map.drill().as_ref() == Some(drill))
    }

    /// The drill for another harp. The drill of the map's scale is made anew, because another tuning has the scale on
    /// other holes.
    pub(crate) fn drill_for(&self, harp: &Harp, drill: &Drill) -> Option<Drill> {
        let Some(map) = self.map_of(drill) else { return Some(drill.clone()) };
        let mut map = map.clone();
        map.rebuild(harp);
        map.drill()
    }

    /// The position after or before the one in which a drill has its scale; `None` if it has none.
    pub(crate) fn other_position(&self, drill: &Drill, forward: bool) -> Option<Position> {
        self.map_of(drill).map(|map| turned(map.position(), forward))
    }

    /// Turns the map to the next position or the one before, and gives the drill of its scale there.
    pub(crate) fn drill_beside(&mut self, forward: bool, harp: &Harp) -> Option<Drill> {
        let map = self.map.as_mut()?;
        map.turn(Dial::Position, forward, harp);
        self.position = map.position();
        map.drill()
    }

    /// The player took another harp.
    pub(crate) fn take_harp(&mut self, harp: &Harp) {
        self.replan(harp);
        if let Some(map) = &mut self.map {
            map.rebuild(harp);
        }
    }
}

/// Where a key leads in a list of `count` lines.
pub(crate) fn step(command: Command, now: usize, count: usize, page: usize) -> usize {
    let last = count.saturating_sub(1);
    match command {
        Command::Up => now.saturating_sub(1),
        Command::Down => (now + 1).min(last),
        Command::PageUp => now.saturating_sub(page),
        Command::PageDown => (now + page).min(last),
        Command::First => 0,
        Command::Last => last,
        _ => now,
    }
}
