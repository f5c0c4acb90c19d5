//! The drill: what to play, where the pitch is, how it went.

mod report;

use crate::big::Size;
use crate::desk::Desk;
use crate::hole::HoleRow;
use crate::keys::Command;
use crate::pen::{Pen, width};
use crate::plumb::{self, Plumb};
use crate::scale::{self, Scale};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, Look, View, parts, words};
use layout::Way;
use practice::{Exercise, Item, Order, Phase, Session};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use scoring::{Target, Tolerance};

/// A strip of the view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Strip {
    Header,
    Rule,
    Ask,
    AskLarge(Size),
    Hold,
    Gap,
    Picture,
    Verdict,
    Figures,
    Caution,
    Last,
    Next,
    Warning,
    Keys,
}

/// Columns left of the picture, for the hole's number, and right of it, for the time.
const LEFT: u16 = 9;
const RIGHT: u16 = 8;
/// The plumb line shows about this much.
const SEEN_S: f64 = 2.0;
/// Further off than this, the note heard is named instead of the distance.
const FAR_CENTS: f64 = 450.0;
/// A try may be held so long that its bar would be pointless.
const NO_HOLD_S: f64 = 0.05;

const KEYS: [(Command, &str); 7] = [
    (Command::Help, "keys"),
    (Command::Pause, "pause"),
    (Command::Next, "next"),
    (Command::Again, "again"),
    (Command::Hear, "hear it"),
    (Command::Leave, "leave"),
    (Command::Player, "built-in player"),
];

/// A hole and a row below it: less of a picture is none.
const LEAST_PICTURE: u16 = 4;

/// The strips for a screen of this size, top to bottom; the picture takes what is left. A caution takes the place of the
/// last tries, and as many rows as it needs.
fn strips(area: Rect, caution: Option<&str>) -> Vec<(Strip, u16)> {
    let large = Size::of(area.width, area.height);
    let roomy = area.height >= 16;
    let mut strips = vec![(Strip::Header, 1)];
    if roomy {
        strips.push((Strip::Rule, 1));
    }
    match large {
        Some(size) => strips.extend([(Strip::AskLarge(size), size.rows()), (Strip::Gap, 1)]),
        None => strips.extend([(Strip::Ask, 1), (Strip::Hold, 1)]),
    }
    strips.push((Strip::Picture, 0));
    if roomy {
        strips.push((Strip::Rule, 1));
    }
    strips.push((Strip::Verdict, 1));
    if roomy {
        strips.push((Strip::Figures, 1));
    }
    strips.push((if caution.is_some() { Strip::Caution } else { Strip::Last }, 1));
    if large.is_some() {
        strips.push((Strip::Next, 1));
    }
    strips.extend([(Strip::Warning, 1), (Strip::Keys, 1)]);
    let used: u16 = strips.iter().map(|(_, rows)| rows).sum();
    let left = area.height.saturating_sub(used);
    let wanted =
        caution.map_or(0, |text| parts::broken(text, i32::from(area.width) - 2).len().saturating_sub(1));
    let more = (wanted as u16).min(left.saturating_sub(LEAST_PICTURE));
    for (strip, rows) in &mut strips {
        match strip {
            Strip::Picture => *rows = left - more,
            Strip::Caution => *rows += more,
            _ => {}
        }
    }
    strips
}

/// The view of a drill.
pub(super) struct DrillPage;

impl Page for DrillPage {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(session) = scene.exercise.session() {
            render(scene, session, area, buf);
        }
    }

    fn act(&self, _desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        Some(match command {
            Command::Pause => Action::Order(Order::Pause),
            Command::Again => Action::Order(Order::Again),
            Command::Next => Action::Order(Order::Next),
            Command::Hear => Action::Hear(exercise.session()?.target()?.hz(exercise.harp())?),
            _ => return None,
        })
    }

    /// From a drill to its summary if anything was tried.
    fn leave(&self, desk: &mut Desk, exercise: &Exercise) -> Action {
        let tried = exercise.session().is_some_and(|session| !session.results().is_empty());
        desk.view = if tried { View::Summary } else { View::Home };
        Action::Order(if tried { Order::Leave } else { Order::Rest })
    }
}

fn render(scene: &Scene<'_>, session: &Session, area: Rect, buf: &mut Buffer) {
    let Some(item) = session.drill().items.get(session.item()) else { return };
    let Some(target) = session.target() else { return };
    let view = Drill { scene, look: scene.look, session, item, target };
    let mut y = area.y;
    for (strip, rows) in strips(area, view.caution_now()) {
        let place = Rect { y, height: rows, ..area };
        view.strip(strip, place, buf);
        y += rows;
    }
}

struct Drill<'a> {
    scene: &'a Scene<'a>,
    look: &'a Look,
    session: &'a Session,
    item: &'a Item,
    target: Target,
}

impl Drill<'_> {
    fn way(&self) -> Way {
        self.target.way
    }

    fn tolerance(&self) -> Tolerance {
        self.scene.tolerance()
    }

    /// The caution of the drill, until there is a verdict.
    fn caution_now(&self) -> Option<&str> {
        self.session.drill().caution.as_deref().filter(|_| self.session.results().is_empty())
    }

    fn strip(&self, strip: Strip, area: Rect, buf: &mut Buffer) {
        if strip == Strip::Picture {
            return self.picture(area, buf);
        }
        let mut pen = Pen::new(buf, area);
        match strip {
            Strip::Header => self.header(&mut pen),
            Strip::Rule => parts::rule(&mut pen, 0, self.look),
            Strip::Ask => self.ask(&mut pen),
            Strip::AskLarge(size) => self.ask_large(&mut pen, size),
            Strip::Hold => self.hold(&mut pen, 1, 0),
            Strip::Verdict => self.verdict(&mut pen),
            Strip::Figures => self.figures(&mut pen),
            Strip::Caution => self.caution(&mut pen, self.caution_now().unwrap_or_default()),
            Strip::Last => self.last(&mut pen),
            Strip::Next => self.next(&mut pen),
            Strip::Warning => {
                super::warning(self.scene, &mut pen, 0);
            }
            Strip::Keys => parts::key_line(&mut pen, 0, (self.look, self.scene.keys), &KEYS),
            Strip::Gap | Strip::Picture => {}
        }
    }

    fn header(&self, pen: &mut Pen<'_>) {
        let (drill, dot) = (self.session.drill(), self.look.glyphs.dot);
        let left = format!("{} harp {dot} {}", self.scene.harp().key(), drill.title);
        let note = format!("note {} of {}", self.session.place() + 1, drill.items.len());
        let (attempt, tries) = (self.session.attempt(), self.item.tries);
        let right = format!("{note} {dot} try {attempt} of {}", tries.max(attempt));
        parts::header(pen, 0, self.look, &[(&left, &right), (&drill.title, &right), (&drill.title, &note)]);
    }

    /// What to play and where the pitch is, in one row.
    fn ask(&self, pen: &mut Pen<'_>) {
        let style = self.look.theme.target.patch(self.look.theme.strong);
        let x = pen.text(1, 0, &self.look.tab(self.way()), style) + 2;
        let end = pen.text(x, 0, &words::ask(self.way()), self.look.theme.strong);
        let text = match self.off() {
            Some((off, _)) if off.abs() <= FAR_CENTS => words::off(off),
            Some(_) => self.far(),
            None => return,
        };
        if end + 2 + width(&text) < pen.width() {
            pen.text(pen.width() - width(&text) - 1, 0, &text, self.look.theme.voice);
        }
    }

    /// The same with tab and cents drawn large; the middle says it in words.
    fn ask_large(&self, pen: &mut Pen<'_>, size: Size) {
        let theme = &self.look.theme;
        let tab = self.look.tab(self.way());
        let x = crate::views::tab(self.look, pen, (0, size), (&tab, theme.target.patch(theme.strong)));
        let (act, bend) = words::ask_parts(self.way());
        let after = pen.text(x, 0, &act, theme.strong) + 2;
        let note = words::note_of(self.scene.harp(), self.way());
        pen.text(after, 0, &format!("sounds {note}"), theme.faint);
        pen.text(x, 1, &bend, theme.strong);
        self.hold(pen, x, i32::from(size.rows()) - 1);
        match self.off() {
            Some(off) if off.0.abs() <= FAR_CENTS => {
                crate::views::distance(self.look, pen, (0, size), off);
            }
            Some(_) => {
                pen.text_right(0, &self.far(), theme.voice);
            }
            None => {}
        }
    }

    /// What is heard instead, where the distance would be a number that tells nothing.
    fn far(&self) -> String {
        let heard = self.scene.trace.newest().and_then(|hz| self.scene.harp().concert().nearest(hz));
        heard.map(|(note, _)| format!("this is {} ", words::note(note))).unwrap_or_default()
    }

    /// Cents off now with the word for it, or those of the last verdict while it is shown.
    fn off(&self) -> Option<(f64, &'static str)> {
        if self.session.phase() == Phase::Judged {
            let verdict = self.judged()?.verdict;
            let off = words::whole(verdict.figures?.cents_off, self.tolerance());
            return Some((off, verdict.outcome.word()));
        }
        let off = self.session.live().cents_off?;
        Some((words::whole(off, self.tolerance()), words::side(off, self.tolerance())))
    }

    /// The bar of how long the note has been held.
    fn hold(&self, pen: &mut Pen<'_>, x: i32, y: i32) {
        let (wanted, live) = (self.target.hold_s, self.session.live());
        if wanted < NO_HOLD_S {
            return;
        }
        let x = pen.text(x, y, "hold ", self.look.theme.plain);
        let columns = if pen.width() >= 60 { 15 } else { 10 };
        let end = parts::bar(pen, (x, y), self.look, (columns, live.held_s / wanted));
        let held = live.held_s.min(wanted);
        pen.text(end + 1, y, &format!("{held:.1} of {wanted:.1} s"), self.look.theme.plain);
    }

    fn picture(&self, area: Rect, buf: &mut Buffer) {
        let row_height = 3.min(area.height);
        let columns = area.width.saturating_sub(LEFT + RIGHT);
        let harp = self.scene.harp();
        let scale = Scale::of_hole(harp, self.way(), columns);
        let row = Rect { x: area.x + LEFT, width: columns, height: row_height, ..area };
        HoleRow { look: self.look, harp, target: self.way(), scale }.render(row, buf);
        let mut pen = Pen::new(buf, Rect { height: row_height, ..area });
        pen.text(1, i32::from(row_height) - 1, &format!("hole {}", self.way().hole), self.look.theme.strong);
        let below = Rect { y: area.y + row_height, height: area.height - row_height, ..area };
        self.plumb(below, scale, buf);
    }

    fn plumb(&self, area: Rect, scale: Scale, buf: &mut Buffer) {
        if area.height == 0 {
            return;
        }
        let row_s = (SEEN_S / f64::from(area.height)).clamp(0.05, 0.25);
        // With reduced motion the line shows once it stands still.
        let still = self.scene.still && self.session.live().sounding;
        let rows =
            if still { Vec::new() } else { plumb::rows(self.scene.trace, self.look, (row_s, area.height)) };
        let number = scale::number_of(self.scene.harp(), self.way());
        let plumb = Plumb {
            look: self.look,
            scale,
            concert: self.scene.harp().concert(),
            target: number.map(|number| number + self.target.cents / 100.0),
            in_tune: self.scene.tolerance().in_tune_cents,
            rows: &rows,
        };
        let columns = area.width.saturating_sub(LEFT + RIGHT);
        plumb.render(Rect { x: area.x + LEFT, width: columns, ..area }, buf);
        let mut pen = Pen::new(buf, area);
        let x = pen.width() - i32::from(RIGHT) + 1;
        for age in 0..pen.height() {
            let time = f64::from(age) * row_s;
            let before = f64::from(age - 1) * row_s;
            if age == 0 {
                pen.text(x, 0, "now", self.look.theme.faint);
            } else if (time / 0.5).floor() > (before / 0.5).floor() {
                pen.text(x, age, &format!("{time:.1} s"), self.look.theme.faint);
            }
        }
    }
}
