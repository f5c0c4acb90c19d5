//! The chords of the map, in whatever places the chart leaves.

use crate::chart::Chart;
use crate::mapping::{ChordLine, Mapping};
use crate::pen::Pen;
use crate::scene::Scene;

/// Columns of one chord.
pub(super) const CHORD: i32 = 40;
/// Columns between the stair and a chord beside it.
const APART: i32 = 3;

/// The places right of the first holes of an unbroken chart, as far as chords fit there; each hole has so many rows.
pub(super) fn beside(chart: &Chart<'_>, width: u16, rows_of_hole: usize) -> Vec<(i32, i32)> {
    let ends = chart.beside(width);
    let fits = |end: &&i32| **end + APART + CHORD <= i32::from(width);
    let holes = ends.iter().take_while(fits).count();
    let Some(x) = holes.checked_sub(1).and_then(|last| ends.get(last)) else { return Vec::new() };
    // The chart begins in row 2 with its ruler.
    (3..).take(holes * rows_of_hole).map(|y| (x + APART, y)).collect()
}

/// The places of one column between two rows.
pub(super) fn column(x: i32, (top, below): (i32, i32)) -> Vec<(i32, i32)> {
    (top..below).map(|y| (x, y)).collect()
}

/// The places of as many columns as fit between two rows.
pub(super) fn columns(width: i32, (top, below): (i32, i32)) -> Vec<(i32, i32)> {
    let columns = (width / CHORD).max(1);
    (0..columns).flat_map(|i| column(i * CHORD, (top, below))).collect()
}

/// Draws the chords in these places, a page of them if there are more; the one looked at stays in sight.
pub(super) fn render(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>, places: &[(i32, i32)]) {
    let (all, looked_at) = (map.chords().len(), map.chord_index().unwrap_or(0));
    // Where not all have a place, the last one says how many there are besides.
    let page = if all <= places.len() { all } else { places.len().saturating_sub(1) }.max(1);
    let first = looked_at / page * page;
    for (index, (place, chord)) in
        (first..).zip(places.iter().zip(map.chords().iter().skip(first).take(page)))
    {
        line(scene, pen, *place, (chord, map.chord_index() == Some(index)));
    }
    if let Some((x, y)) = places.last().filter(|_| all > page) {
        let others = all - page.min(all - first);
        // A single place is taken by the chord, and the rest of its row tells of the others.
        let x = if places.len() > 1 { x + 2 } else { x + CHORD + 1 };
        pen.text(x, *y, &format!("… {others} more"), scene.look.theme.faint);
    }
}

/// One chord: its function, its name, its holes.
fn line(scene: &Scene<'_>, pen: &mut Pen<'_>, (x, y): (i32, i32), (chord, chosen): (&ChordLine, bool)) {
    let (look, theme) = (scene.look, &scene.look.theme);
    if chosen {
        pen.glyph(x, y, look.glyphs.chosen, theme.voice);
    }
    let style = if chosen { theme.strong } else { theme.plain };
    let name = |text: &str| if look.glyphs.ascii() { text.replace("ø7", "m7b5") } else { text.to_owned() };
    pen.within((x + 2, y), 9).text(0, 0, &name(&chord.function), theme.strong);
    pen.within((x + 12, y), 9).text(0, 0, &name(&chord.symbol), style);
    pen.within((x + 22, y), CHORD - 22).text(0, 0, &chord.holes, style);
}
