//! The page of signs and keys, made from the glyphs, the tab legend and the key table: what belongs to the
//! screen first.

use crate::View;
use crate::day_plan;
use crate::keys::{Command, KeyMap, Row, TABLE};
use crate::pen::{Pen, count, width};
use crate::window::Window;
use crate::{Glyphs, Look, parts};
use course::Part;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// From this width on, signs and keys stand side by side.
const WIDE: u16 = 96;

/// The help page of one view.
pub(crate) struct Help<'a> {
    /// Theme and glyphs.
    pub(crate) look: &'a Look,
    /// The keys in force.
    pub(crate) keys: &'a KeyMap,
    /// The view it was asked for in.
    pub(crate) view: View,
    /// Lines scrolled away at the top.
    pub(crate) scrolled: usize,
}

/// A line of the page: a key or a sign, and what it does or means; a heading has no sign.
#[derive(Clone)]
struct Line {
    sign: String,
    text: String,
}

impl Line {
    fn new(sign: impl Into<String>, text: impl Into<String>) -> Self {
        Self { sign: sign.into(), text: text.into() }
    }

    fn heading(text: &str) -> Self {
        Self::new("", text)
    }
}

impl Help<'_> {
    /// The signs of the screen, and tab.
    fn signs(&self) -> Vec<Line> {
        let mut lines = vec![Line::heading("Signs on this screen")];
        lines.extend(self.signs_of_view().into_iter().map(|(sign, text)| Line::new(sign, text)));
        if self.view == View::Today {
            lines.push(Line::heading("What the blocks are for"));
            lines.extend(KINDS.map(|(part, text)| Line::new(day_plan::part(part), text)));
        }
        lines.push(Line::heading("Tab"));
        lines.extend(self.look.tab.legend().into_iter().map(|(sign, text)| Line::new(sign, text)));
        lines
    }

    fn signs_of_view(&self) -> Vec<(char, &'static str)> {
        let g = &self.look.glyphs;
        let reeds = [
            (g.blow, "the blow reed of a hole"),
            (g.draw, "the draw reed"),
            (g.bend, "a bend, between the two reeds"),
            (g.overbend, "an overblow or overdraw, beyond them"),
        ];
        let verdicts = [
            (g.centred, "landed, and centred"),
            (g.in_tune, "landed, in tune"),
            (g.flat, "flat, or further to the left"),
            (g.sharp, "sharp, or further to the right"),
            (g.missed, "another note, unsteady, or let go early"),
            (g.unknown, "not heard, or nothing can be told"),
        ];
        let (reeds, verdicts) = (reeds.to_vec(), verdicts.to_vec());
        let edge = (g.edge, "where in tune ends; flat is left, sharp is right");
        let more = match self.view {
            View::Today => vec![(g.chosen, "the block that is chosen")],
            View::Progress => vec![
                (g.bend, "a bend that was not tried; a number: of 100 tries so many would land"),
                (g.overbend, "an overblow or overdraw that was not tried"),
                (g.coming, "a day without practice, among the bars of the days"),
            ],
            View::Home => vec![
                (g.target, "a note of the drill, scale or phrase"),
                (g.chosen, "what is chosen"),
                (g.missed, "not for this harp; choose it to see why"),
                (g.rising, "last time better than the three times before"),
                (g.falling, "last time worse"),
            ],
            View::Drill => vec![
                (g.target, "what is asked for"),
                (g.now, "your pitch now; flat is left, sharp is right"),
                edge,
                (g.held, "how long it has been held, of the time asked for"),
                (g.before, "an earlier try; in the row of tries, one to come"),
            ],
            View::Run => run_signs(g),
            View::Jam => jam_signs(g),
            View::Ear => vec![
                (g.centred, "right"),
                (g.missed, "another answer"),
                (g.unknown, "nothing can be told: it is asked again"),
                (g.minus, "passed"),
                (g.coming, "a question to come"),
            ],
            View::Listen => vec![
                (g.upright, "your pitch, through all holes"),
                (g.now, "your pitch now; beside a hole, it may be this one"),
            ],
            View::Summary => vec![edge],
            View::Map => vec![
                ('(', "a degree in brackets is out of reach"),
                ('~', "it does not come every time"),
                (g.rising, "the scale has it on its way up only"),
                (g.falling, "the scale has it on its way down only"),
                (g.chosen, "the chord looked at, and its holes"),
            ],
        };
        match self.view {
            View::Summary => [verdicts, more].concat(),
            View::Drill => [reeds, more, verdicts].concat(),
            View::Run | View::Jam | View::Ear | View::Today => more,
            _ => [reeds, more].concat(),
        }
    }

    /// The keys of the screen.
    fn own_keys(&self) -> Vec<Line> {
        let mut lines = vec![Line::heading("Keys on this screen")];
        lines.extend(KeyMap::rows(self.view).map(|row| self.key(row)));
        lines
    }

    /// The keys that work on other screens only, screen by screen, each on the first screen where it works.
    fn other_keys(&self) -> Vec<Vec<Line>> {
        let mut screens = Vec::new();
        let mut told: Vec<Command> = KeyMap::rows(self.view).map(|row| row.command).collect();
        for (view, name) in SCREENS {
            let new: Vec<&Row> = TABLE
                .iter()
                .filter(|row| row.views.contains(&view) && !told.contains(&row.command))
                .collect();
            if new.is_empty() {
                continue;
            }
            told.extend(new.iter().map(|row| row.command));
            let keys = new.into_iter().map(|row| self.key(row));
            screens.push(std::iter::once(Line::heading(name)).chain(keys).collect());
        }
        screens
    }

    fn key(&self, row: &Row) -> Line {
        let presses = self.keys.presses(row.command).iter();
        let keys: Vec<String> = presses.map(|press| parts::key_name(&press.to_string(), self.look)).collect();
        Line::new(keys.join(" or "), row.help)
    }

    /// To how many places the page can be scrolled on a screen of this area: at the last one its end is seen.
    pub(crate) fn places(&self, area: Rect) -> usize {
        let beyond = |(lines, column): &(Vec<Line>, Rect)| {
            rows(lines, i32::from(column.width)).len().saturating_sub(usize::from(column.height))
        };
        1 + self.columns(area).iter().map(beyond).max().unwrap_or(0)
    }

    /// The lines of each column of the page, and where it stands.
    fn columns(&self, area: Rect) -> Vec<(Vec<Line>, Rect)> {
        let page = Rect { y: area.y + 2, height: area.height.saturating_sub(3), ..area };
        let (signs, own, other) = (self.signs(), self.own_keys(), self.other_keys());
        if area.width < WIDE {
            return vec![([signs, own, other.concat()].concat(), page)];
        }
        // What belongs to other screens goes below the shorter of the two.
        let (mut first, mut second) = (signs, own);
        for mut screen in other {
            if first.len() < second.len() {
                first.append(&mut screen);
            } else {
                second.append(&mut screen);
            }
        }
        let left = Rect { width: area.width / 2, ..page };
        let right = Rect { x: left.x + left.width, width: area.width - left.width, ..page };
        vec![(first, left), (second, right)]
    }

    /// Draws lines into a column of the page.
    fn column(&self, lines: &[Line], area: Rect, buf: &mut Buffer) {
        let theme = &self.look.theme;
        let mut pen = Pen::new(buf, area);
        let (indent, rows) = (indent(lines), rows(lines, pen.width()));
        let window = Window::scrolled(self.scrolled, rows.len(), pen.height().min(count(rows.len())));
        for (y, row) in window.seen().filter_map(|(y, index)| Some((y, rows.get(index)?))) {
            let heading = row.sign.is_empty();
            pen.text(2, y, &row.sign, theme.key);
            let x = if heading { 2 } else { indent };
            pen.text(x, y, &row.text, if heading { theme.strong } else { theme.plain });
        }
        window.ends(&mut pen, (2, 0), self.look);
    }
}

/// The column in which the texts of lines begin.
fn indent(lines: &[Line]) -> i32 {
    lines.iter().map(|line| width(&line.sign)).max().unwrap_or(0) + 4
}

/// Lines as the rows of a column of this width: long ones are broken, and a blank row stands above each heading
/// but the first.
fn rows(lines: &[Line], column: i32) -> Vec<Line> {
    let indent = indent(lines);
    let mut rows: Vec<Line> = Vec::new();
    for line in lines {
        let heading = line.sign.is_empty();
        if heading && !rows.is_empty() {
            rows.push(Line::heading(""));
        }
        let mut sign = line.sign.clone();
        let room = if heading { column - 3 } else { column - indent - 1 };
        for text in parts::broken(&line.text, room) {
            // The rest of a broken line has a blank for its sign, so that it is no heading.
            let rest = if heading { "" } else { " " };
            rows.push(Line::new(std::mem::replace(&mut sign, rest.to_owned()), text));
        }
    }
    rows
}

/// The signs of a run in time.
fn run_signs(g: &Glyphs) -> Vec<(char, &'static str)> {
    vec![
        (g.chosen, "now"),
        (g.now, "your pitch now"),
        ('~', "joined to the note before, without a new attack"),
        (g.centred, "right, and tight on the beat"),
        (g.in_tune, "right, in pitch and in time"),
        (g.flat, "early, or flat: to the left"),
        (g.sharp, "late, or sharp: to the right"),
        (g.missed, "another note, or missing"),
        (g.unknown, "its pitch cannot be told"),
        (g.edge, "where in time ends, either side of the beat"),
    ]
}

/// The signs of a jam.
fn jam_signs(g: &Glyphs) -> Vec<(char, &'static str)> {
    vec![
        (g.chosen, "now"),
        (g.centred, "a note of the chord under it"),
        (g.in_tune, "another note of the scale"),
        (g.before, "outside of both, which is no fault"),
        (g.unknown, "it cannot be told"),
        (g.edge, "a beat of the bar"),
        (g.span, "a note that was held"),
    ]
}

/// The kinds of blocks of a day.
const KINDS: [(Part, &str); 8] = [
    (Part::WarmUp, "long notes, and bends that you can count on"),
    (Part::Due, "comes back today: it failed, or its gap is over"),
    (Part::Unheard, "you are taken to have it, but it was not heard yet"),
    (Part::Weak, "the hardest of what you are learning"),
    (Part::Musical, "a scale or a phrase in time"),
    (Part::New, "one step beyond what you can count on"),
    (Part::Again, "failed today, so once more"),
    (Part::Programme, "your programme asks for it"),
];

/// Every screen by what it is called on this page.
const SCREENS: [(View, &str); 10] = [
    (View::Today, "On the screen of today"),
    (View::Home, "In the list of drills"),
    (View::Drill, "In a drill"),
    (View::Summary, "At the end of a drill"),
    (View::Run, "In time"),
    (View::Jam, "Over a form"),
    (View::Ear, "By ear"),
    (View::Listen, "While you play freely"),
    (View::Map, "On the map"),
    (View::Progress, "Where you see what has changed"),
];

impl Widget for &Help<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        for (lines, column) in self.columns(area) {
            self.column(&lines, column, buf);
        }
        let mut pen = Pen::new(buf, area);
        parts::header(&mut pen, 0, self.look, &[("Signs and keys", "")]);
        parts::rule(&mut pen, 1, self.look);
        let keys = [
            (Command::Help, "back"),
            (Command::Down, "more"),
            (Command::Up, "up again"),
            (Command::PageDown, "a page"),
        ];
        let foot = pen.height() - 1;
        parts::key_line(&mut pen, foot, (self.look, self.keys), &keys);
    }
}
