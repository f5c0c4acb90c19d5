//! Reports as Markdown.

use crate::class::COLUMNS;
use crate::pictures::minutes;
use crate::words::{self, NOTE_COLUMNS, date};
use crate::{Class, Followed, NoteRow, Report, TempoRow};
use sheets::CAUTIONS;

impl Report {
    /// The same as Markdown, with tables for the pictures.
    pub fn to_markdown(&self) -> String {
        let tempo = |it: &TempoRow| {
            [it.name.clone(), words::tempo(it.clean), words::tempo(it.clean_then), it.last.clone()]
        };
        let days = self.played.iter().filter(|day| day.seconds > 0);
        let parts = [
            format!("# {}\n\n{}.\n", plain(&self.title), plain(&self.when)),
            list(&self.said),
            notes("Bends", &self.bends),
            table(
                "Clean tempo, beats a minute",
                ["In time", "Clean now", "Before", "Played last"],
                &self.tempi.iter().map(tempo).collect::<Vec<_>>(),
            ),
            self.programme.as_ref().map(programme).unwrap_or_default(),
            remarks(&self.remarks),
            table(
                "Minutes of practice",
                ["Day", "Minutes"],
                &days.map(|day| [date(day.day), minutes(*day).to_string()]).collect::<Vec<_>>(),
            ),
            notes("Plain notes", &self.plain),
            cautions(),
        ];
        parts.concat()
    }
}

fn programme(Followed { title, stands, open }: &Followed) -> String {
    let open: Vec<String> = open.iter().map(|(goal, how)| format!("{goal}; {how}")).collect();
    format!("\n## Programme\n\n{}: {}\n{}", plain(title), plain(stands), list(&open))
}

fn remarks(remarks: &[(String, String)]) -> String {
    if remarks.is_empty() {
        return String::new();
    }
    let remarks: Vec<String> = remarks.iter().map(|(day, words)| format!("{day}: {words}")).collect();
    format!("\n## Remarks\n{}", list(&remarks))
}

impl Class {
    /// The players side by side as Markdown.
    pub fn to_markdown(&self) -> String {
        let rows: Vec<_> = self.rows.iter().map(|row| row.cells.clone()).collect();
        let head = format!("# Players side by side\n\n{}.\n", plain(&self.when));
        head + &table("What was practised", COLUMNS, &rows) + &cautions()
    }
}

fn notes(title: &str, rows: &[NoteRow]) -> String {
    table(title, NOTE_COLUMNS, &rows.iter().map(NoteRow::cells).collect::<Vec<_>>())
}

fn table<const N: usize>(title: &str, columns: [&str; N], rows: &[[String; N]]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let rows: String =
        rows.iter().map(|row| line(&row.iter().map(|cell| plain(cell)).collect::<Vec<_>>())).collect();
    let (columns, rule) = (line(&columns.map(str::to_owned)), " --- |".repeat(N));
    format!("\n## {title}\n\n{columns}|{rule}\n{rows}")
}

fn list(items: &[String]) -> String {
    let items: Vec<String> = items.iter().map(|item| format!("* {}\n", plain(item))).collect();
    if items.is_empty() { String::new() } else { format!("\n{}", items.concat()) }
}

fn cautions() -> String {
    format!("\n{}\n", CAUTIONS[..2].join(" "))
}

/// A text on one line, with every sign escaped that Markdown, or HTML within Markdown, would act on.
fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => plain.push_str("&amp;"),
            '<' => plain.push_str("&lt;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '#' | '~' | '!' => plain.extend(['\\', c]),
            c if c.is_control() => plain.push(' '),
            c => plain.push(c),
        }
    }
    plain
}
