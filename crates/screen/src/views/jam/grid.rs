//! The bars of a form on a grid of beats, with what was played beneath the chords.

use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::{Look, jam_words};
use practice::jam::{FormChord, Is, Jam, JamNote, JamPhase};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Bars side by side: `MANY` where each then has `LEAST_COLUMNS` columns at least, or else `FEW`.
const MANY: i32 = 4;
const FEW: i32 = 2;
const LEAST_COLUMNS: i32 = 16;
/// Rows of a bar: its chord and some rows of notes, at the least and at the most.
pub(super) const LEAST_ROWS: u16 = 3;
const MOST_ROWS: i32 = 7;
/// Forms of fewer bars than this are written out several times, so that what was played a moment ago stays in sight.
const WRITTEN_OUT: usize = 12;

/// The bars around one of them.
pub(super) struct Grid<'a> {
    pub(super) scene: &'a Scene<'a>,
    pub(super) jam: &'a Jam,
    /// The bar that has to be seen, counted from 0 at the first beat.
    pub(super) bar: usize,
}

/// Which bars are drawn where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Places {
    /// The first bar, and how many there are.
    first: usize,
    bars: usize,
    across: i32,
    columns: i32,
    rows: i32,
}

impl Places {
    fn new((columns, rows): (i32, i32), form_bars: usize, bar: usize) -> Self {
        let across = if columns >= MANY * LEAST_COLUMNS { MANY } else { FEW };
        let page = form_bars * (WRITTEN_OUT / form_bars.max(1)).max(1);
        let lines = (count(page) + across - 1) / across;
        // Of a form that is too long for the window, the lines around the bar.
        let shown = lines.min(rows / i32::from(LEAST_ROWS)).max(1);
        let begin = bar / page.max(1) * page;
        let line = count(bar - begin) / across;
        let line = (line / shown * shown).min(lines - shown);
        let first = begin + (line * across) as usize;
        let bars = ((shown * across) as usize).min(begin + page - first);
        let each = (rows / shown).clamp(LEAST_ROWS.into(), MOST_ROWS);
        Self { first, bars, across, columns: (columns - 1) / across, rows: each }
    }

    /// The corner of a bar.
    fn corner(&self, bar: usize) -> (i32, i32) {
        let index = count(bar - self.first);
        (index % self.across * self.columns, index / self.across * self.rows)
    }
}

/// The sign and the style of a note by what it is to its chord.
fn sign(is: Is, look: &Look) -> (char, Style) {
    match is {
        Is::OfChord(_) => (look.glyphs.centred, look.theme.target),
        Is::OfScale => (look.glyphs.in_tune, look.theme.plain),
        Is::Outside => (look.glyphs.before, look.theme.plain),
        Is::CannotTell => (look.glyphs.unknown, look.theme.faint),
    }
}

/// What the signs mean.
pub(super) fn legend(look: &Look) -> String {
    let g = &look.glyphs;
    format!(
        "{} of the chord   {} of the scale   {} outside   {} cannot tell",
        g.centred, g.in_tune, g.before, g.unknown
    )
}

impl Grid<'_> {
    pub(super) fn render(&self, area: Rect, buf: &mut Buffer) {
        let mut pen = Pen::new(buf, area);
        let form_bars = self.jam.plan().form.bars();
        let places = Places::new((pen.width(), pen.height()), form_bars, self.bar);
        for bar in places.first..places.first + places.bars {
            self.chords(&mut pen, &places, bar);
            self.notes(&mut pen, &places, bar);
        }
    }

    /// The bar line, the chords where they begin, the beats between them, and the present moment.
    fn chords(&self, pen: &mut Pen<'_>, places: &Places, bar: usize) {
        let (look, form) = (self.scene.look, &self.jam.plan().form);
        let (x, y) = places.corner(bar);
        for row in y..y + places.rows - 1 {
            pen.glyph(x, row, look.glyphs.centre, look.theme.faint);
        }
        let beats = self.jam.plan().rhythm.metre.beats();
        let room = places.columns - 1;
        let column = |share: f64| x + 1 + (share * f64::from(room)) as i32;
        for beat in 1..beats {
            pen.glyph(column(f64::from(beat) / f64::from(beats)), y, look.glyphs.edge, look.theme.faint);
        }
        let now = self.now();
        let is_now = now.is_some_and(|now| now as usize == bar);
        let chords: &[FormChord] = form.chords(bar);
        for (index, chord) in chords.iter().enumerate() {
            let begins = column(index as f64 / chords.len() as f64);
            let style = if is_now { look.theme.strong.patch(look.theme.chosen) } else { look.theme.strong };
            pen.text(begins, y, &crate::parts::cut(&chord.symbol, room / count(chords.len())), style);
        }
        if let Some(now) = now.filter(|_| is_now) {
            // Below the notes, where it hides nothing.
            pen.glyph(column(now.fract()), y + places.rows - 1, look.glyphs.chosen, look.theme.voice);
        }
    }

    /// Where the jam stands, in bars: in steps of a quarter of a beat, or of a beat with reduced motion.
    fn now(&self) -> Option<f64> {
        let goes = matches!(self.jam.phase(), JamPhase::Playing | JamPhase::Paused);
        let beats = f64::from(self.jam.plan().rhythm.metre.beats());
        let bars = self.jam.bars();
        let step = if self.scene.still { beats } else { beats * 4.0 };
        goes.then(|| (bars * step).floor() / step)
    }

    /// What was played in a bar, each note at its place in the first row that is free there, and how many more there is
    /// no room for.
    fn notes(&self, pen: &mut Pen<'_>, places: &Places, bar: usize) {
        let (look, sounding) = (self.scene.look, self.jam.sounding(self.scene.harp()));
        let over = self.jam.notes();
        let from = over.partition_point(|note| note.bar < bar);
        let notes = over[from..].iter().take_while(|note| note.bar == bar);
        let notes: Vec<&JamNote> = notes.chain(sounding.iter().filter(|note| note.bar == bar)).collect();
        let (left, y) = places.corner(bar);
        let room = Room {
            left: left + 1,
            end: left + places.columns,
            beats: f64::from(self.jam.plan().rhythm.metre.beats()),
            // The last row of the bar parts it from the bar below.
            rows: (places.rows - 2).max(1) as usize,
        };
        let all = room.lay(&notes, look);
        // What has no room is counted in the last columns of the bar.
        let narrower = Room { end: room.end - MORE_COLUMNS, ..room };
        let laid = if all.len() < notes.len() { narrower.lay(&notes, look) } else { all };
        for Laid { note, x, row, until } in &laid {
            let (sign, style) = sign(note.is, look);
            let row = y + 1 + count(*row);
            pen.glyph(*x, row, sign, style);
            let strong = if matches!(note.is, Is::OfChord(_)) { look.theme.strong } else { look.theme.plain };
            let after = pen.text(x + 1, row, &jam_words::tab(note, &look.tab), strong);
            pen.line(after..(*until).max(after), row, look.glyphs.span, look.theme.faint);
        }
        let left_out = notes.len() - laid.len();
        if left_out > 0 {
            let text = format!("{left_out}…");
            let row = y + count(room.rows);
            pen.text(room.end - width(&text), row, &text, look.theme.faint);
        }
    }
}

/// Columns in which the number of notes without room stands.
const MORE_COLUMNS: i32 = 3;

/// Where notes of a bar can stand.
#[derive(Clone, Copy)]
struct Room {
    left: i32,
    end: i32,
    beats: f64,
    rows: usize,
}

/// A note that has its place.
struct Laid<'a> {
    note: &'a JamNote,
    x: i32,
    row: usize,
    /// Where the line of a long one ends.
    until: i32,
}

impl Room {
    fn column(&self, beats: f64) -> i32 {
        self.left + (beats / self.beats * f64::from(self.end - self.left)).max(0.0) as i32
    }

    /// Gives each note the row where it stands soonest; leaves out what has no room.
    fn lay<'a>(&self, notes: &[&'a JamNote], look: &Look) -> Vec<Laid<'a>> {
        let mut free = vec![self.left; self.rows];
        let mut laid = Vec::new();
        for note in notes {
            let wide = 1 + width(&jam_words::tab(note, &look.tab));
            // The last eighth of a bar moves to the left as far as its tab needs.
            let at = self.column(note.beat - 1.0).min(self.end - wide);
            let fits = |row: &usize| free[*row].max(at) + wide <= self.end;
            let row = (0..self.rows).filter(fits).min_by_key(|row| free[*row].max(at));
            let Some(row) = row else { continue };
            let x = free[row].max(at);
            let ends = self.column(note.beat - 1.0 + note.beats).min(self.end);
            let until = if note.beats > HAS_LINE_BEATS { ends.max(x + wide) } else { x + wide };
            laid.push(Laid { note, x, row, until });
            free[row] = until + 1;
        }
        laid
    }
}

/// A note that is longer than this has a line, in beats.
const HAS_LINE_BEATS: f64 = 0.8;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twelve_bars_have_three_rows_of_four_and_short_forms_are_written_out() {
        let places = Places::new((80, 18), 12, 5);
        assert_eq!((places.first, places.bars, places.across, places.rows), (0, 12, 4, 6));
        assert_eq!(places.corner(5), (places.columns, 6));
        // The second chorus.
        assert_eq!(Places::new((80, 18), 12, 14).first, 12);
        // Two bars, six times; and the page turns after twelve.
        let two = Places::new((80, 18), 2, 13);
        assert_eq!((two.first, two.bars), (12, 12));
        // A small window shows the two lines around the bar.
        let small = Places::new((40, 6), 12, 7);
        assert_eq!((small.first, small.bars, small.across, small.rows), (4, 4, 2, 3));
        // A long form on a usual window shows what fits.
        let long = Places::new((80, 18), 64, 30);
        assert!(long.first <= 30 && 30 < long.first + long.bars && long.bars == 24, "{long:?}");
    }
}
