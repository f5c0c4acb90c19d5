//! A jam: the bars of the form with the chord of each, and beneath each chord the tab of what was played over it; when
//! the jam is over, what it came to. Time runs from left to right, as music is written.

mod grid;

use crate::desk::Desk;
use crate::jam_words as told;
use crate::keys::{Command, Dial};
use crate::mapping::{Library, turned};
use crate::notice::Source;
use crate::pen::{Pen, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, View, parts};
use grid::Grid;
use layout::Harp;
use practice::jam::{Form, Jam, JamOver, JamPhase, JamPlan};
use practice::run::{Clicked, Clicking, Ladder, Rhythm, StartAt, Tempo};
use practice::{Exercise, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use theory::{Groove, Position, Progression, ScaleInKey};

/// Rows above the bars: header, rule, rhythm with the beat, the chords now and next.
const HEAD: u16 = 4;
/// Rows below them: a sentence, the keys.
const FOOT: u16 = 2;
/// How often the form goes round where nobody says otherwise: long enough to try something, short enough to be told
/// soon how it went.
const CHORUSES: u32 = 3;

/// The view of a jam.
pub(super) struct JamPage;

impl Page for JamPage {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(jam) = scene.exercise.jam() {
            render(scene, jam, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        let (jam, harp, library) = (exercise.jam()?, exercise.harp(), &desk.library);
        let plan = jam.plan();
        let order = match command {
            Command::Pause => Order::Pause,
            // A jam that is over begins anew, and with it a recording that is at its end.
            Command::Again | Command::Start if is_over(jam) => Order::Jam(Box::new(plan.clone())),
            Command::Again => Order::Again,
            Command::Slower => Order::Jam(Box::new(at_another_tempo(plan, -Ladder::STEP_BPM)?)),
            Command::Faster => Order::Jam(Box::new(at_another_tempo(plan, Ladder::STEP_BPM)?)),
            Command::Jam => Order::Jam(Box::new(over_the_next_form(plan, library, harp)?)),
            Command::Feel => Order::Jam(Box::new(in_the_next_feel(plan))),
            Command::Turn(Dial::Scale, forward) => {
                let scale = library.scale_beside(Some(plan.scale.scale().name()), forward)?.clone();
                let scale = ScaleInKey::new(scale, plan.scale.tonic());
                Order::Jam(Box::new(JamPlan { scale, ..plan.clone() }))
            }
            Command::Turn(Dial::Position, forward) => {
                let position = turned(Position::of(harp, plan.form.tonic), forward);
                let scale = ScaleInKey::in_position(plan.scale.scale().clone(), harp, position);
                let form = library.progressions.find(&plan.form.name).ok()?;
                Order::Jam(Box::new(over(plan, form, scale, harp)?))
            }
            _ => {
                desk.scroll(command, jam.whole()?.tally.changes.len());
                return None;
            }
        };
        Some(Action::Order(order))
    }

    /// A jam that goes on is ended first, and what it came to is shown; a form that goes round without end has
    /// no other end.
    fn leave(&self, desk: &mut Desk, exercise: &Exercise) -> Action {
        if exercise.jam().is_some_and(ends) { Action::Order(Order::Leave) } else { super::leave(desk) }
    }
}

/// Whether the key that leaves ends the jam before it leaves the view: there are notes to tell of.
fn ends(jam: &Jam) -> bool {
    !is_over(jam) && !jam.notes().is_empty()
}

fn is_over(jam: &Jam) -> bool {
    matches!(jam.phase(), JamPhase::Done | JamPhase::Left)
}

fn at_another_tempo(plan: &JamPlan, bpm: f64) -> Option<JamPlan> {
    let tempo = plan.rhythm.tempo.plus(bpm);
    (tempo != plan.rhythm.tempo).then(|| JamPlan { rhythm: plan.rhythm.at(tempo), ..plan.clone() })
}

fn in_the_next_feel(plan: &JamPlan) -> JamPlan {
    let now = Groove::ALL.iter().position(|feel| *feel == plan.feel).unwrap_or(0);
    let feel = Groove::ALL[(now + 1) % Groove::ALL.len()];
    JamPlan { feel, rhythm: Rhythm::of_groove(feel, Tempo::usual_of(feel)), ..plan.clone() }
}

fn over_the_next_form(plan: &JamPlan, library: &Library, harp: &Harp) -> Option<JamPlan> {
    let forms: Vec<&Progression> = library.progressions.iter().collect();
    let now = forms.iter().position(|form| form.name() == plan.form.name);
    let next = forms.get(now.map_or(0, |now| (now + 1) % forms.len()))?;
    let scale = library.scales.find(Form::usual_scale(next)).ok()?.clone();
    over(plan, next, ScaleInKey::new(scale, plan.scale.tonic()), harp)
}

/// The same jam over another form, or in another key.
fn over(plan: &JamPlan, form: &Progression, scale: ScaleInKey, harp: &Harp) -> Option<JamPlan> {
    let form = Form::new(form, &scale, harp).ok()?;
    let form = plan.form.choruses().map_or(form.clone(), |choruses| form.times(choruses));
    Some(JamPlan { form, scale, ..plan.clone() })
}

/// Begins the usual jam from this view.
pub(super) fn begin(desk: &mut Desk, harp: &Harp, from: View) -> Option<Action> {
    let plan = usual(desk, harp, (desk.position, None))?;
    desk.below = Some(from);
    Some(Action::Order(Order::Jam(Box::new(plan))))
}

/// A jam over the usual form in a position, over its usual scale if none is said.
pub(super) fn usual(
    desk: &Desk,
    harp: &Harp,
    (position, key): (Position, Option<&ScaleInKey>),
) -> Option<JamPlan> {
    let library = &desk.library;
    let form = library.progressions.iter().next()?;
    let own = || library.scales.find(Form::usual_scale(form)).ok().cloned();
    let scale = key.cloned().or_else(|| Some(ScaleInKey::in_position(own()?, harp, position)))?;
    let feel = Groove::default();
    Some(JamPlan {
        form: Form::new(form, &scale, harp).ok()?.times(CHORUSES),
        feel,
        rhythm: Rhythm::of_groove(feel, Tempo::usual_of(feel)),
        scale,
        ability: library.ability.clone(),
        start: StartAt::CountIn,
        // After the count-in it is the band that keeps the time.
        clicking: Clicking { what: Clicked::CountIn, silent_bars: 0 },
        delay_s: None,
    })
}

fn render(scene: &Scene<'_>, jam: &Jam, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let mut pen = Pen::new(buf, area);
    header(scene, jam, &mut pen);
    parts::harp_rule(&mut pen, 1, scene);
    pulse(scene, jam, &mut pen, 2);
    let foot = pen.height() - 1;
    parts::key_line(&mut pen, foot, (look, scene.keys), &keys(scene, jam));
    if !super::warning(scene, &mut pen, foot - 1) {
        let legend = grid::legend(look);
        pen.text(1, foot - 1, &parts::cut(&legend, pen.width() - 2), look.theme.faint);
    }
    let body = Rect { y: area.y + HEAD, height: area.height.saturating_sub(HEAD + FOOT), ..area };
    if let Some(over) = jam.whole().filter(|_| is_over(jam)) {
        after(scene, (jam, over), body, buf);
    } else {
        chords(scene, jam, &mut pen, 3);
        Grid { scene, jam, bar: bar_now(jam) }.render(body, buf);
    }
}

/// The bar that is played, or the last one that was; the bar with the last chord has no place of its own.
fn bar_now(jam: &Jam) -> usize {
    let bar = jam.bars() as usize;
    jam.plan().form.last_bar().map_or(bar, |last| bar.min(last.saturating_sub(1)))
}

/// The keys that do something now, the most useful first.
fn keys(scene: &Scene<'_>, jam: &Jam) -> Vec<(Command, &'static str)> {
    let over = is_over(jam);
    let paused = jam.phase() == JamPhase::Paused;
    let back = match (ends(jam), scene.desk.below) {
        (true, _) => "end",
        (false, Some(_)) => "back",
        (false, None) => "leave",
    };
    let keys = [
        (Command::Pause, "pause", !over && !paused),
        (Command::Pause, "go on", paused),
        (Command::Again, "again", over),
        (Command::Jam, "form", true),
        (Command::Feel, "feel", true),
        (Command::Slower, "slower", true),
        (Command::Faster, "faster", true),
        (Command::Again, "again", !over),
        (Command::Turn(Dial::Position, true), "position", true),
        (Command::Turn(Dial::Scale, true), "scale", true),
        (Command::Leave, back, true),
        (Command::Help, "keys", true),
    ];
    keys.into_iter().filter(|(.., works)| *works).map(|(command, words, _)| (command, words)).collect()
}

/// The form that is played over, the harp, and who plays.
fn header(scene: &Scene<'_>, jam: &Jam, pen: &mut Pen<'_>) {
    let (look, plan) = (scene.look, jam.plan());
    let dot = look.glyphs.dot;
    let (title, scale) = (&plan.form.title, plan.scale.title());
    let harp = format!("{title} {dot} {} harp", scene.harp().key());
    let full = format!("{harp} {dot} {scale}");
    let who = scene.world.source_words();
    parts::header(pen, 0, look, &[(&full, &who), (&harp, &who), (title, &who), (title, "")]);
}

/// The rhythm, where the jam stands, and the beats of the bar with the present one.
fn pulse(scene: &Scene<'_>, jam: &Jam, pen: &mut Pen<'_>, y: i32) {
    let look = scene.look;
    let left = super::run::beats(look, pen, y, (jam.plan().rhythm.metre.beats(), beat(jam)));
    let (words, state) = (told::rhythm(jam.plan()), state(jam));
    let both = 1 + width(&words) + 3 + width(&state) < left;
    let x = if both { pen.text(1, y, &words, look.theme.faint) + 3 } else { 1 };
    pen.text(x, y, &parts::cut(&state, left - x - 1), look.theme.strong);
}

/// The beat of the bar that sounds now, counted from 0, while it counts in or goes.
fn beat(jam: &Jam) -> Option<u32> {
    let rhythm = jam.plan().rhythm;
    let since_bar_s = match jam.phase() {
        JamPhase::CountIn => jam.count_in_s() - jam.to_go_s()?,
        JamPhase::Playing => jam.now()?,
        JamPhase::Waiting | JamPhase::Paused | JamPhase::Done | JamPhase::Left => return None,
    };
    (since_bar_s >= 0.0).then(|| (since_bar_s / rhythm.beat_s()) as u32 % rhythm.metre.beats())
}

/// Where it stands.
fn state(jam: &Jam) -> String {
    let form = &jam.plan().form;
    match jam.phase() {
        JamPhase::Waiting => "your first note is the first beat".to_owned(),
        JamPhase::CountIn if beat(jam).is_none() => "get ready".to_owned(),
        JamPhase::CountIn => "count-in".to_owned(),
        JamPhase::Paused => "paused".to_owned(),
        JamPhase::Done => format!("done, {}", told::choruses(jam.choruses().len() as u32)),
        JamPhase::Left => format!("ended, {}", told::choruses(jam.choruses().len() as u32)),
        JamPhase::Playing => {
            let (chorus, bar) = told::place(form, jam.bars() as usize);
            let of = form.choruses().map_or(String::new(), |choruses| format!(" of {choruses}"));
            if bar > form.bars() {
                "the last chord".to_owned()
            } else {
                format!("bar {bar} of {}, chorus {chorus}{of}", form.bars())
            }
        }
    }
}

/// The chord now and the one that comes, and beside them what sounds.
fn chords(scene: &Scene<'_>, jam: &Jam, pen: &mut Pen<'_>, y: i32) {
    let (look, form) = (scene.look, &jam.plan().form);
    let bars = jam.bars();
    let Some((chord, ..)) = form.chord_at(bars) else { return };
    let x = pen.text(1, y, &chord.symbol, look.theme.strong.patch(look.theme.chosen)) + 2;
    let x = pen.text(x, y, &chord.numeral, look.theme.faint) + 3;
    let next = match form.next_change(bars) {
        Some((at, next)) => {
            let beats = ((at - bars) * f64::from(jam.plan().rhythm.metre.beats())).ceil().max(1.0) as u32;
            let of_bar = jam.plan().rhythm.metre.beats();
            let when = match (beats, beats.div_ceil(of_bar)) {
                (1, _) => "on the next beat".to_owned(),
                (beats, _) if beats <= of_bar => format!("in {beats} beats"),
                (_, bars) => format!("in {bars} bars"),
            };
            format!("next {} {when}", next.symbol)
        }
        None => String::new(),
    };
    let x = pen.text(x, y, &parts::cut(&next, pen.width() - x - 1), look.theme.strong);
    // What sounds, or was told last; before that what to take care of.
    let sounding = jam.sounding(scene.harp());
    let told = sounding.as_ref().or(jam.notes().last());
    let told = told.map(|note| format!("{}: {}", told::tab(note, &look.tab), told::is(note)));
    let listens = matches!(scene.world.source, Source::Named(_));
    let Some(text) = told.or(listens.then(|| HEADPHONES.to_owned())) else { return };
    let style = if sounding.is_some() { look.theme.strong } else { look.theme.faint };
    if x + 3 + width(&text) < pen.width() {
        pen.text(pen.width() - width(&text) - 1, y, &text, style);
    }
}

/// What a microphone needs while a band sounds.
const HEADPHONES: &str = "headphones keep the band out of the microphone";

/// What it came to, and below, where there is room, the bars of the last chorus.
fn after(scene: &Scene<'_>, (jam, over): (&Jam, &JamOver), area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let mut pen = Pen::new(buf, area);
    let mut y = 0;
    for (index, sentence) in told::sentences(over, &look.tab).iter().enumerate() {
        let rows = pen.height() - y;
        if rows <= 0 {
            break;
        }
        let style = if index == 0 { look.theme.strong } else { look.theme.plain };
        y = parts::paragraph(&mut pen, (1, y), sentence, (rows.min(3), style));
    }
    let rest = Rect { y: area.y + (y as u16) + 1, height: area.height.saturating_sub(y as u16 + 1), ..area };
    if rest.height >= grid::LEAST_ROWS {
        Grid { scene, jam, bar: bar_now(jam) }.render(rest, buf);
    }
}
