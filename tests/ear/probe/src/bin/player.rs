//! `player FOLDER KEY SEED COUNT`: `COUNT` notes of the simulated player on a harp, as a take of the bench's corpus:
//! `KEY.wav` and, with the truth, `KEY.json`.

use std::error::Error;
use std::path::Path;

use layout::{Harp, HarpKey, Technique, Way};
use serde_json::{Value, json};
use synth::{Gesture, Played, SimulatedPlayer};

/// Samples per second.
const RATE: u32 = 48_000;
/// Samples between two points of a pitch curve: 1 ms.
const STEP: usize = 48;
/// The beginning and the end of a held note that are not judged, seconds.
const EDGES: (f64, f64) = (0.100, 0.020);

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [folder, key, seed, count] = args.as_slice() else {
        return Err("usage: player FOLDER KEY SEED COUNT".into());
    };
    let harp = Harp::richter(key.parse::<HarpKey>().map_err(|e| format!("{e:?}"))?);
    // Small seeds lie close together; an odd multiplier spreads them over the state.
    let mut dice = Dice(seed.parse::<u64>()?.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut player = SimulatedPlayer::new(&harp, f64::from(RATE), dice.0);
    let ways: Vec<Way> = harp.ways().collect();
    for _ in 0..count.parse()? {
        let way = ways[dice.below(ways.len())];
        player.play(gesture(way, harp.holes(), &mut dice))?;
    }
    let mut sound = Vec::new();
    let mut block = [0.0; 480];
    while !player.is_idle() {
        player.fill(&mut block);
        sound.extend_from_slice(&block);
    }
    let stem = Path::new(folder).join(key.replace(' ', "_"));
    write_wav(&stem.with_extension("wav"), &sound)?;
    let notes: Vec<Value> = player.played().map(|played| truth(&player, played)).collect();
    let take = json!({
        "set": "player", "name": key.replace(' ', "_"), "condition": format!("harp in {key}"),
        "seconds": sound.len() as f64 / f64::from(RATE), "notes": notes,
    });
    Ok(std::fs::write(stem.with_extension("json"), take.to_string())?)
}

/// One way to play as a player of some skill plays it: seldom quite in tune, sometimes with a slide into the bend, a
/// pop before the overbend, vibrato, a leaking neighbour or much breath.
fn gesture(way: Way, holes: u8, dice: &mut Dice) -> Gesture {
    let plain = Gesture::new(way)
        .cents_off(dice.between(-25.0, 25.0))
        .seconds(dice.between(0.35, 0.7))
        .rest(dice.between(0.1, 0.25))
        .level(dice.between(-26.0, -16.0))
        .breath(dice.between(-50.0, -32.0));
    let reached = match way.technique {
        Technique::Bend(_) => plain.glide(dice.between(0.05, 0.15)).dwell(dice.between(0.0, 0.1)),
        Technique::Overbend => plain.pop(dice.between(0.01, 0.04)),
        Technique::Natural => plain,
    };
    let shaken = if dice.below(4) == 0 {
        reached.vibrato(dice.between(4.0, 7.0), dice.between(8.0, 25.0))
    } else {
        reached
    };
    let neighbour = if way.hole == holes { way.hole - 1 } else { way.hole + 1 };
    if dice.below(3) == 0 { shaken.leak(neighbour, dice.between(-32.0, -18.0)) } else { shaken }
}

/// When a note was held, and its pitch every millisecond from its beginning.
fn truth(player: &SimulatedPlayer, played: &Played) -> Value {
    let seconds = |samples: u64| samples as f64 / player.sample_rate();
    let curve: Vec<f64> =
        (played.began..played.ended).step_by(STEP).filter_map(|at| player.truth(at)).collect();
    json!({
        "start": seconds(played.began), "end": seconds(played.released), "hz": played.hz,
        "steady": [seconds(played.settled) + EDGES.0, seconds(played.released) - EDGES.1],
        "curve_step": STEP as f64 / player.sample_rate(), "curve": curve,
        "way": format!("{:?} {} {:?}", played.way.breath, played.way.hole, played.way.technique),
    })
}

/// Mono, 16 bits.
fn write_wav(path: &Path, sound: &[f32]) -> Result<(), hound::Error> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(path, spec)?;
    for sample in sound {
        wav.write_sample((sample * 32_767.0).round() as i16)?;
    }
    wav.finalize()
}

/// Numbers from a seed: the generator of Marsaglia, Xorshift RNGs (2003), 64 bits, shifts 13, 7, 17.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// A whole number below `limit`.
    fn below(&mut self, limit: usize) -> usize {
        (self.next() >> 11) as usize % limit
    }

    /// A number from `low` to `high`.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
}
