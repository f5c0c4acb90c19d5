//! What a player plays over the band, and the truth of it.

use crate::place::RATE;
use layout::{Harp, HarpKey, Technique, Way};
use oorandom::Rand64;
use synth::{Gesture, Played, SimulatedPlayer};

pub(crate) struct Playing {
    pub(crate) harp: Harp,
    pub(crate) samples: Vec<f32>,
    pub(crate) played: Vec<Played>,
}

impl Playing {
    /// What the microphone hears of the player and of an echo.
    pub(crate) fn over(&self, echo: &[f32]) -> Vec<f32> {
        self.samples.iter().zip(echo).map(|(own, echo)| own + echo).collect()
    }

    pub(crate) fn sounds(&self, n: usize) -> bool {
        let after = self.played.partition_point(|played| played.began <= n as u64);
        after > 0 && (n as u64) < self.played[after - 1].released
    }
}

pub(crate) fn harp() -> Harp {
    Harp::richter("D".parse::<HarpKey>().unwrap())
}

/// When notes begin and how long they last, seconds: eighths to halves at 100 beats a minute with rests, three fifths
/// of the time, from a moment on until shortly before the end.
pub(crate) fn lengths(random: &mut Rand64, (begins_s, seconds): (f64, f64)) -> Vec<(f64, f64)> {
    let eighth_s = 0.3;
    let mut at_s = begins_s;
    let mut notes = Vec::new();
    while at_s < seconds - 3.0 {
        let eighths = [1.0, 1.0, 2.0, 2.0, 4.0][random.rand_range(0..5) as usize];
        notes.push((at_s, eighths * eighth_s * 0.85 - 0.04));
        at_s += eighths * eighth_s;
        if random.rand_float() < 0.3 {
            at_s += [2.0, 4.0, 6.0][random.rand_range(0..3) as usize] * eighth_s;
        }
    }
    notes
}

/// The simulated player, with bends.
pub(crate) fn playing(seed: u64, within: (f64, f64)) -> Playing {
    let mut random = Rand64::new(u128::from(seed) + 77);
    let harp = harp();
    let ways: Vec<Way> = harp.ways().filter(|way| !matches!(way.technique, Technique::Overbend)).collect();
    let mut player = SimulatedPlayer::new(&harp, RATE, seed);
    let mut played = Vec::new();
    for (at_s, length_s) in lengths(&mut random, within) {
        let way = ways[random.rand_range(0..ways.len() as u64) as usize];
        let level_dbfs = -18.0 + 6.0 * (random.rand_float() - 0.5);
        let gesture = Gesture::new(way).seconds(length_s).level(level_dbfs);
        played.push(player.play_at(&gesture, at_s * RATE).unwrap());
    }
    let mut samples = vec![0.0; (within.1 * RATE) as usize];
    player.fill(&mut samples);
    Playing { harp, samples, played }
}
