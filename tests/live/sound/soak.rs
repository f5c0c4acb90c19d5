//! How a long session goes: samples lost anywhere on the way, and what listening costs.

use crate::room::{self, Ear, listen};
use crate::sine;
use sound::{Channel, FeedEvent, Generator, Speaker};
use std::f64::consts::TAU;
use std::fs;
use std::time::{Duration, Instant};

const HZ: f64 = 997.0;
const RATE: f64 = 48_000.0;

/// Processor time that this process has used, seconds. Linux counts it in hundredths.
fn processor_seconds() -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").unwrap();
    let after_name = stat.rsplit(')').next().unwrap();
    let fields: Vec<&str> = after_name.split_whitespace().collect();
    (fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap()) / 100.0
}

/// Listens to an endless sine for as many seconds as `BENDWRIGHT_SOAK_SECONDS` says (20 without it) and looks for
/// places at which it does not go on as a sine must: x(n+1) = 2 cos(ω) x(n) − x(n−1).
pub(crate) fn soak(name: Option<&str>) {
    let seconds: f64 = std::env::var("BENDWRIGHT_SOAK_SECONDS").map_or(20.0, |text| text.parse().unwrap());
    let _tone = room::play_endlessly(HZ);
    std::thread::sleep(Duration::from_secs(2));
    let mut ear = Ear::new(listen(name, Channel::Auto).unwrap());
    ear.fresh(1.0);
    assert!((sine::amplitude(&ear.samples, HZ, RATE) - 0.5).abs() < 0.05, "the sine is not heard");
    ear.samples.clear();
    ear.blocks.clear();
    let (began, used) = (Instant::now(), processor_seconds());
    let turn = 2.0 * (TAU * HZ / RATE).cos();
    let (mut breaks, mut samples) = (Vec::new(), 0u64);
    let (mut last, mut before): (Option<f64>, Option<f64>) = (None, None);
    while began.elapsed().as_secs_f64() < seconds {
        ear.until(Duration::from_secs(1), |ear| ear.samples.len() > 4_096);
        for &x in &ear.samples {
            if let (Some(a), Some(b)) = (before, last)
                && (turn * b - a - f64::from(x)).abs() > 1e-3
            {
                breaks.push(samples as f64 / RATE);
            }
            (before, last) = (last, Some(f64::from(x)));
            samples += 1;
        }
        ear.samples.clear();
        ear.blocks.clear();
    }
    let lost: u64 =
        ear.events.iter().map(|e| if let FeedEvent::Overrun { samples } = e { *samples } else { 0 }).sum();
    let cpu = (processor_seconds() - used) / began.elapsed().as_secs_f64();
    println!(
        "  {samples} samples in {:.1} s, {:.2} % of one core",
        began.elapsed().as_secs_f64(),
        100.0 * cpu
    );
    println!("  {lost} samples overran the ring; the sine breaks at {breaks:.2?} s; {:?}", &ear.events[1..]);
    assert_eq!(lost, 0);
}

/// What a speaker costs that is silent, and one that plays.
pub(crate) fn speaker(name: Option<&str>) {
    let speaker = Speaker::new(name);
    for playing in [true, false] {
        if playing {
            speaker.play(|rate| Ok(Box::new(Constant(rate))));
        } else {
            speaker.stop();
        }
        std::thread::sleep(Duration::from_secs(1));
        let (began, used) = (Instant::now(), processor_seconds());
        std::thread::sleep(Duration::from_secs(10));
        let cpu = (processor_seconds() - used) / began.elapsed().as_secs_f64();
        println!("  playing: {playing}, {:.2} % of one core", 100.0 * cpu);
    }
}

/// A sound that costs nothing to make.
struct Constant(f64);

impl Generator for Constant {
    fn sample_rate(&self) -> f64 {
        self.0
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        out.fill(0.1);
        out.len()
    }
}
