//! Takes by the simulated player.

use crate::cases::Case;
use layout::Harp;
use synth::{Gesture, SimulatedPlayer};

/// What is random about a take.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Manner {
    pub(crate) seed: u64,
    /// Level, dBFS.
    pub(crate) level: f64,
    /// Depth of a vibrato of 5 Hz, cents.
    pub(crate) vibrato: f64,
    /// RMS of the jitter, cents.
    pub(crate) jitter: f64,
    /// Offset of all pitches, cents.
    pub(crate) off: f64,
    /// Breath noise, decibels relative to the note.
    pub(crate) breath: f64,
}

impl Manner {
    pub(crate) fn of(seed: u64) -> Self {
        // A multiplicative hash, so that each seed has its own mixture.
        let share = |salt: u64| {
            let mixed = (seed.wrapping_add(salt)).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            ((mixed ^ (mixed >> 29)) >> 11) as f64 / (1_u64 << 53) as f64
        };
        Self {
            seed,
            level: -30.0 + 18.0 * share(101),
            vibrato: 8.0 * share(211),
            jitter: 0.3 + 1.5 * share(307),
            off: -30.0 + 60.0 * share(401),
            breath: -50.0 + 20.0 * share(503),
        }
    }
}

/// The samples (48 kHz) and where the sound starts in them.
pub(crate) fn render(harp: &Harp, case: &Case, manner: Manner, rate: f64) -> (Vec<f32>, usize) {
    let mut player = SimulatedPlayer::new(harp, rate, manner.seed);
    let gesture = Gesture::chord(&case.ways)
        .level(manner.level)
        .vibrato(5.0, manner.vibrato)
        .jitter(manner.jitter)
        .cents_off(manner.off)
        .breath(manner.breath)
        .rest(0.2)
        .seconds(0.4);
    sound(&mut player, gesture)
}

/// A lone reed with the reed of a neighbouring hole leaking in at this level against it, decibels.
pub(crate) fn leak(harp: &Harp, case: &Case, hole: u8, db: f64, manner: Manner) -> (Vec<f32>, usize) {
    let mut player = SimulatedPlayer::new(harp, 48_000.0, manner.seed);
    let gesture = Gesture::new(case.ways[0])
        .level(manner.level)
        .jitter(manner.jitter)
        .breath(manner.breath)
        .leak(hole, db)
        .rest(0.2)
        .seconds(0.4);
    sound(&mut player, gesture)
}

/// What the player makes of a gesture, and the sample at which it begins to sound.
fn sound(player: &mut SimulatedPlayer, gesture: Gesture) -> (Vec<f32>, usize) {
    let played = player.play(gesture).expect("a playable case");
    let mut samples = vec![0.0; played.ended as usize];
    player.fill(&mut samples);
    (samples, played.began as usize)
}
