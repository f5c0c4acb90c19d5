//! Renders a take that is described in a TOML file to a WAV file and to the truth about it in a CSV file:
//!
//! ```text
//! cargo run --release -p synth --example render_take -- take.toml take.wav take.csv
//! ```
//!
//! The description, every key but `tab` optional, and the usual values as shown:
//!
//! ```toml
//! harp = "C"
//! rate = 48000
//! seed = 1
//! room_dbfs = -72.0
//! hop = 64                    # samples from one row of the CSV to the next
//!
//! [spoil]                     # only what is named is done
//! pink_dbfs = -38.0
//! hum_dbfs = -45.0
//! clicks_bpm = 90.0
//! reverb_s = 0.5              # mixed in at -12 dB
//! band_hz = [200.0, 6000.0]
//! clip_db = 6.0               # below the highest peak
//!
//! [[gesture]]                 # as many as you like
//! tab = "-3''"                # one way, or holes together: "(1 2 3)"
//! cents_off = -12.0
//! seconds = 1.5
//! rest = 0.4
//! late = 0.0
//! level = -18.0
//! glide = 0.2                 # from the natural reed
//! dwell = 0.1
//! overshoot = [30.0, 0.2]     # cents, seconds to settle; negative cents stop short
//! scoop = [20.0, 0.1]         # instead of glide: cents below, seconds
//! drift = -5.0
//! vibrato = [5.5, 12.0]       # hertz, cents
//! pop = 0.06                  # instead of glide and dwell, for an overbend
//! squeak = 0.05
//! leak = [4, -20.0]           # hole, dB
//! breath = -45.0
//! breath_before = -50.0
//! jitter = 0.4
//! shimmer = 0.15
//! fundamental = -20.0
//! ```

use layout::{Harp, HarpKey, TabStyle};
use serde::Deserialize;
use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;
use synth::{BandLimit, Click, Colour, Gesture, Hum, Metronome, Noise, Reverb, SimulatedPlayer, clip};

/// A whole take.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Take {
    #[serde(default = "usual_harp")]
    harp: String,
    #[serde(default = "usual_rate")]
    rate: u32,
    #[serde(default)]
    seed: u64,
    #[serde(default = "usual_room")]
    room_dbfs: f64,
    #[serde(default = "usual_hop")]
    hop: usize,
    #[serde(default)]
    spoil: Spoil,
    gesture: Vec<Line>,
}

/// What spoils it.
#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Spoil {
    pink_dbfs: Option<f64>,
    hum_dbfs: Option<f64>,
    clicks_bpm: Option<f64>,
    reverb_s: Option<f64>,
    band_hz: Option<[f64; 2]>,
    clip_db: Option<f64>,
}

/// One gesture.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    tab: String,
    cents_off: Option<f64>,
    seconds: Option<f64>,
    rest: Option<f64>,
    late: Option<f64>,
    level: Option<f64>,
    glide: Option<f64>,
    dwell: Option<f64>,
    overshoot: Option<(f64, f64)>,
    scoop: Option<(f64, f64)>,
    drift: Option<f64>,
    vibrato: Option<(f64, f64)>,
    pop: Option<f64>,
    squeak: Option<f64>,
    leak: Option<(u8, f64)>,
    breath: Option<f64>,
    breath_before: Option<f64>,
    jitter: Option<f64>,
    shimmer: Option<f64>,
    fundamental: Option<f64>,
}

fn usual_harp() -> String {
    "C".to_owned()
}

fn usual_rate() -> u32 {
    48_000
}

fn usual_room() -> f64 {
    -72.0
}

fn usual_hop() -> usize {
    64
}

impl Line {
    fn gesture(&self, harp: &Harp) -> Result<Gesture, Box<dyn Error>> {
        let steps = TabStyle::default().read_line_for(harp, &self.tab)?;
        let [step] = steps.as_slice() else {
            return Err(
                format!("{:?} is not one note; put holes that sound together in brackets", self.tab).into()
            );
        };
        let g = Gesture::chord(step.ways());
        let g = with(g, self.cents_off, Gesture::cents_off);
        let g = with(g, self.seconds, Gesture::seconds);
        let g = with(g, self.rest, Gesture::rest);
        let g = with(g, self.late, Gesture::late);
        let g = with(g, self.level, Gesture::level);
        let g = with(g, self.pop, Gesture::pop);
        let g = with(g, self.squeak, Gesture::squeak);
        let g = with(g, self.scoop, |g, (cents, rise_s)| g.scoop(cents, rise_s));
        let g = with(g, self.glide, Gesture::glide);
        let g = with(g, self.dwell, Gesture::dwell);
        let g = with(g, self.overshoot, |g, (cents, settle_s)| g.overshoot(cents, settle_s));
        let g = with(g, self.drift, Gesture::drift);
        let g = with(g, self.vibrato, |g, (rate_hz, cents)| g.vibrato(rate_hz, cents));
        let g = with(g, self.leak, |g, (hole, level_db)| g.leak(hole, level_db));
        let g = with(g, self.breath, Gesture::breath);
        let g = with(g, self.breath_before, Gesture::breath_before);
        let g = with(g, self.jitter, Gesture::jitter);
        let g = with(g, self.shimmer, Gesture::shimmer);
        Ok(with(g, self.fundamental, Gesture::fundamental))
    }
}

/// The gesture with one thing set, if a value for it was given.
fn with<T>(gesture: Gesture, value: Option<T>, set: impl FnOnce(Gesture, T) -> Gesture) -> Gesture {
    match value {
        Some(value) => set(gesture, value),
        None => gesture,
    }
}

impl Spoil {
    fn apply(&self, sound: &mut [f32], rate: f64, seed: u64) {
        if let Some(seconds) = self.reverb_s {
            Reverb::new(rate, seconds, -12.0).apply(sound);
        }
        if let Some(dbfs) = self.pink_dbfs {
            Noise::new(rate, Colour::Pink, dbfs, seed ^ 1).add(sound);
        }
        if let Some(dbfs) = self.hum_dbfs {
            Hum::new(rate, 50.0, dbfs).add(sound);
        }
        if let Some(bpm) = self.clicks_bpm {
            Metronome::new(Click::new(rate, -12.0), bpm, 4).add(sound);
        }
        if let Some([low, high]) = self.band_hz {
            BandLimit::new(rate, low, high).apply(sound);
        }
        if let Some(decibels) = self.clip_db {
            let peak = sound.iter().fold(0f32, |peak, x| peak.max(x.abs()));
            clip(sound, peak * 10f64.powf(-decibels / 20.0) as f32);
        }
    }
}

/// The truth, a row a hop: where nothing is played, the last four columns are empty.
fn truth(player: &SimulatedPlayer, samples: usize, hop: usize) -> Result<String, std::fmt::Error> {
    let mut rows = "sample,time_s,hz,level_dbfs,gesture,settled\n".to_owned();
    for at in (0..samples as u64).step_by(hop.max(1)) {
        write!(rows, "{at},{:.6}", at as f64 / player.sample_rate())?;
        if let (Some(played), Some(voice)) = (player.playing(at), player.sounding(at).next()) {
            let settled = u8::from((played.settled..played.released).contains(&at));
            writeln!(rows, ",{:.6},{:.2},{},{settled}", voice.hz, voice.level_dbfs, played.index)?;
        } else {
            rows.push_str(",,,,\n");
        }
    }
    Ok(rows)
}

fn save(path: &Path, sound: &[f32], rate: u32) -> Result<(), hound::Error> {
    let sample_format = hound::SampleFormat::Float;
    let spec = hound::WavSpec { channels: 1, sample_rate: rate, bits_per_sample: 32, sample_format };
    let mut file = hound::WavWriter::create(path, spec)?;
    sound.iter().try_for_each(|sample| file.write_sample(*sample))?;
    file.finalize()
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [description, wav, csv] = arguments.as_slice() else {
        return Err("say which files: render_take TAKE.toml SOUND.wav TRUTH.csv".into());
    };
    let take: Take = toml::from_str(&std::fs::read_to_string(description)?)?;
    let harp = Harp::richter(take.harp.parse::<HarpKey>()?);
    let rate = f64::from(take.rate);
    let mut player = SimulatedPlayer::new(&harp, rate, take.seed).with_room(take.room_dbfs);
    for line in &take.gesture {
        player.play(line.gesture(&harp)?)?;
    }
    let end = player.played().last().map_or(0, |played| played.ended) as usize;
    let mut sound = vec![0.0; end + take.rate as usize / 2];
    player.fill(&mut sound);
    take.spoil.apply(&mut sound, rate, take.seed);
    save(Path::new(wav), &sound, take.rate)?;
    std::fs::write(csv, truth(&player, sound.len(), take.hop)?)?;
    Ok(())
}
