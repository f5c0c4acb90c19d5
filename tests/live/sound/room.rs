//! The room: what is played into it and what a feed hears of it.

use hound::{SampleFormat, WavSpec, WavWriter};
use sound::{Block, Channel, Fed, Feed, FeedEvent, FeedSpec, Pace, SoundError};
use std::env;
use std::f64::consts::TAU;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Something that plays until it is dropped.
pub(crate) struct Playing(Child);

impl Drop for Playing {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Plays one sine per channel, each of amplitude 0.5, for up to a minute.
pub(crate) fn play(hz: &[f64]) -> Playing {
    let path = folder().join(format!("tone-{}.wav", std::process::id()));
    let spec = WavSpec {
        channels: hz.len() as u16,
        sample_rate: 48_000,
        bits_per_sample: 32,
        sample_format: SampleFormat::Float,
    };
    let mut wav = WavWriter::create(&path, spec).unwrap();
    for n in 0..48_000 * 60 {
        for hz in hz {
            wav.write_sample((0.5 * (TAU * hz * f64::from(n) / 48_000.0).sin()) as f32).unwrap();
        }
    }
    wav.finalize().unwrap();
    let player = Command::new("paplay").arg("--latency-msec=60").arg(&path).stderr(Stdio::null()).spawn();
    Playing(player.unwrap())
}

/// Plays a sine of amplitude 0.5 without an end, well ahead, so that the player itself loses nothing.
pub(crate) fn play_endlessly(hz: f64) -> Playing {
    let mut player = Command::new("pacat")
        .args(["--raw", "--format=float32le", "--rate=48000", "--channels=1", "--latency-msec=500"])
        .stdin(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut pipe = std::io::BufWriter::new(player.stdin.take().unwrap());
    std::thread::spawn(move || {
        for n in 0u64.. {
            let x = (0.5 * (TAU * hz * n as f64 / 48_000.0).sin()) as f32;
            if pipe.write_all(&x.to_le_bytes()).is_err() {
                return;
            }
        }
    });
    Playing(player)
}

/// Kills the sound server.
pub(crate) fn kill_server() {
    server("--stop");
}

/// Sends the sound server a signal.
pub(crate) fn signal_server(name: &str) {
    let pid = std::fs::read_to_string(folder().join("server.pid")).unwrap();
    // By the shell, because a bare Debian has no other `kill`.
    let script = format!("kill -{name} {}", pid.trim());
    assert!(Command::new("sh").args(["-c", &script]).status().unwrap().success());
}

/// Starts the sound server again.
pub(crate) fn start_server() {
    server("--start");
}

fn server(order: &str) {
    assert!(Command::new(env::var("BENDWRIGHT_LIVE_SERVER").unwrap()).arg(order).status().unwrap().success());
}

/// Takes the sink away, and its monitor with it.
pub(crate) fn take_sink_away() {
    pactl(&["unload-module", "module-null-sink"]);
}

/// Puts the sink back.
pub(crate) fn put_sink_back() {
    let sink = ["sink_name=room", "rate=48000", "channels=2", "format=float32le"];
    pactl(&[&["load-module", "module-null-sink"], &sink[..]].concat());
    pactl(&["set-default-source", "room.monitor"]);
}

/// Stops this very process for so many seconds, as Ctrl-Z and `fg` do.
pub(crate) fn stand_still(seconds: u32) {
    let me = std::process::id();
    let script = format!("kill -STOP {me}; sleep {seconds}; kill -CONT {me}");
    assert!(Command::new("sh").args(["-c", &script]).status().unwrap().success());
}

fn pactl(arguments: &[&str]) {
    assert!(Command::new("pactl").args(arguments).stdout(Stdio::null()).status().unwrap().success());
}

pub(crate) fn folder() -> PathBuf {
    env::var_os("BENDWRIGHT_LIVE_DIR").unwrap().into()
}

pub(crate) fn listen(name: Option<&str>, channel: Channel) -> Result<Feed, SoundError> {
    Feed::open(FeedSpec::Device { name: name.map(str::to_owned), channel }, Pace::InTime)
}

/// A feed with its history.
pub(crate) struct Ear {
    pub(crate) feed: Feed,
    pub(crate) samples: Vec<f32>,
    pub(crate) blocks: Vec<(Instant, Block)>,
    pub(crate) events: Vec<FeedEvent>,
}

impl Ear {
    pub(crate) fn new(feed: Feed) -> Self {
        Self { feed, samples: Vec::new(), blocks: Vec::new(), events: Vec::new() }
    }

    /// Listens until `enough` says so; false when that has not come within `limit`.
    pub(crate) fn until(&mut self, limit: Duration, mut enough: impl FnMut(&Self) -> bool) -> bool {
        let end = Instant::now() + limit;
        let mut buf = vec![0.0; 4_096];
        while Instant::now() < end {
            match self.feed.read(&mut buf, Duration::from_millis(50)) {
                Fed::Samples(block) => {
                    self.samples.extend(&buf[..block.len]);
                    self.blocks.push((Instant::now(), block));
                }
                Fed::Event(event) => self.events.push(event),
                Fed::Nothing => {}
            }
            if enough(self) {
                return true;
            }
        }
        false
    }

    /// Forgets the samples so far and listens for `seconds` of new ones.
    pub(crate) fn fresh(&mut self, seconds: f64) -> &[f32] {
        self.samples.clear();
        let wanted = (seconds * self.feed.sample_rate()) as usize;
        assert!(
            self.until(Duration::from_secs(10), |ear| ear.samples.len() >= wanted),
            "no samples: {:?}",
            self.events
        );
        &self.samples[..wanted]
    }
}
