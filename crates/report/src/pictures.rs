//! Small pictures: the trend of a bend, and the minutes of each day.

use crate::NoteRow;
use crate::words::date;
use course::PlayedDay;
use sheets::escape;
use std::fmt::Write;

/// Width and height of a trend, units of the picture.
const TREND: (f64, f64) = (120.0, 24.0);
/// A trend shows distances up to this, cents; what lies further off stands at its edge. Means of a day are rarely
/// beyond it.
const FURTHEST_CENTS: f64 = 40.0;
/// Height of the bars, and room for the words below them.
const BARS: (f64, f64) = (60.0, 14.0);
/// Width of a picture of bars.
const BARS_WIDTH: f64 = 480.0;

/// The mean distance of each day as a line, up is sharp, and the spread around it as strokes; the line across is the
/// note.
pub(crate) fn trend(row: &NoteRow, days: u32) -> String {
    let (width, height) = TREND;
    let x = |after: u32| (f64::from(after) + 0.5) * width / f64::from(2 * days);
    let y = |cents: f64| height / 2.0 * (1.0 - cents.clamp(-FURTHEST_CENTS, FURTHEST_CENTS) / FURTHEST_CENTS);
    let mut svg = format!(
        "<svg class=\"trend\" viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"{}\">\
         <line class=\"rule\" x1=\"0\" y1=\"{middle}\" x2=\"{width}\" y2=\"{middle}\"/>\
         <line class=\"rule\" x1=\"{half}\" y1=\"0\" x2=\"{half}\" y2=\"{height}\"/>",
        escape(&trend_in_words(row)),
        middle = height / 2.0,
        half = width / 2.0,
    );
    for (after, mean, spread) in &row.trend {
        let x = x(*after);
        // Writing to a string cannot fail.
        let _ = write!(
            svg,
            "<line class=\"spread\" x1=\"{x:.1}\" y1=\"{:.1}\" x2=\"{x:.1}\" y2=\"{:.1}\"/>",
            y(mean - spread),
            y(mean + spread)
        );
    }
    let points: Vec<String> =
        row.trend.iter().map(|(after, mean, _)| format!("{:.1},{:.1}", x(*after), y(*mean))).collect();
    if let [one] = &points[..] {
        let (x, y) = one.split_once(',').unwrap_or_default();
        let _ = write!(svg, "<circle class=\"dot\" cx=\"{x}\" cy=\"{y}\" r=\"2\"/>");
    } else if !points.is_empty() {
        let _ = write!(svg, "<polyline class=\"line\" points=\"{}\"/>", points.join(" "));
    }
    svg.push_str("</svg>");
    svg
}

fn trend_in_words(row: &NoteRow) -> String {
    let cents = |(_, mean, _): &(u32, f64, f64)| format!("{mean:.0}");
    match (row.trend.first(), row.trend.last()) {
        (Some(first), Some(last)) if row.trend.len() > 1 => {
            format!(
                "cents off on average, from {} on the first day to {} on the last",
                cents(first),
                cents(last)
            )
        }
        (Some(only), _) => format!("{} cents off on the only day", cents(only)),
        _ => "nothing was measured".to_owned(),
    }
}

/// Whole minutes of a day; a day with less than half a minute still has one.
pub(crate) fn minutes(day: PlayedDay) -> u32 {
    if day.seconds == 0 { 0 } else { ((day.seconds + 30) / 60).max(1) }
}

/// A bar for each day.
pub(crate) fn bars(played: &[PlayedDay]) -> String {
    let most = played.iter().copied().map(minutes).max().unwrap_or(0).max(1);
    let (high, below) = BARS;
    let step = BARS_WIDTH / played.len().max(1) as f64;
    let height = high + below + 12.0;
    let practised = played.iter().filter(|day| day.seconds > 0).count();
    let mut svg = format!(
        "<svg class=\"bars\" viewBox=\"0 0 {BARS_WIDTH} {height}\" role=\"img\" aria-label=\"Minutes of practice on each of \
         {} days: practised on {practised}, {most} minutes at most.\">",
        played.len()
    );
    let foot = high + 12.0;
    for (index, day) in played.iter().enumerate() {
        let tall = high * f64::from(minutes(*day)) / f64::from(most);
        let (x, y) = (index as f64 * step, foot - tall);
        let wide = (step - 1.5).max(0.5);
        if tall > 0.0 {
            let _ = write!(
                svg,
                "<rect class=\"bar\" x=\"{x:.1}\" y=\"{y:.1}\" width=\"{wide:.1}\" height=\"{tall:.1}\"/>"
            );
        }
    }
    let _ = write!(
        svg,
        "<line class=\"rule\" x1=\"0\" y1=\"{foot}\" x2=\"{BARS_WIDTH}\" y2=\"{foot}\"/>\
         <text class=\"small\" x=\"0\" y=\"9\">{most} minutes at most</text>"
    );
    if let [first, .., last] = played {
        let y = foot + 11.0;
        let _ = write!(
            svg,
            "<text class=\"small\" x=\"0\" y=\"{y}\">{}</text>\
             <text class=\"small end\" x=\"{BARS_WIDTH}\" y=\"{y}\">{}</text>",
            date(first.day),
            date(last.day)
        );
    }
    svg.push_str("</svg>\n");
    svg
}
