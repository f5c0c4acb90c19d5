//! How the screen looks: theme and glyphs, handed to every widget.

use crate::{Glyphs, Theme};

/// Theme and glyphs together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Look {
    /// Styles.
    pub theme: Theme,
    /// Signs.
    pub glyphs: Glyphs,
}

impl Look {
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
