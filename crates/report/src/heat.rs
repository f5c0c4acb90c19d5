//! The stair of the harp as a heat map: pitch from left to right, each hole a row, each way to play a cell, shaded and
//! numbered.

use crate::words::percent;
use crate::{Step, Tries};
use sheets::escape;
use std::fmt::Write;

/// Size of a cell, and room for the numbers of the holes at the left; units of the picture.
const CELL: (u32, u32) = (30, 40);
const SIDE: u32 = 24;
/// Where the three lines of a cell stand, below its top.
const LINES: [u32; 3] = [12, 25, 36];
/// Shades from nothing to everything landed; a style for each stands in the page.
const SHADES: f64 = 5.0;

/// The picture. Each cell shows the tab, how many of a hundred tries landed, and how many cents off they were on
/// average.
pub(crate) fn stair(steps: &[Step]) -> String {
    let columns = steps.iter().map(|step| u32::from(step.column) + 1).max().unwrap_or(1);
    let rows = steps.iter().map(|step| u32::from(step.hole)).max().unwrap_or(1);
    let (width, height) = (SIDE + columns * CELL.0, rows * CELL.1);
    let label = escape(&in_words(steps));
    let mut svg = format!(
        "<svg class=\"stair\" viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"{label}\">\n"
    );
    for hole in 1..=rows {
        let y = (hole - 1) * CELL.1;
        // Writing to a string cannot fail.
        let _ = writeln!(
            svg,
            "<line class=\"rule\" x1=\"0\" y1=\"{y}\" x2=\"{width}\" y2=\"{y}\"/>\
             <text class=\"hole\" x=\"4\" y=\"{}\">{hole}</text>",
            y + LINES[1]
        );
    }
    for step in steps {
        cell(&mut svg, step);
    }
    svg.push_str("</svg>\n");
    svg
}

fn cell(svg: &mut String, step: &Step) {
    let (x, y) = (SIDE + u32::from(step.column) * CELL.0, (u32::from(step.hole) - 1) * CELL.1);
    let kind = if step.bent { "bent" } else { "reed" };
    let class = match &step.tries {
        None => format!("cell {kind} untried"),
        Some(tries) => format!("cell {kind} s{}", shade(tries)),
    };
    let (w, h) = (CELL.0 - 2, CELL.1 - 2);
    let tab = escape(&step.tab);
    let _ = write!(
        svg,
        "<g class=\"{class}\"><rect x=\"{}\" y=\"{}\" width=\"{w}\" height=\"{h}\" rx=\"3\"/>",
        x + 1,
        y + 1
    );
    let middle = x + CELL.0 / 2;
    let mut text = |line: usize, class: &str, text: &str| {
        let y = y + LINES[line];
        let _ = write!(svg, "<text class=\"{class}\" x=\"{middle}\" y=\"{y}\">{text}</text>");
    };
    text(0, "tab", &tab);
    if let Some(tries) = &step.tries {
        text(1, "share", &format!("{:.0}", 100.0 * tries.share()));
        if let Some(cents) = tries.signed() {
            text(2, "cents", &cents);
        }
    }
    svg.push_str("</g>\n");
}

/// The shade of a cell, from 0 (hardly anything landed) to 4.
fn shade(tries: &Tries) -> u32 {
    (tries.share() * SHADES).floor().min(SHADES - 1.0) as u32
}

/// The picture for those who cannot see it.
fn in_words(steps: &[Step]) -> String {
    let tried: Vec<String> = steps
        .iter()
        .filter_map(|step| Some(format!("{}: {} landed", step.words, percent(step.tries?.share()))))
        .collect();
    if tried.is_empty() { "No note was tried.".to_owned() } else { format!("{}.", tried.join("; ")) }
}
