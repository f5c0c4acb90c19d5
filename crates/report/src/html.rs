//! Reports as HTML documents that need nothing else.

use crate::class::COLUMNS;
use crate::pictures::{self, minutes};
use crate::words::{self, NOTE_COLUMNS, date};
use crate::{Class, Followed, NoteRow, Report};
use course::PlayedDay;
use sheets::{CAUTIONS, escape};

const STYLE: &str = include_str!("style.css");

/// What the stair shows.
const LEGEND: &str = "Pitch runs from left to right, each hole is a row. In each cell its tab, how many of a hundred tries landed, \
                      and how many cents off they were on average: + is sharp, − is flat. The fuller the shade, the more landed; a \
                      dotted cell was not tried.";

/// What the columns of the notes mean.
const COLUMNS_OF_NOTES: &str = "Cents off are the mean and the spread (one standard deviation). Expected is the chance that the next try \
                                lands, from all tries and how long ago they were, and between what it lies nine times in ten.";

impl Report {
    /// The page of one player.
    pub fn to_html(&self) -> String {
        let said: Vec<String> = self.said.iter().map(|said| format!("<p>{}</p>\n", escape(said))).collect();
        let days = u32::try_from(self.played.len()).unwrap_or(1);
        let parts = [
            format!(
                "<header>\n<h1>{}</h1>\n<p class=\"when\">{}</p>\n",
                escape(&self.title),
                escape(&self.when)
            ),
            format!("{}</header>\n", said.concat()),
            self.stair(),
            bends(&self.bends, days),
            format!("<div class=\"side\">\n<div>\n{}{}", self.minutes(), self.programme()),
            format!("{}</div>\n<div>\n{}</div>\n</div>\n", self.remarks(), self.tempi()),
            plain(&self.plain, days),
            cautions(),
        ];
        document(&self.title, &parts.concat())
    }

    fn stair(&self) -> String {
        if self.stair.iter().all(|step| step.tries.is_none()) {
            return String::new();
        }
        section(
            "The stair of the harp",
            &format!(
                "<figure>\n{}<figcaption>{LEGEND}</figcaption>\n</figure>\n",
                wide("The stair", &crate::heat::stair(&self.stair))
            ),
        )
    }

    fn minutes(&self) -> String {
        let row = |day: &PlayedDay| cells(&[&date(day.day), &minutes(*day).to_string()]);
        let rows: Vec<String> = self.played.iter().filter(|day| day.seconds > 0).map(row).collect();
        if rows.is_empty() {
            return String::new();
        }
        let table = table("Days with practice", &["Day", "Minutes"], &rows.concat());
        section(
            "Minutes of practice",
            &format!(
                "<figure>\n{}</figure>\n<details>\n<summary>Day by day</summary>\n{table}</details>\n",
                pictures::bars(&self.played)
            ),
        )
    }

    fn tempi(&self) -> String {
        let row = |it: &crate::TempoRow| {
            cells(&[&it.name, &words::tempo(it.clean), &words::tempo(it.clean_then), &it.last])
        };
        let rows: Vec<String> = self.tempi.iter().map(row).collect();
        if rows.is_empty() {
            return String::new();
        }
        let columns = ["In time", "Clean now", "Before", "Played last"];
        section("Clean tempo", &table("Beats a minute", &columns, &rows.concat()))
    }

    fn programme(&self) -> String {
        let Some(Followed { title, stands, open }) = &self.programme else { return String::new() };
        let open: Vec<String> =
            open.iter().map(|(goal, how)| format!("<li>{}; {}</li>\n", escape(goal), escape(how))).collect();
        let list = if open.is_empty() { String::new() } else { format!("<ul>\n{}</ul>\n", open.concat()) };
        section("Programme", &format!("<p>{}: {}</p>\n{list}", escape(title), escape(stands)))
    }

    fn remarks(&self) -> String {
        if self.remarks.is_empty() {
            return String::new();
        }
        let row = |(day, text): &(String, String)| format!("<li>{}: {}</li>\n", escape(day), escape(text));
        let rows: Vec<String> = self.remarks.iter().map(row).collect();
        section("Remarks", &format!("<ul>\n{}</ul>\n", rows.concat()))
    }
}

impl Class {
    /// The players side by side.
    pub fn to_html(&self) -> String {
        let row = |row: &crate::Row| {
            let texts: Vec<&str> = row.cells.iter().map(String::as_str).collect();
            cells(&texts)
        };
        let rows: Vec<String> = self.rows.iter().map(row).collect();
        let table = table("One row for each player", &COLUMNS, &rows.concat());
        let head = format!(
            "<header>\n<h1>Players side by side</h1>\n<p class=\"when\">{}</p>\n</header>\n",
            escape(&self.when)
        );
        let body = format!(
            "{head}{}{}",
            section("What was practised", &wide("What was practised", &table)),
            cautions()
        );
        document("Players side by side", &body)
    }
}

fn document(title: &str, body: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n\
         <body>\n<main>\n{body}</main>\n</body>\n</html>\n",
        escape(title)
    )
}

fn section(title: &str, body: &str) -> String {
    format!("<section>\n<h2>{}</h2>\n{body}</section>\n", escape(title))
}

/// A box of its own for what is wider than a narrow window: it scrolls by itself, with the keyboard too.
fn wide(name: &str, what: &str) -> String {
    format!("<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"{name}\">\n{what}</div>\n")
}

fn bends(rows: &[NoteRow], days: u32) -> String {
    if rows.is_empty() {
        return String::new();
    }
    section("Bends", &wide("Bends", &note_table(rows, days)))
}

/// Plain notes are of less interest, and are not printed.
fn plain(rows: &[NoteRow], days: u32) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let table = wide("Plain notes", &note_table(rows, days));
    format!("<details class=\"plain\">\n<summary>Plain notes</summary>\n{table}</details>\n")
}

fn note_table(rows: &[NoteRow], days: u32) -> String {
    let row = |row: &NoteRow| {
        let [tab, texts @ ..] = row.cells().map(|text| escape(&text));
        let cells = texts.map(|text| format!("<td>{text}</td>")).concat();
        let trend = pictures::trend(row, days);
        format!("<tr><th scope=\"row\">{tab}</th>{cells}<td>{trend}</td></tr>\n")
    };
    let rows: Vec<String> = rows.iter().map(row).collect();
    let columns = [&NOTE_COLUMNS[..], &["Trend of cents off"]].concat();
    table(COLUMNS_OF_NOTES, &columns, &rows.concat())
}

fn cautions() -> String {
    format!("<footer>\n<p>{}</p>\n</footer>\n", escape(&CAUTIONS[..2].join(" ")))
}

/// A row whose first cell names it.
fn cells(texts: &[&str]) -> String {
    let cells = texts.iter().enumerate().map(|(index, text)| {
        let text = escape(text);
        if index == 0 { format!("<th scope=\"row\">{text}</th>") } else { format!("<td>{text}</td>") }
    });
    format!("<tr>{}</tr>\n", cells.collect::<String>())
}

fn table(caption: &str, columns: &[&str], rows: &str) -> String {
    let columns: Vec<String> =
        columns.iter().map(|column| format!("<th scope=\"col\">{}</th>", escape(column))).collect();
    let columns = columns.concat();
    format!(
        "<table>\n<caption>{}</caption>\n<thead><tr>{columns}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n",
        escape(caption)
    )
}
