//! The band that the trainer sounds.

use crate::place::RATE;
use layout::Harp;
use synth::{Band, BandPlan};
use theory::{Chord, Progressions, ScaleInKey, Scales};

/// A twelve-bar shuffle in A at 100 beats a minute, which is the second position of a D harp, at the usual level.
pub(crate) fn band(harp: &Harp, seed: u64, length: usize) -> Vec<f32> {
    let scale = Scales::ours().find("blues").unwrap().clone();
    let key = ScaleInKey::new(scale, "A".parse().unwrap());
    let progressions = Progressions::ours();
    let form = progressions.find("twelve-bar").unwrap();
    let chords = |bar: &Vec<theory::Function>| bar.iter().map(|chord| chord.chord(&key)).collect();
    let bars: Vec<Vec<Chord>> = form.bars().iter().map(chords).collect();
    let plan = BandPlan::new(&bars, theory::Groove::Shuffle, 100.0).unwrap().key(key.tonic().pitch_class());
    let mut out = vec![0.0; length];
    Band::new(&plan.below(harp.key().blow_1()).seed(seed), RATE).fill(&mut out);
    out
}
