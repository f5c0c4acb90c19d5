//! What came of a run: how much was right, what to do about it, and every note in its row, early to the left of its
//! beat line and late to the right.

use super::ahead::Across;
use super::told;
use crate::big::{self, Size};
use crate::pen::{Pen, count, width};
use crate::scale::number_of;
use crate::scene::Scene;
use crate::window::Window as Scrolled;
use crate::{Look, chord_words, parts, words};
use practice::RunJudged;
use practice::run::Running;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use scoring::timed::{AskedNote, Window};

/// Columns of the beat before a note, and of its verdict by the columns of the row.
const BEAT: i32 = 7;
const VERDICT: [(i32, i32); 3] = [(72, 28), (56, 20), (0, 14)];
/// The least columns of rows side by side.
const LEAST: u16 = 72;
/// Rows of a note at most.
const TALLEST: usize = 3;
/// The picture of time reaches so many windows either side of the beat.
const REACH: f64 = 2.0;
/// Columns of the run's contour, at least and at most.
const CONTOUR: (i32, i32) = (8, 30);
/// A screen this high has room for every sentence.
const ROOMY: i32 = 16;

pub(super) fn render(
    scene: &Scene<'_>,
    (running, judged): (&Running, &RunJudged),
    area: Rect,
    buf: &mut Buffer,
) {
    let top = score(scene, (running, judged), &mut Pen::new(buf, area));
    let place =
        Rect { y: area.y.saturating_add(top as u16), height: area.height.saturating_sub(top as u16), ..area };
    if place.height == 0 || area.width == 0 {
        return;
    }
    let asked: Vec<AskedNote> = judged.verdict.notes.iter().map(|note| note.asked).collect();
    let window = Window::of_notes(asked.iter().map(|note| note.length_s));
    Rows { scene, look: scene.look, judged, asked, window }.render(place, buf);
}

/// How much was right, large, and what the run comes to in words; returns the row after it.
fn score(scene: &Scene<'_>, (running, judged): (&Running, &RunJudged), pen: &mut Pen<'_>) -> i32 {
    let (look, whole) = (scene.look, &judged.verdict.whole);
    let theme = &look.theme;
    let right = whole.right.to_string();
    // The head and the foot of the screen stand around this.
    let size = Size::of(pen.width() as u16, pen.height() as u16 + super::HEAD + super::FOOT, &look.glyphs);
    let x = match size {
        Some(size) => big::draw(pen, (3, 0), &right, (size, theme.voice)) + 2,
        None => pen.text(1, 0, &right, theme.strong) + 1,
    };
    let least = size.map_or(1, |size| i32::from(size.rows()));
    // All notes keep their rows below their scale if they have room; the sentences get the rest.
    let spare = pen.height() - 1 - count(judged.verdict.notes.len());
    let third = pen.height() / 3;
    let fit = spare >= ROOMY / 4;
    let most = if pen.height() >= ROOMY && fit { third.min(spare) } else { third.max(2) };
    let mut y = 0;
    let before =
        words::before(&scene.desk.before, scene.desk.day.today).map(|words| format!("before: {words}"));
    for (i, line) in told::sentences(running, judged, look).iter().chain(&before).enumerate() {
        let style = if i == 0 { theme.strong } else { theme.plain };
        let x = if y < least || size.is_some() { x } else { 1 };
        let rows = most.max(least) - y;
        if rows <= 0 {
            break;
        }
        y = parts::paragraph(pen, (x, y), line, (rows.min(2), style));
    }
    y.max(least)
}

struct Rows<'a> {
    scene: &'a Scene<'a>,
    look: &'a Look,
    judged: &'a RunJudged,
    asked: Vec<AskedNote>,
    window: Window,
}

/// The columns of a row.
struct Columns {
    across: Across,
    /// The beat line, and columns from there to either end of the picture of time.
    beat: i32,
    reach: i32,
    verdict: i32,
}

impl Columns {
    fn new(rows: &Rows<'_>, wide: i32) -> Self {
        let verdict = VERDICT.iter().find(|(from, _)| wide >= *from).map_or(0, |(_, columns)| *columns);
        let room = wide - BEAT - verdict;
        let contour = (room / 2).clamp(CONTOUR.0, CONTOUR.1);
        let reach = ((room - contour - 4) / 2).max(1);
        let across = Across::new(&rows.judged.harp, &rows.asked, (BEAT, contour));
        Self { across, beat: BEAT + contour + 1 + reach, reach, verdict: wide - verdict }
    }
}

impl Rows<'_> {
    fn render(&self, area: Rect, buf: &mut Buffer) {
        let notes = &self.judged.verdict.notes;
        let rows = usize::from(area.height.saturating_sub(1)).max(1);
        let wanted = u16::try_from(notes.len().div_ceil(rows)).unwrap_or(u16::MAX);
        let side = (area.width / LEAST).min(wanted).max(1);
        let wide = area.width / side;
        let seen = Scrolled::scrolled(self.scene.desk.scrolled, notes.len(), count(rows * usize::from(side)));
        let block = |index: usize| {
            let x = area.x + wide * (index as u16).min(side - 1);
            Rect { x, width: wide, ..area }
        };
        for index in 0..usize::from(side) {
            let mut pen = Pen::new(buf, block(index));
            self.scale(&mut pen);
        }
        // A short run fills the room: its beat line goes on between the notes.
        let tall = (rows / notes.len().max(1)).clamp(1, TALLEST);
        for (y, index) in seen.seen() {
            let (at, y) = (y as usize / rows, y as usize % rows * tall);
            let mut pen = Pen::new(buf, block(at));
            self.note(&mut pen, 1 + count(y), index);
            for between in 1..tall {
                self.beat_line(&mut pen, 1 + count(y + between));
            }
        }
        if side == 1 {
            seen.ends(&mut Pen::new(buf, area), (BEAT, 1), self.look);
        } else if seen.below() > 0 {
            let text = format!("… {} more below", seen.below());
            let mut pen = Pen::new(buf, block(usize::from(side) - 1));
            pen.text(BEAT, count(rows), &text, self.look.theme.faint);
        }
    }

    /// Above the notes: which side is early, and how many milliseconds the ends are.
    fn scale(&self, pen: &mut Pen<'_>) {
        if !self.judged.verdict.whole.timed {
            return;
        }
        let (theme, columns) = (&self.look.theme, Columns::new(self, pen.width()));
        let ms = format!("{} ms", (REACH * self.window.on_s * 1000.0).round());
        let long = (format!("early {ms}"), format!("late {ms}"));
        let (early, late) =
            if width(&long.0) < columns.reach { long } else { ("early".into(), "late".into()) };
        if width(&early) < columns.reach {
            pen.text(columns.beat - columns.reach, 0, &early, theme.faint);
            pen.text(columns.beat + columns.reach + 1 - width(&late), 0, &late, theme.faint);
        }
        pen.glyph(columns.beat, 0, self.look.glyphs.centre, theme.target);
    }

    fn note(&self, pen: &mut Pen<'_>, y: i32, index: usize) {
        let Some(note) = self.judged.verdict.notes.get(index) else { return };
        let (look, harp, columns) = (self.look, &self.judged.harp, Columns::new(self, pen.width()));
        let theme = &look.theme;
        pen.text(1, y, &self.beat(index), theme.faint);
        let tab = chord_words::tab_of_note(&note.asked, look);
        let number = number_of(harp, note.asked.way).unwrap_or(f64::from(note.asked.note.midi()));
        pen.text(columns.across.centred(number, &tab), y, &tab, theme.strong);
        self.beat_line(pen, y);
        if let Some(late) = note.late_s {
            let x = columns.beat + self.column(late, columns.reach);
            pen.glyph(x, y, told::sign(note, look), theme.voice);
        }
        let room = pen.width() - columns.verdict - 1;
        let within = (self.judged.tolerance, self.window);
        let said = told::row(note, (harp, look), within, room);
        pen.text(columns.verdict, y, &said, theme.plain);
    }

    /// Columns from the beat line to a moment.
    fn column(&self, seconds: f64, reach: i32) -> i32 {
        let share = seconds / (REACH * self.window.on_s).max(1e-3);
        (share * f64::from(reach)).round().clamp(f64::from(-reach), f64::from(reach)) as i32
    }

    /// The beat line with the window around it.
    fn beat_line(&self, pen: &mut Pen<'_>, y: i32) {
        if !self.judged.verdict.whole.timed {
            return;
        }
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let Columns { beat, reach, .. } = Columns::new(self, pen.width());
        let edge = self.column(self.window.on_s, reach);
        for x in [-edge, edge] {
            pen.glyph(beat + x, y, glyphs.edge, theme.target);
        }
        pen.glyph(beat, y, glyphs.centre, theme.target);
    }

    /// The bar for the first note of a bar, for other notes the beat, or "and" on half a beat.
    fn beat(&self, index: usize) -> String {
        let own = &self.asked[index];
        if index == 0 || self.asked[index - 1].bar != own.bar {
            return format!("bar {}", own.bar + 1);
        }
        let rhythm = &self.judged.rhythm;
        let in_bar = own.onset_s - own.bar as f64 * rhythm.bar_s();
        let beats = in_bar / rhythm.beat_s();
        if (beats - beats.round()).abs() < 1e-6 {
            return format!("{:>5}", beats.round() as i64 + 1);
        }
        if rhythm.steps_of_beat() == 2 { "  and".to_owned() } else { String::new() }
    }
}
