//! Sheets as one HTML document that needs no other file: headings, real tables, the picture inside it, printable.

use crate::svg::{self, About, escape};
use crate::{CAUTIONS, Grid, GridCell, GridRow, LOG_COLUMNS, OctaveTable, Paper, Sheet, page};

const STYLE: &str = "\
body { font: 1rem/1.45 Helvetica, Arial, 'Liberation Sans', sans-serif; max-width: 60rem; margin: 2rem auto; \
padding: 0 1rem; color: #000; background: #fff; }
h1, h2, h3 { line-height: 1.2; margin: 1.2em 0 .4em; }
p { margin: .2em 0; }
figure { margin: .6em 0; }
svg { width: 100%; height: auto; }
table { border-collapse: collapse; margin: .4em 0; }
caption { text-align: left; font-weight: bold; padding: .2em 0; }
th, td { text-align: left; padding: .1em .8em .1em 0; border-bottom: 1px solid #bbb; vertical-align: top; }
thead th { font-weight: normal; color: #444; border-bottom-color: #000; }
.side { display: grid; grid-template-columns: repeat(auto-fit, minmax(19rem, 1fr)); gap: 0 2rem; }
.far { color: #595959; }
.tab { font-weight: bold; white-space: nowrap; }
.grid { overflow-x: auto; }
.grid th, .grid td { padding: .1em .35em; border: 0; white-space: nowrap; }
.grid td, .grid thead th + th { text-align: center; min-width: 2.6em; }
.grid tbody + tbody tr:first-child > * { border-top: 2px solid #000; }
.grid td.own { border: 1px solid #000; }
.grid td.tonic { border-width: 3px; }
.paper { display: none; }
@media print { body { font-size: 8.5pt; margin: 0; padding: 0; max-width: none; } nav { display: none; } \
.paper { display: block; } .paper table { width: 100%; } .paper td { height: 7.4mm; } .paper th:last-child { width: 74%; } \
.sheet + .sheet { break-before: page; } table, figure { break-inside: avoid; } h2, h3, caption { break-after: avoid; } \
.side { grid-template-columns: repeat(2, 1fr); }\
 h1, h2, h3 { margin: .6em 0 .2em; } }
";

/// How many lines there are to write down practice.
const LOG_LINES: usize = 10;

/// A document of one sheet, or of several under a title and a list of them.
pub(crate) fn write(title: &str, sheets: &[Sheet], paper: Paper) -> String {
    let several = sheets.len() > 1;
    let mut body = String::new();
    if several {
        body = format!("<h1>{}</h1>\n{}", escape(title), contents(sheets));
    }
    for (number, sheet) in (1..).zip(sheets) {
        body.push_str(&section(sheet, number, if several { 2 } else { 1 }));
    }
    let size = paper.css();
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>{}</title>\n\
         <style>\n{STYLE}@page {{ size: {size}; margin: 14mm; }}\n</style>\n</head>\n<body>\n<main>\n{body}</main>\n\
         </body>\n</html>\n",
        escape(title)
    )
}

fn contents(sheets: &[Sheet]) -> String {
    let items: Vec<String> = (1..)
        .zip(sheets)
        .map(|(number, sheet)| format!("<li><a href=\"#s{number}\">{}</a></li>\n", escape(&sheet.title)))
        .collect();
    format!("<nav aria-label=\"Sheets\">\n<ol>\n{}</ol>\n</nav>\n", items.concat())
}

fn section(sheet: &Sheet, number: usize, level: u8) -> String {
    let title = escape(&sheet.title);
    let facts: Vec<String> = sheet.facts.iter().map(|fact| format!("<p>{}</p>\n", escape(fact))).collect();
    let below = level + 1;
    let parts = [
        format!("<section class=\"sheet\" aria-labelledby=\"s{number}\">\n"),
        format!("<h{level} id=\"s{number}\">{title}</h{level}>\n{}", facts.concat()),
        picture(sheet, number),
        format!("<h{below}>Hole by hole</h{below}>\n{}", grid(&sheet.grid, sheet.stair.has_gaps())),
        format!("<h{below}>Notes, octave by octave</h{below}>\n<div class=\"side\">\n"),
        sheet.octaves.iter().map(octave).collect::<Vec<_>>().concat(),
        format!("</div>\n<h{below}>Chords under the mouth</h{below}>\n{}", chords(sheet)),
        format!("<div class=\"paper\">\n<h{below}>Practice</h{below}>\n{}</div>\n", log()),
        format!("<h{below}>Signs, and care</h{below}>\n{}</section>\n", signs(sheet)),
    ];
    parts.concat()
}

fn picture(sheet: &Sheet, number: usize) -> String {
    let (page, view) = page::picture(sheet);
    let description = sheet.stair.in_words();
    let about = About { title: &sheet.title, description: &description, number, view: Some(view) };
    let marks = "Triangles are reeds, blow pointing up and draw pointing down; diamonds are bends, circles are overblows \
                 and overdraws. What is small and hollow is not in the scale.";
    let gaps = if sheet.stair.has_gaps() { " [Brackets] are around what is out of reach." } else { "" };
    format!("<figure>\n{}<figcaption>{marks}{gaps}</figcaption>\n</figure>\n", svg::write(&[page], &about))
}

/// The grid as a table whose rows read well by themselves: "blow, half step".
fn grid(grid: &Grid, gaps: bool) -> String {
    let row = |row: &GridRow| {
        let cells: Vec<String> = row.cells.iter().map(|cell| grid_cell(cell.as_ref())).collect();
        format!("<tr><th scope=\"row\">{}</th>{}</tr>\n", escape(&row.words), cells.concat())
    };
    let holes: Vec<String> = grid.holes.iter().map(u8::to_string).collect();
    let columns: Vec<&str> = std::iter::once("Hole").chain(holes.iter().map(String::as_str)).collect();
    let rows = |rows: &[GridRow]| rows.iter().map(row).collect::<Vec<_>>().concat();
    let rows = format!("{}</tbody>\n<tbody>\n{}", rows(&grid.blow), rows(&grid.draw));
    let gaps = if gaps { "; [brackets] are around what is out of reach" } else { "" };
    let caption =
        format!("A frame with a degree is around what the scale has, a thick one around the tonic{gaps}");
    format!("<div class=\"grid\">\n{}</div>\n", rows_under(&caption, &columns, &rows))
}

fn grid_cell(cell: Option<&GridCell>) -> String {
    let Some(cell) = cell else { return "<td></td>".to_owned() };
    let name = escape(&cell.name);
    match &cell.degree {
        None => format!("<td class=\"far\">{name}</td>"),
        Some(degree) => {
            let class = if cell.tonic { "own tonic" } else { "own" };
            let (open, close) = if cell.reachable { ("", "") } else { ("[", "]") };
            format!("<td class=\"{class}\">{open}<b>{}</b> {name}{close}</td>", escape(degree))
        }
    }
}

/// Empty lines to write on; they show on paper only.
fn log() -> String {
    let cells = "<td></td>".repeat(LOG_COLUMNS.len());
    rows_under("What I practised", &LOG_COLUMNS, &format!("<tr>{cells}</tr>\n").repeat(LOG_LINES))
}

fn octave(table: &OctaveTable) -> String {
    let rows: Vec<String> = table
        .notes
        .iter()
        .map(|note| {
            let (class, reach) = if note.reachable { ("", "") } else { (" class=\"far\"", ", out of reach") };
            format!(
                "<tr{class}><th scope=\"row\">{}</th><td>{}</td><td class=\"tab\">{}</td><td>{}{reach}</td></tr>\n",
                escape(&note.degree),
                escape(&note.name),
                escape(&note.tab),
                escape(&note.words)
            )
        })
        .collect();
    rows_under(&table.name, &["Degree", "Note", "Tab", "In words"], &rows.concat())
}

fn chords(sheet: &Sheet) -> String {
    let chords: Vec<String> =
        sheet.chords.iter().map(|row| cells(&[&row.symbol, &row.function, &row.notes, &row.holes])).collect();
    let places: Vec<String> = sheet
        .places
        .iter()
        .map(|row| cells(&[&row.function, &row.symbol, &row.holes, &row.missing]))
        .collect();
    let pairs: Vec<String> =
        sheet.intervals.iter().map(|row| cells(&[row.name, &row.blow, &row.draw])).collect();
    [
        rows_under("Chords on one breath", &["Chord", "In this key", "Notes", "Holes"], &chords.concat()),
        rows_under(
            "The main chords of the key",
            &["In this key", "Chord", "Best place", "Sounds"],
            &places.concat(),
        ),
        rows_under("Two notes at once", &["Interval", "Blow", "Draw"], &pairs.concat()),
    ]
    .concat()
}

fn signs(sheet: &Sheet) -> String {
    let rows: Vec<String> = sheet.signs.iter().map(|(sign, meaning)| cells(&[sign, meaning])).collect();
    let cautions: Vec<String> =
        CAUTIONS.iter().map(|caution| format!("<p>{}</p>\n", escape(caution))).collect();
    let table = rows_under("Signs of the tab", &["Sign", "Meaning"], &rows.concat());
    format!("{table}{}", cautions.concat())
}

/// A row whose first cell names it.
fn cells(texts: &[&str]) -> String {
    let cells: Vec<String> = texts
        .iter()
        .enumerate()
        .map(|(index, text)| {
            let text = escape(text);
            if index == 0 { format!("<th scope=\"row\">{text}</th>") } else { format!("<td>{text}</td>") }
        })
        .collect();
    format!("<tr>{}</tr>\n", cells.concat())
}

fn rows_under(caption: &str, columns: &[&str], rows: &str) -> String {
    let columns: Vec<String> =
        columns.iter().map(|column| format!("<th scope=\"col\">{}</th>", escape(column))).collect();
    format!(
        "<table>\n<caption>{}</caption>\n<thead><tr>{}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n",
        escape(caption),
        columns.concat()
    )
}
