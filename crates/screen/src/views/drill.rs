//! The drill. Everything about the note that is asked for stands in the middle, around its plumb line: what to play,
//! the cents, the band that fills while the note is held, and the lines of earlier tries.

mod centre;
mod report;

use crate::big::Size;
use crate::desk::Desk;
use crate::keys::Command;
use crate::pen::{Pen, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, Look, View, parts, words};
use practice::{Exercise, Item, Order, Phase, Session, Tried};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use scoring::{Target, Tolerance};

/// Further off than this, the note heard is named instead of the distance, cents.
const FAR_CENTS: f64 = 450.0;

const KEYS: [(Command, &str); 8] = [
    (Command::Help, "keys"),
    (Command::Pause, "pause"),
    (Command::Next, "next"),
    (Command::Again, "again"),
    (Command::Hear, "hear it"),
    (Command::Leave, "leave"),
    (Command::Player, "built-in player"),
    (Command::Feedback, "display"),
];

/// From this width on, the list of tries stands beside the picture, in so many columns.
const WIDE: u16 = 110;
const TRIES: u16 = 36;
/// Below this height, rules and figures are left out.
const ROOMY: u16 = 16;
/// The least rows of a picture: three for the hole and one below it.
const LEAST_PICTURE: u16 = 4;

/// The view of a drill.
pub(super) struct DrillPage;

impl Page for DrillPage {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(chords) = scene.exercise.chords() {
            return super::chords::render(scene, chords, area, buf);
        }
        let Some(session) = scene.exercise.session() else { return };
        let Some(item) = session.drill().items.get(session.item()) else { return };
        let Some(asked) = session.target() else { return };
        // While the judged note still sounds, the picture shows that note with its verdict.
        let released = matches!(session.phase(), Phase::Released | Phase::Judged);
        let judged = session.results().last().filter(|_| released && session.untold() == 0);
        let shown = judged.map_or(asked, |tried| tried.asked.target);
        let tolerance = judged.map_or(session.tolerance(), |tried| tried.tolerance);
        let size = Size::of(area.width, area.height, &scene.look.glyphs);
        let look = scene.look;
        Drill { scene, look, session, item, asked, shown, tolerance, judged, size }.draw(area, buf);
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
        if !tried && exercise.chords().is_none_or(|chords| chords.results().is_empty()) {
            return super::leave(desk);
        }
        desk.view = View::Summary;
        Action::Order(Order::Leave)
    }
}

struct Drill<'a> {
    scene: &'a Scene<'a>,
    look: &'a Look,
    session: &'a Session,
    item: &'a Item,
    /// What is asked for now.
    asked: Target,
    /// What the picture shows: what is asked for now, or the judged note while it still sounds.
    shown: Target,
    tolerance: Tolerance,
    /// The try whose verdict is shown in the middle.
    judged: Option<&'a Tried>,
    /// The size of the large signs, if there is room for them.
    size: Option<Size>,
}

impl Drill<'_> {
    fn draw(&self, area: Rect, buf: &mut Buffer) {
        let roomy = area.height >= ROOMY;
        let mut rows = Rows { area, top: area.y, foot: area.y + area.height };
        self.header(&mut Pen::new(buf, rows.top(1)));
        if roomy {
            parts::harp_rule(&mut Pen::new(buf, rows.top(1)), 0, self.scene);
            self.progress(&mut Pen::new(buf, rows.top(1)));
        }
        parts::key_line(&mut Pen::new(buf, rows.foot(1)), 0, (self.look, self.scene.keys), &KEYS);
        super::warning(self.scene, &mut Pen::new(buf, rows.foot(1)), 0);
        let caution = self.caution_now();
        let lines = caution.map_or(1 + u16::from(roomy), |text| {
            let wanted = parts::broken(text, i32::from(area.width) - 2).len() as u16;
            let room = rows.left().saturating_sub(LEAST_PICTURE + 4);
            wanted.clamp(1, room.max(1))
        });
        let last = rows.foot(lines);
        match caution {
            Some(text) => self.caution(&mut Pen::new(buf, last), text),
            None => self.report(&mut Pen::new(buf, last)),
        }
        if roomy {
            parts::rule(&mut Pen::new(buf, rows.foot(1)), 0, self.look);
        }
        let middle = rows.rest();
        if area.width >= WIDE {
            let side = Rect { x: middle.x + middle.width - TRIES, width: TRIES, ..middle };
            self.tries(&mut Pen::new(buf, side));
            // The picture stays in the middle of the window.
            let place = Rect { x: middle.x + TRIES, width: middle.width - 2 * TRIES, ..middle };
            self.centre(
                if area.width >= WIDE + TRIES {
                    place
                } else {
                    Rect { width: middle.width - TRIES, ..middle }
                },
                buf,
            );
        } else {
            self.centre(middle, buf);
        }
    }

    /// The caution of the drill, until there is a verdict.
    fn caution_now(&self) -> Option<&str> {
        self.session.drill().caution.as_deref().filter(|_| self.session.results().is_empty())
    }

    fn header(&self, pen: &mut Pen<'_>) {
        let (drill, dot) = (self.session.drill(), self.look.glyphs.dot);
        let harp = self.scene.harp().key();
        let left = format!("{harp} harp {dot} {}", drill.title);
        let who = self.scene.world.source_words();
        let place = format!("{} of {}", self.session.place() + 1, drill.items.len());
        let wordings = [(&left, &who), (&left, &place), (&drill.title, &place)];
        parts::header(pen, 0, self.look, &wordings.map(|(left, right)| (left.as_str(), right.as_str())));
    }

    /// The row of tries: those that were, this one, those to come; and which try this is.
    fn progress(&self, pen: &mut Pen<'_>) {
        let right = match self.session.in_a_row() {
            Some((landed, wanted)) => format!("landed {landed} of {wanted} in a row"),
            None => format!(
                "note {} of {}, try {} of {}",
                self.session.place() + 1,
                self.session.order().len(),
                self.session.attempt(),
                self.item.tries.max(self.session.attempt())
            ),
        };
        let end = pen.width() - width(&right) - 1;
        pen.text(end, 0, &right, self.look.theme.faint);
        let counted = self.counted();
        let marks: Vec<String> =
            (0..self.session.order().len()).map(|at| self.marks_of(at, &counted)).collect();
        let now = self.session.place().min(marks.len().saturating_sub(1));
        // Where not all fit, those long ago are left out first.
        let mut columns = 0;
        let fit = marks.iter().rev().take_while(|text| {
            columns += width(text) + 1;
            columns < end - 2
        });
        let first = (marks.len() - fit.count()).min(now);
        let mut x = 1;
        for (at, text) in marks.iter().enumerate().skip(first) {
            if x + width(text) >= end - 1 {
                break;
            }
            let style = if at == now { self.look.theme.strong } else { self.look.theme.plain };
            x = pen.text(x, 0, text, style) + 1;
        }
    }

    /// The signs of the tries at each item of the drill.
    fn counted(&self) -> Vec<Vec<char>> {
        let mut signs = vec![Vec::new(); self.session.drill().items.len()];
        let told = self.session.told().len();
        let results = self.session.results().iter().enumerate();
        for (at, tried) in results.filter(|(_, tried)| !tried.verdict.asks_again()) {
            if let Some(of_item) = signs.get_mut(tried.asked.item) {
                // Of a try whose verdict is not told yet, the sign says only that it was played.
                let sign = words::verdict_sign(&tried.verdict, tried.tolerance, self.look);
                of_item.push(if at < told { sign } else { self.look.glyphs.lately });
            }
        }
        signs
    }

    /// The tries at one item, by its place in the order: "■◂", "[■·]".
    fn marks_of(&self, at: usize, counted: &[Vec<char>]) -> String {
        let Some(index) = self.session.order().get(at) else { return String::new() };
        let counted = counted.get(*index).map_or(&[][..], Vec::as_slice);
        let item = self.session.drill().items.get(*index);
        let wanted = item.map_or(0, |item| match item.in_a_row {
            Some(_) => 0,
            None => item.tries as usize * item.parts(),
        });
        let left = wanted.saturating_sub(counted.len()).min(6);
        let shown = counted.len().saturating_sub(8);
        let mut text: String = counted[shown..].iter().collect();
        text.extend(std::iter::repeat_n(self.look.glyphs.coming, left));
        let now = at == self.session.place();
        if now { format!("[{text}]") } else { text }
    }

    /// What to do now, in one sentence.
    fn ask(&self) -> String {
        let ask = |target: Target| format!("{}, {}", self.look.tab(target.way), words::ask(target.way));
        match self.session.phase() {
            Phase::Paused => "paused: nothing is judged".to_owned(),
            Phase::Judged => "let go: that was the last note".to_owned(),
            Phase::Released if self.session.note() > 0 => format!("go on to {}", ask(self.asked)),
            Phase::Released => format!("let go; next {}", ask(self.asked)),
            _ => {
                let note = words::note_of(self.scene.harp(), self.asked.way);
                format!("{}, sounds {note}", words::ask(self.asked.way))
            }
        }
    }

    /// What to do now, in few words.
    fn ask_briefly(&self) -> String {
        match self.session.phase() {
            Phase::Paused => "paused".to_owned(),
            Phase::Judged => "let go".to_owned(),
            Phase::Released if self.session.note() > 0 => {
                format!("go on to {}", self.look.tab(self.asked.way))
            }
            Phase::Released => format!("let go; next {}", self.look.tab(self.asked.way)),
            _ => words::ask(self.asked.way),
        }
    }

    /// What to do now, in as few words as can be.
    fn ask_shortest(&self) -> String {
        match self.session.phase() {
            Phase::Paused => "paused".to_owned(),
            Phase::Released | Phase::Judged => "let go".to_owned(),
            _ => words::ask_parts(self.asked.way).0,
        }
    }

    /// Cents off and the word for it: of the verdict while that is shown, else of what sounds.
    fn off(&self) -> Option<(f64, &'static str)> {
        if let Some(tried) = self.judged {
            let off = words::whole(tried.verdict.figures?.cents_off, self.tolerance);
            return Some((off, words::state(&tried.verdict, self.tolerance)));
        }
        if self.session.phase() == Phase::Paused || !self.session.shows_live() {
            return None;
        }
        let off = self.session.live().cents_off?;
        Some((words::whole(off, self.tolerance), words::side(off, self.tolerance)))
    }

    /// What is heard instead, where the distance would be a number that tells nothing.
    fn far(&self) -> String {
        let heard = self.scene.trace.newest().and_then(|hz| self.scene.harp().concert().nearest(hz));
        let said = |note| format!("this is {}", words::note(self.scene.harp(), note));
        heard.map(|(note, _)| said(note)).unwrap_or_default()
    }
}

/// Rows taken from a place, from its top and from its foot, as long as there are any.
struct Rows {
    area: Rect,
    top: u16,
    foot: u16,
}

impl Rows {
    fn left(&self) -> u16 {
        self.foot - self.top
    }

    fn top(&mut self, rows: u16) -> Rect {
        let height = rows.min(self.left());
        let place = Rect { y: self.top, height, ..self.area };
        self.top += height;
        place
    }

    fn foot(&mut self, rows: u16) -> Rect {
        let height = rows.min(self.left());
        self.foot -= height;
        Rect { y: self.foot, height, ..self.area }
    }

    fn rest(&self) -> Rect {
        Rect { y: self.top, height: self.left(), ..self.area }
    }
}
