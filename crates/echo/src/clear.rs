//! The player against what is left of the echo.

/// The sum of what is left of the echo, against the level from which a sound is surely the player's, decibels.
/// Measured: with -6 dB too much is taken off a note that rises, and under a click the note is dated up to 26 ms late
/// (18 ms with -10 dB); with -14 dB a note is now and then dated by the stroke of a drum before it.
const ECHO_DB: f32 = -10.0;
/// The lowest level that is told, dB relative to a full-scale sine: that of the ear.
const FLOOR_DBFS: f32 = -120.0;

/// What is heard at a moment is the player if it is loud enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clear {
    dbfs: f32,
}

impl Clear {
    /// What is louder than this is more than what is left of the echo, dB relative to a full-scale sine: −∞ while
    /// nothing sounds, +∞ where player and echo cannot be told apart.
    pub const fn above(dbfs: f32) -> Self {
        Self { dbfs }
    }

    /// Whether what is heard at this level is the player, or the room with nothing sounding.
    pub fn is_player(self, level_dbfs: f32) -> bool {
        level_dbfs > self.dbfs
    }

    /// The player's part of a level that is heard, dB relative to a full-scale sine. While nothing sounds, or nothing
    /// can be told, it is the level heard.
    pub fn player_dbfs(self, level_dbfs: f32) -> f32 {
        if !self.dbfs.is_finite() {
            return level_dbfs;
        }
        let power = |db: f32| 10.0_f32.powf(db / 10.0);
        let player = power(level_dbfs) - power(self.dbfs + ECHO_DB);
        (10.0 * player.max(f32::MIN_POSITIVE).log10()).max(FLOOR_DBFS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_louder_than_what_is_left_is_the_player() {
        let clear = Clear::above(-40.0);
        assert!(clear.is_player(-39.0) && !clear.is_player(-41.0));
        // 20 dB above what is left, the hundredth part is not the player's: 0.04 dB. At the level of what is left,
        // nothing is the player's.
        assert!((clear.player_dbfs(-30.0) + 30.04).abs() < 0.01, "{}", clear.player_dbfs(-30.0));
        assert_eq!(clear.player_dbfs(-50.0), FLOOR_DBFS);
        let silent = Clear::above(f32::NEG_INFINITY);
        assert!(silent.is_player(-119.0) && silent.player_dbfs(-119.0) == -119.0);
        let unknown = Clear::above(f32::INFINITY);
        assert!(!unknown.is_player(0.0) && unknown.player_dbfs(-20.0) == -20.0);
    }
}
