//! Sheets as plain text, 80 columns wide.

mod grid;
mod stair;

use crate::{CAUTIONS, LOG_COLUMNS, OctaveTable, Sheet, Stair};
use std::fmt::Write;

/// Columns of the page.
pub(crate) const WIDTH: usize = 80;

const MARKS: &str = "▲ blow, ▼ draw, ┼ bend, ○ overblow or overdraw; numbers under the marks are degrees of the scale; \
                     dots stand under the tonic.";

const GRID: &str = "What blowing sounds stands above the numbers of the holes, what drawing sounds below them, bends and \
                    overbends outwards. A degree of the scale stands over the name of its note.";

/// How many lines there are to write down practice.
const LOG_LINES: usize = 8;

/// Which characters a plain text may hold.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Letters {
    /// ♭, ♯, triangles and lines.
    #[default]
    Unicode,
    /// Nothing beyond ASCII: b, #, ^ for blow, v for draw.
    Ascii,
}

impl Letters {
    /// A text in these letters.
    pub fn spell(self, text: &str) -> String {
        if self == Self::Unicode {
            return text.to_owned();
        }
        // Half-diminished first: its sign has no single letter that says the same.
        let text = text.replace("ø7", "m7b5").replace("°", "dim").replace('½', " 1/2");
        text.chars()
            .map(|c| match c {
                '♭' => 'b',
                '♯' => '#',
                '▲' => '^',
                '▼' => 'v',
                '○' => 'o',
                // Tab in arrows becomes tab in signs.
                '┼' | '↑' => '+',
                '─' | '–' | '↓' => '-',
                '┄' | '·' => '.',
                c if c.is_ascii() => c,
                _ => '?',
            })
            .collect()
    }
}

/// The picture of a scale on a harp as lines of text.
pub(crate) fn stair(stair: &Stair, letters: Letters) -> Vec<String> {
    stair::draw(stair).iter().map(|line| letters.spell(line).trim_end().to_owned()).collect()
}

/// A sheet as lines of text, each ending with a line break.
pub(crate) fn write(sheet: &Sheet, letters: Letters) -> String {
    let mut page = TextPage { lines: Vec::new(), letters };
    page.heading(&sheet.title, '=');
    for fact in &sheet.facts {
        page.paragraph(fact);
    }
    page.gap();
    page.lines.extend(stair(&sheet.stair, letters));
    page.paragraph(MARKS);
    if sheet.stair.has_gaps() {
        page.paragraph("[Brackets] are around what is out of reach.");
    }
    page.heading("Hole by hole", '-');
    page.lines.append(&mut grid::draw(&sheet.grid, letters));
    page.paragraph(GRID);
    page.heading("Notes, octave by octave", '-');
    for octave in &sheet.octaves {
        page.octave(octave);
    }
    page.heading("Chords under the mouth", '-');
    page.chords(sheet);
    page.heading("Signs, and care", '-');
    page.signs(sheet);
    page.heading("Practice", '-');
    page.log();
    page.lines.join("\n") + "\n"
}

struct TextPage {
    lines: Vec<String>,
    letters: Letters,
}

impl TextPage {
    fn gap(&mut self) {
        if self.lines.last().is_some_and(|line| !line.is_empty()) {
            self.lines.push(String::new());
        }
    }

    fn heading(&mut self, text: &str, underline: char) {
        let text = self.letters.spell(text);
        self.gap();
        self.lines.push(text.clone());
        self.lines.push(underline.to_string().repeat(text.chars().count()));
    }

    fn paragraph(&mut self, text: &str) {
        self.lines.append(&mut wrap(&self.letters.spell(text), WIDTH));
    }

    /// Rows of cells in columns as wide as their widest cell; the last one is wrapped into what is left.
    fn table(&mut self, rows: &[Vec<String>]) {
        let rows: Vec<Vec<String>> =
            rows.iter().map(|row| row.iter().map(|cell| self.letters.spell(cell)).collect()).collect();
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let widths: Vec<usize> = (0..columns.saturating_sub(1))
            .map(|column| {
                rows.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count()).max().unwrap_or(0)
            })
            .collect();
        let indent = 2 + widths.iter().map(|width| width + 2).sum::<usize>();
        for row in rows {
            let Some((last, front)) = row.split_last() else { continue };
            let mut line = "  ".to_owned();
            for (cell, width) in front.iter().zip(&widths) {
                // Writing to a string cannot fail.
                let _ = write!(line, "{cell:<width$}  ");
            }
            let mut rest = wrap(last, WIDTH.saturating_sub(indent)).into_iter();
            line.push_str(&rest.next().unwrap_or_default());
            self.lines.push(line.trim_end().to_owned());
            self.lines.extend(rest.map(|more| format!("{}{more}", " ".repeat(indent))));
        }
    }

    fn octave(&mut self, octave: &OctaveTable) {
        self.gap();
        self.paragraph(&octave.name);
        let rows: Vec<Vec<String>> = octave
            .notes
            .iter()
            .map(|note| {
                let reach = if note.reachable { "" } else { ", out of reach" };
                vec![
                    note.degree.clone(),
                    note.name.clone(),
                    note.tab.clone(),
                    format!("{}{reach}", note.words),
                ]
            })
            .collect();
        self.table(&rows);
    }

    fn chords(&mut self, sheet: &Sheet) {
        let chords = sheet.chords.iter();
        self.table(
            &chords
                .map(|row| cells([&row.symbol, &row.function, &row.notes, &row.holes]))
                .collect::<Vec<_>>(),
        );
        self.gap();
        self.paragraph("The main chords of the key");
        let places = sheet.places.iter();
        self.table(
            &places
                .map(|row| cells([&row.function, &row.symbol, &row.holes, &row.missing]))
                .collect::<Vec<_>>(),
        );
        self.gap();
        self.paragraph("Two notes at once");
        for row in &sheet.intervals {
            let both = [("blow", &row.blow), ("draw", &row.draw)];
            let rows = both.iter().filter(|(_, pairs)| !pairs.is_empty());
            self.table(
                &rows
                    .map(|(breath, pairs)| cells([&format!("{:<7}", row.name), breath, pairs]))
                    .collect::<Vec<_>>(),
            );
        }
    }

    /// Lines to write on.
    fn log(&mut self) {
        let row = |cells: [&str; 3]| {
            cells
                .iter()
                .zip(RULED)
                .map(|(cell, width)| format!("{cell:width$}"))
                .collect::<Vec<_>>()
                .join("  ")
        };
        self.lines.push(row(LOG_COLUMNS).trim_end().to_owned());
        let rules = RULED.map(|width| "_".repeat(width));
        for _ in 0..LOG_LINES {
            self.gap();
            self.lines.push(rules.join("  "));
        }
    }

    fn signs(&mut self, sheet: &Sheet) {
        self.table(&sheet.signs.iter().map(|(sign, meaning)| cells([sign, meaning])).collect::<Vec<_>>());
        for caution in CAUTIONS {
            self.gap();
            self.paragraph(caution);
        }
    }
}

/// Widths of the columns in which practice is written down, in characters.
const RULED: [usize; 3] = [12, 8, 56];

fn cells<const N: usize>(texts: [&str; N]) -> Vec<String> {
    texts.map(str::to_owned).to_vec()
}

/// Breaks a text into lines of at most `width` characters, at spaces; a longer word stands alone.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
