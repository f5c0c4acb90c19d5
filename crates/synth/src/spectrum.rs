//! What a reed sounds like: the strengths of its partials.
//!
//! All of this is our choice, made by ear; no published spectrum of a harmonica reed was at hand. What it
//! aims at, as players describe it (common practice, no source): low reeds are rich, with a second harmonic
//! that is often stronger than the fundamental; high reeds have few partials; louder is brighter; bends are
//! darker, overbends thinner and hollow.

use crate::harmonics::{Harmonics, MAX_HARMONICS};
use crate::level::amplitude;
use crate::random::{bell, between, generator};
use layout::Technique;
use std::f64::consts::TAU;

/// Share of the sample rate above which no partial is rendered.
pub(crate) const BAND: f64 = 0.45;

/// What decides on a spectrum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Timbre {
    /// The pitch it is held at, hertz.
    pub(crate) hz: f64,
    /// The highest pitch on the way, hertz: the band limit follows it.
    pub(crate) highest_hz: f64,
    /// How it is played.
    pub(crate) technique: Technique,
    /// How loud, decibels relative to a full-scale sine.
    pub(crate) level_dbfs: f64,
    /// Seed of this reed's own character.
    pub(crate) reed_seed: u64,
}

/// The partials of a voice, scaled to the level of a full-scale sine (power one half) when held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spectrum {
    pub(crate) partials: Harmonics,
    /// What each partial loses against the one below while the technique is at its full depth.
    pub(crate) darkness: f64,
}

impl Spectrum {
    pub(crate) fn new(timbre: &Timbre, sample_rate: f64) -> Self {
        let mut random = generator(timbre.reed_seed, 0x7265_6564);
        let darkness = darkness(timbre.technique);
        let mut partials = Harmonics::none();
        for k in (1u32..).take(MAX_HARMONICS) {
            let own_db = if k == 1 { 1.5 } else { 4.0 } * bell(&mut random);
            let phase = between(&mut random, 0.0, TAU);
            let headroom = band_weight(f64::from(k) * timbre.highest_hz / sample_rate);
            if headroom == 0.0 {
                break;
            }
            partials.push(headroom * strength(timbre, k) * amplitude(own_db), phase);
        }
        partials.scale((0.5 / partials.power(darkness)).sqrt());
        Self { partials, darkness }
    }
}

/// Strength of partial `k` before the reed's own character.
fn strength(timbre: &Timbre, k: u32) -> f64 {
    let hz = f64::from(k) * timbre.hz;
    let louder = ((timbre.level_dbfs + 18.0) / 20.0).clamp(-1.0, 0.5);
    let source = f64::from(k).powf(-0.8 + 0.4 * louder);
    // A small source radiates low tones badly, and a plate with two hands around it swallows high ones.
    let radiated = (1.0 + (500.0 / hz).powi(2)).powf(-0.75);
    let swallowed = (1.0 + (hz / 3200.0).powi(4)).powf(-0.5);
    let hollow = if timbre.technique == Technique::Overbend && k.is_multiple_of(2) { 0.6 } else { 1.0 };
    source * radiated * swallowed * hollow
}

/// What a partial loses against the one below it.
fn darkness(technique: Technique) -> f64 {
    match technique {
        Technique::Natural => 1.0,
        Technique::Bend(depth) => 0.92 - 0.04 * f64::from(depth.min(4)),
        Technique::Overbend => 0.85,
    }
}

/// Full up to 0.40 of the sample rate, nothing from 0.45 on: partials fade instead of stopping short.
fn band_weight(share: f64) -> f64 {
    ((BAND - share) / 0.05).clamp(0.0, 1.0)
}
