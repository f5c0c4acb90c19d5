//! How the screen looks: theme, glyphs and tab marks, handed to every widget.

use crate::{Glyphs, Theme};
use layout::{TabStyle, Way};

/// Theme, glyphs and tab marks together.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Look {
    /// Styles.
    pub theme: Theme,
    /// Signs.
    pub glyphs: Glyphs,
    /// How tab is written.
    pub tab: TabStyle,
}

impl Look {
    /// A way as tab.
    pub fn tab(&self, way: Way) -> String {
        self.tab.print(way)
    }

    /// A signed number of whole cents, such as `+3`, `−12` or `0`.
    pub fn signed(&self, cents: f64) -> String {
        match cents.round() as i64 {
            0 => "0".to_owned(),
            n if n < 0 => format!("{}{}", self.glyphs.minus, n.unsigned_abs()),
            n => format!("+{n}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_their_sign() {
        let look = Look::default();
        assert_eq!(look.signed(3.4), "+3");
        assert_eq!(look.signed(-12.0), "−12");
        assert_eq!(look.signed(-0.4), "0");
    }
}
