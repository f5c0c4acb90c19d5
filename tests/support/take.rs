//! A take of twelve tries with known errors, played by the simulated player.

#![allow(dead_code, reason = "each test program uses a part of it")]

use layout::{Harp, TabStyle, Technique};
use std::path::Path;
use synth::{Gesture, SimulatedPlayer};

/// What is asked, how far off it is played in cents, and the verdict that is due at a tolerance of 25 cents: natural,
/// half, whole and one and a half on 3 draw; half and whole on 2 draw; half on 1, 4 and 6 draw; blow bends on 8 and
/// 10; the overblow on 6.
pub(crate) const TRIES: [(&str, f64, &str); 12] = [
    ("-3", -12.0, "landed"),
    ("-3'", 40.0, "short"),
    ("-3''", -35.0, "past"),
    ("-3'''", 55.0, "short"),
    ("-2'", -60.0, "past"),
    ("-2''", 18.0, "landed"),
    ("-1'", 31.0, "short"),
    ("-4'", -5.0, "landed"),
    ("-6'", -45.0, "past"),
    ("8'", 20.0, "landed"),
    ("10'", -29.0, "past"),
    ("6o", -33.0, "short"),
];

/// How long each note is asked to be held, and how long it is played, seconds.
const HOLD_S: f64 = 1.5;
const PLAYED_S: f64 = 2.3;

/// Quiet before each try, so that the verdict before it is over, seconds.
pub(crate) const REST_S: f64 = 3.0;

/// The drill file that asks for the take.
pub(crate) fn drill() -> String {
    let items = TRIES.map(|(tab, ..)| format!("[[item]]\nplay = \"{tab}\"\n"));
    format!("title = \"Twelve tries\"\nhold = {HOLD_S}\n\n{}", items.join("\n"))
}

/// The take as samples at `rate` hertz, played on `harp` by the player with this seed.
pub(crate) fn samples(harp: &Harp, rate: f64, seed: u64) -> Vec<f32> {
    samples_of(harp, rate, seed, &TRIES)
}

/// Some of the tries as samples.
pub(crate) fn samples_of(harp: &Harp, rate: f64, seed: u64, tries: &[(&str, f64, &str)]) -> Vec<f32> {
    let mut player = SimulatedPlayer::new(harp, rate, seed);
    for (tab, error, _) in tries {
        player.play(gesture(harp, tab, *error)).expect("the harp can play it");
    }
    let mut samples = Vec::new();
    while !player.is_idle() {
        let mut block = [0.0; 480];
        player.fill(&mut block);
        samples.extend(block);
    }
    samples.extend(std::iter::repeat_n(0.0, (2.0 * rate) as usize));
    samples
}

fn gesture(harp: &Harp, tab: &str, error: f64) -> Gesture {
    let way = TabStyle::default().read_for(harp, tab).expect("tab");
    let gesture = Gesture::new(way).cents_off(error).seconds(PLAYED_S).rest(REST_S);
    match way.technique {
        Technique::Natural => gesture,
        // Bends are slid into from the natural note; the overblow has its pop. Neither is a mistake.
        Technique::Bend(_) => gesture.glide(0.2),
        Technique::Overbend => gesture.pop(0.08),
    }
}

/// Writes samples as a 32-bit float WAV.
pub(crate) fn write(path: &Path, samples: &[f32], rate: u32) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut writer = hound::WavWriter::create(path, spec).expect("a file");
    for sample in samples {
        writer.write_sample(*sample).expect("room on the disk");
    }
    writer.finalize().expect("room on the disk");
}
