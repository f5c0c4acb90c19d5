//! What becomes of a reading of the ear behind a remover.

use crate::{Clear, Remover, State};
use pitch::Reading;

/// How far below his usual level a player may play, decibels: the dynamics of a wind instrument between soft and usual
/// (from memory, no source). What is softer is not the player.
const SOFTER_DB: f32 = 15.0;
/// A reading may lack a pitch because of the echo if the echo is at most this much softer than the reading, decibels:
/// more is left of a drum stroke than of tones, and a note that begins under a stroke is told up to 60 ms late.
const DISTURBS_DB: f32 = 6.0;
/// The usual level follows what is heard of the player by so much per reading, decibels: 4 dB a second, so that the
/// notes of some seconds decide; and at first by this divided by the count of readings.
const FOLLOWS_DB: f32 = 0.01;
const FOLLOWS_AT_FIRST_DB: f32 = 10.0;
/// A moved microphone is noticed within this, seconds. What was heard meanwhile may have been the echo.
const NOTICED_S: f64 = 1.0;
/// That what sounds is more than a click is noticed within this, seconds.
const BEGAN_S: f64 = 0.1;
/// A player who could not be heard for so long through what sounded is told so, seconds. A room is known within 5 s of
/// a band, and after the microphone was moved within 10 s: what is not good then does not get better by itself.
const POOR_S: f64 = 15.0;
/// After so much that could be heard it is good again, seconds.
const GOOD_AGAIN_S: f64 = 1.0;
/// Readings that are further apart than this have a gap between them, seconds.
const GAP_S: f64 = 0.1;

/// Lets through what is the player's, and knows where he may have been hidden.
#[derive(Clone, Debug)]
pub struct Gate {
    rate: f64,
    usual: Usual,
    state: State,
    known: u64,
    /// For how long of late the player could not have been heard, seconds, and whether that is said.
    poor_s: f64,
    is_poor: bool,
}

/// A reading behind the gate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gated {
    /// It has no pitch where what was heard may be the echo.
    pub reading: Reading,
    /// Whether what was heard is loud enough to be the player's, or nothing sounds.
    pub is_player: bool,
    /// The samples between which the player may not have been heard, or what was heard may not have been the player;
    /// they can reach back before readings that were let through.
    pub masked: Option<(u64, u64)>,
}

impl Gate {
    /// For readings of a stream of so many samples per second.
    pub fn new(rate: f64) -> Self {
        Self { rate, usual: Usual::default(), state: State::Silent, known: 0, poor_s: 0.0, is_poor: false }
    }

    /// Takes a reading of what `remover` gave out last.
    pub fn pass(&mut self, remover: &Remover, reading: Reading) -> Gated {
        let (clear, state) = (remover.clear(), remover.state());
        let is_player = clear.is_player(reading.level_dbfs);
        let player_dbfs = clear.player_dbfs(reading.level_dbfs);
        let before = self.known.max(reading.known.saturating_sub((GAP_S * self.rate) as u64));
        let is_lost = state == State::Learning && self.state != State::Learning;
        let noticed_s = if self.state == State::Silent { BEGAN_S } else { NOTICED_S };
        let back = if is_lost { (noticed_s * self.rate) as u64 } else { 0 };
        let from = reading.time.min(before).min(reading.known.saturating_sub(back));
        let is_disturbed = state == State::Good
            && reading.hz.is_none()
            && remover.echo_dbfs() > reading.level_dbfs - DISTURBS_DB;
        let is_masked = is_lost || (!is_player || is_disturbed) && self.usual.may_be(reading.level_dbfs);
        self.look(state, clear, reading.known.saturating_sub(before) as f64 / self.rate);
        (self.known, self.state) = (reading.known, state);
        if is_player && reading.hz.is_some() {
            self.usual.hear(player_dbfs);
        }
        let heard = if is_player { reading } else { Reading { hz: None, onset: false, ..reading } };
        Gated {
            reading: Reading { level_dbfs: player_dbfs, ..heard },
            is_player,
            masked: is_masked.then_some((from, reading.known)),
        }
    }

    /// Whether the player has not been heard for long through what sounds: it is too loud for the microphone.
    pub fn is_poor(&self) -> bool {
        self.is_poor
    }

    fn look(&mut self, state: State, clear: Clear, seconds: f64) {
        let is_hidden = match state {
            State::Silent => return,
            State::Learning => true,
            State::Absent => false,
            State::Good => self.usual.dbfs.is_some_and(|usual| !clear.is_player(usual)),
        };
        let more = if is_hidden { seconds } else { -seconds };
        self.poor_s = (self.poor_s + more).clamp(0.0, POOR_S);
        self.is_poor = if self.is_poor {
            state != State::Absent && self.poor_s > POOR_S - GOOD_AGAIN_S
        } else {
            self.poor_s >= POOR_S
        };
    }
}

/// How loud the player usually is: about the median of what was heard of him.
#[derive(Clone, Copy, Debug, Default)]
struct Usual {
    dbfs: Option<f32>,
    readings: u32,
}

impl Usual {
    fn hear(&mut self, dbfs: f32) {
        self.readings = self.readings.saturating_add(1);
        let step = (FOLLOWS_AT_FIRST_DB / self.readings as f32).max(FOLLOWS_DB);
        let usual = self.dbfs.get_or_insert(dbfs);
        *usual += step * (dbfs - *usual).clamp(-1.0, 1.0);
    }

    /// Whether the player may be in what is heard at this level; as long as nothing is known of him, he may.
    fn may_be(&self, dbfs: f32) -> bool {
        self.dbfs.is_none_or(|usual| dbfs > usual - SOFTER_DB)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_not_good_for_long_is_poor_and_headphones_never_are() {
        let clear = |dbfs| Clear::above(dbfs);
        let mut gate = Gate::new(48_000.0);
        gate.usual.hear(-20.0);
        let mut look = |state, dbfs, seconds: f64| {
            (0..(seconds * 400.0) as u32).for_each(|_| gate.look(state, clear(dbfs), 0.0025));
            gate.is_poor
        };
        assert!(!look(State::Learning, f32::INFINITY, 5.0) && !look(State::Good, -33.0, 3.0));
        assert!(!look(State::Learning, f32::INFINITY, 12.5) && look(State::Learning, f32::INFINITY, 1.0));
        assert!(look(State::Silent, f32::NEG_INFINITY, 9.0), "what does not sound is not better");
        assert!(look(State::Good, -33.0, 0.5) && !look(State::Good, -33.0, 1.0));
        // Removal is good, and what is left is louder than the player all the same.
        assert!(look(State::Good, -15.0, 5.0) && !look(State::Absent, f32::NEG_INFINITY, 0.01));
    }

    #[test]
    fn the_usual_level_is_that_of_most_readings() {
        let mut usual = Usual::default();
        assert!(usual.may_be(-90.0), "nothing is known of him");
        // Notes of half a second with 25 readings of a rise and a release.
        for _ in 0..10 {
            (0..25).for_each(|_| usual.hear(-45.0));
            (0..175).for_each(|_| usual.hear(-20.0));
        }
        assert!((usual.dbfs.unwrap() + 20.0).abs() < 1.5, "{usual:?}");
        assert!(usual.may_be(-30.0) && !usual.may_be(-38.0));
    }
}
