//! Pages of plain text for a terminal: 80 columns, in the letters that the player's terminal shows.

use sheets::{Letters, wrap};

/// Columns of a page.
pub(crate) const WIDTH: usize = 80;

/// Text that grows line by line.
#[derive(Debug)]
pub(crate) struct Page {
    text: String,
    letters: Letters,
}

impl Page {
    /// An empty page.
    pub(crate) fn new(letters: Letters) -> Self {
        Self { text: String::new(), letters }
    }

    /// An empty line.
    pub(crate) fn gap(&mut self) {
        self.text.push('\n');
    }

    /// A line as it is.
    pub(crate) fn line(&mut self, line: &str) {
        self.text.push_str(self.letters.spell(line).trim_end());
        self.text.push('\n');
    }

    /// Lines that have their letters already.
    pub(crate) fn picture(&mut self, lines: &str) {
        self.text.push_str(lines);
    }

    /// A text after a label; what does not fit goes on below the text, not below the label.
    pub(crate) fn hanging(&mut self, label: &str, text: &str) {
        let label = self.letters.spell(label);
        let indent = label.chars().count();
        let lines = wrap(&self.letters.spell(text), WIDTH.saturating_sub(indent).max(1));
        let mut start = label;
        for line in lines {
            self.text.push_str(format!("{start}{line}").trim_end());
            self.text.push('\n');
            start = " ".repeat(indent);
        }
    }

    /// Rows of cells in columns as wide as their widest cell; the last one hangs.
    pub(crate) fn table(&mut self, rows: &[Vec<String>]) {
        let width = |column: usize| {
            rows.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count()).max().unwrap_or(0)
        };
        for row in rows {
            let Some((last, front)) = row.split_last() else { continue };
            let cells = front.iter().enumerate().map(|(column, cell)| format!("{cell:<0$}  ", width(column)));
            self.hanging(&format!("  {}", cells.collect::<String>()), last);
        }
    }

    /// The whole page.
    pub(crate) fn into_text(self) -> String {
        self.text
    }
}
