//! The chart of a harp: the stair, broken into flights (see [`crate::flight`]), with the degrees of a scale
//! on its marks.
//!
//! What the player cannot reach yet is dimmed and stands in brackets, what does not come every time is followed by `~`.

mod page;

use crate::Look;
use crate::flight::{Flight, flights};
use crate::pen::{Pen, count, width};
use layout::{Breath, Harp, Note, Technique, Way};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::widgets::Widget;
use theory::{Ability, Direction, HarpChord, Mastery, ScaleInKey, ScaleNote};

/// Columns left of the chart, for the numbers of the holes.
const LEFT: u16 = 3;

/// A harp with a scale on it.
#[derive(Clone, Copy, Debug)]
pub struct Chart<'a> {
    /// Theme and glyphs.
    pub look: &'a Look,
    /// The harp.
    pub harp: &'a Harp,
    /// The scale on its tonic.
    pub key: &'a ScaleInKey,
    /// What the player commands.
    pub ability: &'a Ability,
    /// A note to bring out wherever it lies.
    pub note: Option<Note>,
    /// Holes to bring out.
    pub chord: Option<&'a HarpChord>,
}

/// A row of the chart.
enum Row<'a> {
    Ruler(&'a Flight),
    Hole(&'a Flight, u8),
    /// The tab of the scale's notes of a hole.
    Tab(&'a Flight, u8),
}

impl Chart<'_> {
    /// Rows that the whole chart takes in `columns`.
    pub fn rows(&self, columns: u16) -> u16 {
        let flights = self.flights(columns);
        u16::from(self.harp.holes()).saturating_add(flights.len() as u16)
    }

    /// Rows that it takes with the tab of every note of the scale below its mark.
    pub(crate) fn rows_with_tab(&self, columns: u16) -> u16 {
        self.rows(columns).saturating_add(self.harp.holes().into())
    }

    /// The chart as text without styles, for a printer or a pipe.
    pub fn text(&self, columns: u16) -> String {
        let area = Rect::new(0, 0, columns, self.rows(columns));
        let mut buffer = Buffer::empty(area);
        self.render(area, &mut buffer);
        self.look.glyphs.settle(&mut buffer);
        crate::text::render(&buffer)
    }

    /// A column right of everything in the rows of the first n holes, for each n from one on: text can stand there
    /// beside the chart. Empty if the chart is broken into flights in `columns`.
    pub(crate) fn beside(&self, columns: u16) -> Vec<i32> {
        let flights = self.flights(columns);
        let [flight] = &flights[..] else { return Vec::new() };
        let end = |hole: u8| {
            let notes = self.harp.ways_of_hole(hole).filter(|way| self.shows(*way));
            let last = notes.filter_map(|way| self.harp.note(way)).max();
            last.map_or(0, |note| i32::from(LEFT) + flight.column(note) + 3)
        };
        (1..=self.harp.holes())
            .scan(0, |widest, hole| {
                *widest = end(hole).max(*widest);
                Some(*widest)
            })
            .collect()
    }

    fn flights(&self, columns: u16) -> Vec<Flight> {
        flights(self.harp, columns.saturating_sub(LEFT), |way| self.shows(way))
    }

    /// Overbends are shown where the scale has a use for them, everything else always.
    fn shows(&self, way: Way) -> bool {
        way.technique != Technique::Overbend || self.scale_note(way).is_some()
    }

    fn scale_note(&self, way: Way) -> Option<(ScaleNote, Direction)> {
        self.key.find_either(self.harp.note(way)?)
    }

    /// The names of the notes over their columns: those of the scale, and of the others the white keys.
    fn ruler(&self, pen: &mut Pen<'_>, y: i32, flight: &Flight) {
        let notes = (flight.range.0.midi()..=flight.range.1.midi()).filter_map(|midi| Note::new(midi.into()));
        for note in notes {
            let (name, style) = match self.key.find_either(note) {
                Some((own, _)) => (own.name.to_string(), self.look.theme.strong),
                None => (note.pitch_class().to_string(), self.look.theme.faint),
            };
            if self.key.find_either(note).is_some() || width(&name) == 1 {
                pen.text(flight.column(note), y, &name, style);
            }
        }
    }

    fn hole(&self, pen: &mut Pen<'_>, y: i32, (flight, hole): (&Flight, u8)) {
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let reeds = [Breath::Blow, Breath::Draw].map(|breath| self.harp.reed(hole, breath));
        if let [Some(blow), Some(draw)] = reeds {
            let (left, right) = (flight.column(blow.min(draw)), flight.column(blow.max(draw)));
            pen.line(left..right, y, glyphs.span, theme.faint);
        }
        for way in self.harp.ways_of_hole(hole).filter(|way| self.shows(*way)) {
            let Some(note) = self.harp.note(way) else { continue };
            let x = flight.column(note);
            match self.key.find_either(note) {
                // Where it is tight, the column behind a degree belongs to the mark a half step higher, if
                // there is one.
                Some(own) => {
                    let next = note.up(1);
                    let taken = |other: Way| self.shows(other) && self.harp.note(other) == next;
                    let free = !flight.is_tight() || !self.harp.ways_of_hole(hole).any(taken);
                    self.degree(pen, (x, y, free), (way, note), own);
                }
                None => pen.glyph(x, y, self.sign(way), self.brought_out(way, note, theme.faint)),
            }
        }
    }

    /// A degree: its number stands on the column of its pitch, its accidental and the sign of its technique before the
    /// number. Behind the number, where that column is free, stands how far the player commands it, or else an arrow if
    /// the scale has it only upwards or only downwards.
    fn degree(
        &self,
        pen: &mut Pen<'_>,
        (x, y, free): (i32, i32, bool),
        (way, note): (Way, Note),
        (own, direction): (ScaleNote, Direction),
    ) {
        let command = self.ability.mastery(way);
        let theme = &self.look.theme;
        let style = if command == Mastery::NotYet { theme.faint } else { theme.strong };
        let style = self.brought_out(way, note, style);
        let degree = own.step.degree.to_string();
        let start = x + 1 - width(&degree);
        pen.text(start, y, &degree, style);
        match command {
            Mastery::NotYet => {
                pen.glyph(start - 1, y, '(', style);
                if free {
                    pen.glyph(x + 1, y, ')', style);
                }
            }
            Mastery::Learning => pen.glyph(if free { x + 1 } else { start - 1 }, y, '~', style),
            Mastery::Sure if free => self.direction(pen, (x + 1, y), direction, style),
            Mastery::Sure => {}
        }
        let signed = command == Mastery::Learning && !free;
        if command != Mastery::NotYet && !signed && !matches!(way.technique, Technique::Bend(_)) {
            pen.glyph(start - 1, y, self.sign(way), style);
        }
    }

    /// The arrow of a note that the scale has only upwards or only downwards.
    fn direction(&self, pen: &mut Pen<'_>, (x, y): (i32, i32), direction: Direction, style: Style) {
        match direction {
            Direction::Both => {}
            Direction::Up => pen.glyph(x, y, self.look.glyphs.rising, style),
            Direction::Down => pen.glyph(x, y, self.look.glyphs.falling, style),
        }
    }

    /// `style`, brought out if the mark belongs to the note or chord looked at.
    fn brought_out(&self, way: Way, note: Note, style: Style) -> Style {
        let in_chord = self.chord.is_some_and(|chord| {
            way.technique == Technique::Natural
                && way.breath == chord.breath
                && chord.holes().any(|h| h == way.hole)
        });
        if self.note == Some(note) {
            style.remove_modifier(Modifier::DIM).patch(self.look.theme.chosen)
        } else if in_chord {
            style.remove_modifier(Modifier::DIM).add_modifier(Modifier::BOLD.union(Modifier::UNDERLINED))
        } else {
            style
        }
    }

    fn sign(&self, way: Way) -> char {
        let glyphs = &self.look.glyphs;
        match (way.technique, way.breath) {
            (Technique::Natural, Breath::Blow) => glyphs.blow,
            (Technique::Natural, Breath::Draw) => glyphs.draw,
            (Technique::Bend(_), _) => glyphs.bend,
            (Technique::Overbend, _) => glyphs.overbend,
        }
    }

    /// The tab of the notes of the scale, each below its degree; what would touch another is left out.
    fn tab(&self, pen: &mut Pen<'_>, y: i32, (flight, hole): (&Flight, u8)) {
        let mut notes: Vec<(Note, Way)> = self
            .harp
            .ways_of_hole(hole)
            .filter(|way| self.scale_note(*way).is_some())
            .filter_map(|way| Some((self.harp.note(way)?, way)))
            .collect();
        notes.sort_by_key(|(note, _)| *note);
        let mut end = -1;
        for (note, way) in notes {
            let (tab, x) = (self.look.tab(way), flight.column(note));
            let x = (x + 1 - width(&tab)).max(0);
            if x > end {
                end = pen.text(x, y, &tab, self.look.theme.faint);
            }
        }
    }

    fn number(&self, pen: &mut Pen<'_>, y: i32, hole: u8) {
        let theme = &self.look.theme;
        let in_chord = self.chord.is_some_and(|chord| chord.holes().any(|own| own == hole));
        let x = pen.text(0, y, &format!("{hole:>2}"), if in_chord { theme.strong } else { theme.plain });
        if in_chord {
            pen.glyph(x, y, self.look.glyphs.chosen, theme.voice);
        }
    }

    /// The first row to show where not all fit: the note that is looked at stays in sight.
    fn first_row(&self, rows: &[Row<'_>], room: i32) -> usize {
        let holds = |row: &Row<'_>| match row {
            Row::Hole(_, hole) => self
                .harp
                .ways_of_hole(*hole)
                .any(|way| self.note.is_some() && self.harp.note(way) == self.note),
            Row::Ruler(_) | Row::Tab(..) => false,
        };
        let looked_at = rows.iter().position(holds).map_or(0, count);
        let last = (count(rows.len()) - room).max(0);
        (looked_at - room / 2).clamp(0, last) as usize
    }
}

impl Widget for &Chart<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        self.draw(area, buf, false);
    }
}

impl Chart<'_> {
    /// Draws the chart, with the tab of the scale's notes in rows of their own if `with_tab`.
    pub(crate) fn draw(&self, area: Rect, buf: &mut Buffer, with_tab: bool) {
        let flights = self.flights(area.width);
        let rows: Vec<Row<'_>> = flights
            .iter()
            .flat_map(|flight| {
                let holes = flight.holes.clone().flat_map(move |hole| {
                    let tab = with_tab.then_some(Row::Tab(flight, hole));
                    std::iter::once(Row::Hole(flight, hole)).chain(tab)
                });
                std::iter::once(Row::Ruler(flight)).chain(holes)
            })
            .collect();
        let first = self.first_row(&rows, i32::from(area.height));
        for (y, row) in (0..i32::from(area.height)).zip(&rows[first..]) {
            if let Row::Hole(_, hole) = row {
                self.number(&mut Pen::new(buf, area), y, *hole);
            }
            let left = LEFT.min(area.width);
            let mut pen = Pen::new(buf, Rect { x: area.x + left, width: area.width - left, ..area });
            match row {
                Row::Ruler(flight) => self.ruler(&mut pen, y, flight),
                Row::Hole(flight, hole) => self.hole(&mut pen, y, (flight, *hole)),
                Row::Tab(flight, hole) => self.tab(&mut pen, y, (flight, *hole)),
            }
        }
    }
}
