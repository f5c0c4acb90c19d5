//! The last seconds of pitch, hanging below the stair where there is room, with their scale of time.

use crate::pen::Pen;
use crate::plumb::{self, Plumb};
use crate::scene::Scene;
use crate::stair::{self, Stair};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// Fewer rows than this show nothing of a line.
pub(super) const LEAST: u16 = 4;
/// The most time of one row, and what the whole line shows at most, seconds.
const ROW_S: f64 = 0.25;
const SEEN_S: f64 = 3.5;

/// Draws the line in what the stair leaves of `place`.
pub(super) fn render(scene: &Scene<'_>, stair: &Stair<'_>, place: Rect, buf: &mut Buffer) {
    let rows = stair.rows(place.width);
    let Some(height) = place.height.checked_sub(rows).filter(|height| *height > 0) else { return };
    if scene.still {
        return;
    }
    let row_s = (SEEN_S / f64::from(height)).min(ROW_S);
    let columns = place.width.saturating_sub(stair::LEFT);
    let below = Rect { y: place.y + rows, height, ..place };
    let plumb = Plumb {
        look: stair.look,
        scale: Stair::scale(scene.harp(), columns),
        harp: scene.harp(),
        target: None,
        in_tune: scene.tolerance().in_tune_cents,
        held: 0.0,
        earlier: &[],
        rows: &plumb::rows(scene.trace, stair.look, (row_s, height)),
    };
    plumb.render(Rect { x: place.x + stair::LEFT, width: columns, ..below }, buf);
    times(scene, &mut Pen::new(buf, below), row_s);
}

/// The scale of time in the left margin.
fn times(scene: &Scene<'_>, pen: &mut Pen<'_>, row_s: f64) {
    let faint = scene.look.theme.faint;
    pen.text(1, 0, "now", faint);
    for age in 1..pen.height() {
        let (time, before) = (f64::from(age) * row_s, f64::from(age - 1) * row_s);
        if time.floor() > before.floor() {
            pen.text(1, age, &format!("{:.0} s", time.floor()), faint);
        } else if age + 1 == pen.height() && time < 1.0 {
            // A line of less than a second has its scale, too.
            pen.text(1, age, &format!("{time:.1} s"), faint);
        }
    }
}
