//! A screen as plain text, for pipes and printers.

use ratatui::buffer::Buffer;

/// The text of a buffer: a line a row, without the blanks at the ends.
pub fn render(buffer: &Buffer) -> String {
    let columns = usize::from(buffer.area.width).max(1);
    let mut out = String::new();
    for row in buffer.content().chunks(columns) {
        let line: String = row.iter().map(ratatui::buffer::Cell::symbol).collect();
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}
