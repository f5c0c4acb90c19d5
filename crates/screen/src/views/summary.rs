//! The end of a drill: how much landed, what to work on, and every try as a dot where it lay.

use crate::desk::Desk;
use crate::keys::Command;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, Look, big, parts, words};
use practice::{Exercise, Phase, Session, Tried};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use scoring::Outcome;

const KEYS: [(Command, &str); 3] =
    [(Command::Start, "do it again"), (Command::Leave, "back"), (Command::Help, "keys")];
/// What the picture of a note's tries shows either side of the target, cents.
const SHOWN_CENTS: f64 = 100.0;
/// Columns right of the picture, for the count.
const COUNT: i32 = 15;

/// The view of a drill's end.
pub(super) struct Summary;

impl Page for Summary {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(session) = scene.exercise.session() {
            render(scene, session, area, buf);
        }
    }

    fn act(&self, _desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        let name = || Some(exercise.session()?.drill().name.clone());
        (command == Command::Start).then(name)?.map(Action::StartDrill)
    }
}

fn render(scene: &Scene<'_>, session: &Session, area: Rect, buf: &mut Buffer) {
    let mut pen = Pen::new(buf, area);
    let look = scene.look;
    let foot = pen.height() - 1;
    header(scene, session, &mut pen);
    parts::harp_rule(&mut pen, 1, scene);
    let top = summary(scene, session, &mut pen, 2);
    let shown: Vec<usize> =
        (0..session.drill().items.len()).filter(|i| tries(session, *i).count() > 0).collect();
    let room = foot - 2 - top;
    for (y, item) in (top..top + room).zip(&shown) {
        let place = Rect { y: area.y + y as u16, height: 1, ..area };
        Row { scene, session, item: *item }.render(place, buf);
    }
    let mut pen = Pen::new(buf, area);
    let end = top + room.min(count(shown.len()));
    axis((scene, session), &mut pen, end);
    super::warning(scene, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
}

/// The harp and the drill, and how it ended and who played it.
fn header(scene: &Scene<'_>, session: &Session, pen: &mut Pen<'_>) {
    let (look, title) = (scene.look, &session.drill().title);
    let full = format!("{} harp {} {title}", scene.harp().key(), look.glyphs.dot);
    let ending = if session.phase() == Phase::Done { "done" } else { "left early" };
    let who = scene.world.who_plays();
    let right = who.map_or(ending.to_owned(), |who| format!("{ending}, played by {who}"));
    parts::header(pen, 0, look, &[(&full, &right), (title, &right), (title, ending)]);
}

/// The tries at one item.
fn tries(session: &Session, item: usize) -> impl Iterator<Item = &Tried> {
    session.results().iter().filter(move |tried| tried.asked.item == item)
}

/// What the session comes to, in a few lines; returns the row after them.
fn summary(scene: &Scene<'_>, session: &Session, pen: &mut Pen<'_>, y: i32) -> i32 {
    let (look, summary) = (scene.look, session.summary());
    let theme = &look.theme;
    let landed = summary.landed.to_string();
    let large = pen.height() >= 22 && look.glyphs.big;
    let mut lines = match summary.landed {
        0 => vec![format!("of {} landed", summary.tries)],
        _ => vec![format!(
            "of {} landed, {} of them within {} cents",
            summary.tries,
            summary.centred,
            session.tolerance().centred_cents
        )],
    };
    lines.extend(summary.median_cents_off.map(|off| format!("usually {} off", words::cents(off))));
    lines.push(match summary.weakest {
        Some(way) => format!("work next on {} ({way})", look.tab(way)),
        None if summary.tries > 0 => "every note was centred".to_owned(),
        None => "nothing was judged".to_owned(),
    });
    let x = if large {
        big::draw(pen, (3, y), &landed, (big::Size::Large, theme.voice)) + 2
    } else {
        pen.text(1, y, &landed, theme.voice) + 1
    };
    for (row, line) in (y..).zip(&lines) {
        pen.text(x, row, line, if row == y { theme.strong } else { theme.plain });
    }
    last(scene, session, pen, y + 3);
    y + 4 + i32::from(pen.height() >= 16)
}

/// The verdict on the last try: there was no next one beside which it could be read.
fn last(scene: &Scene<'_>, session: &Session, pen: &mut Pen<'_>, y: i32) {
    let Some(tried) = session.results().last() else { return };
    let (look, way) = (scene.look, tried.way());
    let x = parts::label(pen, y, look, "last try");
    let sign = words::verdict_sign(&tried.verdict, tried.tolerance, look);
    let verdict = words::verdict(&tried.verdict, &tried.harp, way, tried.tolerance);
    let x = pen.text(x, y, &format!("{sign} {}  ", look.tab(way)), look.theme.plain);
    parts::paragraph(pen, (x, y), &verdict, (1, look.theme.plain));
}

/// The column of a distance from the target in a picture of `columns`, or `None` beyond it.
fn column(off: f64, columns: i32) -> Option<i32> {
    let middle = f64::from(columns - 1) / 2.0;
    let x = (middle + off / SHOWN_CENTS * middle).round() as i32;
    (0..columns).contains(&x).then_some(x)
}

/// Columns of the pictures.
fn picture_columns(pen: &Pen<'_>) -> i32 {
    (pen.width() - parts::LABEL - COUNT).max(1)
}

/// The names of the band's edges below the pictures.
fn axis((scene, session): (&Scene<'_>, &Session), pen: &mut Pen<'_>, y: i32) {
    let (look, in_tune) = (scene.look, session.tolerance().in_tune_cents);
    let columns = picture_columns(pen);
    let (Some(left), Some(right)) = (column(-in_tune, columns), column(in_tune, columns)) else { return };
    let flat = format!("{in_tune} flat");
    pen.text(parts::LABEL + left + 1 - width(&flat), y, &flat, look.theme.faint);
    pen.text(parts::LABEL + right, y, &format!("{in_tune} sharp"), look.theme.faint);
}

/// One note of the drill and its tries, each where it lay: flat left, sharp right.
struct Row<'a> {
    scene: &'a Scene<'a>,
    session: &'a Session,
    item: usize,
}

impl Row<'_> {
    fn look(&self) -> &Look {
        self.scene.look
    }

    fn band(&self, pen: &mut Pen<'_>, columns: i32) {
        let (glyphs, style) = (&self.look().glyphs, self.look().theme.target);
        let in_tune = self.session.tolerance().in_tune_cents;
        let marks = [(-in_tune, glyphs.edge), (0.0, glyphs.centre), (in_tune, glyphs.edge)];
        for (x, sign) in marks.into_iter().filter_map(|(off, sign)| Some((column(off, columns)?, sign))) {
            pen.glyph(parts::LABEL + x, 0, sign, style);
        }
    }

    fn tried(&self, pen: &mut Pen<'_>, columns: i32, tried: &Tried) {
        let glyphs = &self.look().glyphs;
        let Some(off) = tried.verdict.figures.map(|figures| figures.cents_off) else { return };
        let (x, sign) = match column(off, columns) {
            Some(x) => (x, words::verdict_sign(&tried.verdict, tried.tolerance, self.look())),
            None if off < 0.0 => (0, glyphs.flat),
            None => (columns - 1, glyphs.sharp),
        };
        pen.glyph(parts::LABEL + x, 0, sign, self.look().theme.voice);
    }
}

impl Widget for Row<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let Some(item) = self.session.drill().items.get(self.item) else { return };
        let mut pen = Pen::new(buf, area);
        let theme = &self.look().theme;
        pen.text(
            1,
            0,
            &item.ways().map(|way| self.look().tab(way)).collect::<Vec<_>>().join(" "),
            theme.target.patch(theme.strong),
        );
        let columns = picture_columns(&pen);
        self.band(&mut pen, columns);
        let (mut landed, mut all) = (0, 0);
        for tried in tries(self.session, self.item) {
            self.tried(&mut pen, columns, tried);
            landed += usize::from(tried.verdict.outcome == Outcome::Landed);
            all += 1;
        }
        let x = pen.width() - COUNT + 1;
        pen.text(x, 0, &format!("{landed} of {all} landed"), theme.plain);
    }
}
