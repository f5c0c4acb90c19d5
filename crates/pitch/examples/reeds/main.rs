//! Measures which reeds are heard together: shares of cases in which the right set is told 60 ms after the start, and
//! of readings from there to 300 ms.
//!
//! `cargo run -p pitch --example reeds -- [FIRST_SEED] [SEEDS] [details]`; needs fluidsynth for the second half.
#![allow(clippy::print_stdout, clippy::expect_used, missing_docs, reason = "a measuring program")]

mod cases;
mod sampled;
mod simulated;

use cases::{Case, HARPS, Kind, cases, harp, holes, right};
use layout::Harp;
use pitch::reeds::{ReedSettings, Reeds, Sounding};
use std::collections::HashMap;

/// Samples per second.
const RATE: f64 = 48_000.0;

/// Right at 60 ms, cases, right readings later, readings later.
#[derive(Clone, Copy, Default)]
struct Tally([u32; 4]);

/// A sum for each kind.
#[derive(Default)]
struct Table {
    rows: HashMap<Kind, Tally>,
    details: bool,
}

impl Table {
    fn add(&mut self, harp: &Harp, case: &Case, (heard, began): (&[Sounding], usize)) {
        let after = |s: &Sounding| (s.known as f64 - began as f64) / RATE;
        let Some(first) = heard.iter().rfind(|s| (0.0..=0.060).contains(&after(s))) else {
            return;
        };
        let later: Vec<_> = heard.iter().filter(|s| (0.060..0.3).contains(&after(s))).collect();
        let tally = &mut self.rows.entry(case.kind).or_default().0;
        let good = right(first, harp, &case.ways);
        let stays = later.iter().filter(|s| right(s, harp, &case.ways)).count();
        tally[0] += u32::from(good);
        tally[1] += 1;
        tally[2] += stays as u32;
        tally[3] += later.len() as u32;
        if self.details && (!good || stays < later.len()) {
            let ways: Vec<String> = case.ways.iter().map(ToString::to_string).collect();
            let tell = |s: &Sounding| {
                let told = s.voices().map(|v| {
                    let reed = v.reed.map_or(String::new(), |r| {
                        format!(
                            "{}{}{}",
                            if r.draw { "-" } else { "+" },
                            r.hole,
                            if v.bent { "'" } else { "" }
                        )
                    });
                    format!("{reed}({:.0} {:.0})", v.hz, v.level_dbfs)
                });
                told.collect::<Vec<_>>().join(" ")
            };
            println!(
                "  {} {:?} {ways:?} good {good} {stays}/{}: {}",
                harp.key(),
                case.kind,
                later.len(),
                tell(first)
            );
        }
    }

    fn print(&self, title: &str) {
        println!("{title}");
        for kind in [Kind::Lone, Kind::Bend, Kind::Pair, Kind::Triple, Kind::Four, Kind::Octave] {
            if let Some(Tally([good, all, stays, later])) = self.rows.get(&kind) {
                let share = |a: &u32, b: &u32| 100.0 * f64::from(*a) / f64::from((*b).max(1));
                println!(
                    "  {:8} at 60 ms {:6.2} % of {all:5}   60-300 ms {:6.2} %",
                    format!("{kind:?}"),
                    share(good, all),
                    share(stays, later)
                );
            }
        }
    }
}

fn hear(holes: Vec<[f64; 2]>, samples: &[f32], rate: f64) -> Vec<Sounding> {
    let mut reeds = Reeds::new(ReedSettings { sample_rate: rate, holes }).expect("settings");
    let mut heard = Vec::new();
    reeds.push(samples, |sounding| heard.push(sounding));
    heard
}

fn simulated(seeds: std::ops::Range<u64>, known: bool, details: bool) {
    let mut table = Table { details, ..Table::default() };
    for key in HARPS {
        let harp = harp(key);
        let holes = if known { holes(&harp) } else { Vec::new() };
        for (i, case) in cases(&harp).into_iter().enumerate() {
            if !known && case.ways.len() > 2 {
                continue;
            }
            for seed in seeds.clone() {
                let manner = simulated::Manner::of(seed * 1_000 + i as u64);
                let (samples, began) = simulated::render(&harp, &case, manner, 48_000.0);
                table.add(&harp, &case, (&hear(holes.clone(), &samples, 48_000.0), began));
            }
        }
    }
    table.print(if known { "simulated player, harp known" } else { "simulated player, no harp" });
}

/// How often a neighbour 20 dB down is told from 60 and from 120 ms on, and how far off its level is.
fn leaks(seeds: std::ops::Range<u64>, db: f64) {
    let (mut told, mut all, mut near, mut lone) = (0, 0, 0, 0);
    for key in HARPS {
        let harp = harp(key);
        for (i, case) in cases(&harp).into_iter().filter(|case| case.kind == Kind::Lone).enumerate() {
            for seed in seeds.clone() {
                let hole = case.ways[0].hole;
                let other = if hole == 10 || (hole > 1 && seed % 2 == 0) { hole - 1 } else { hole + 1 };
                let manner = simulated::Manner::of(seed * 1_000 + i as u64);
                let (samples, began) = simulated::leak(&harp, &case, other, db, manner);
                for s in hear(holes(&harp), &samples, 48_000.0) {
                    let after = (s.known as f64 - began as f64) / 48_000.0;
                    if !(0.12..0.4).contains(&after) {
                        continue;
                    }
                    let levels: Vec<_> =
                        s.voices().filter_map(|v| Some((v.reed?.hole, v.level_dbfs))).collect();
                    all += 1;
                    lone += u32::from(levels.len() == 1);
                    if let [(_, loud), (second, soft)] = levels[..]
                        && second == other
                    {
                        told += 1;
                        near += u32::from((f64::from(soft - loud) - db).abs() <= 3.0);
                    }
                }
            }
        }
    }
    let share = |n: u32| 100.0 * f64::from(n) / f64::from(all.max(1));
    println!(
        "a neighbour at {db} dB, readings 120-400 ms: told {:.2} %, within 3 dB {:.2} %, called lone {:.2} %",
        share(told),
        share(near),
        share(lone)
    );
}

fn sampled_table(details: bool) {
    for font in ["FluidR3_GM.sf2", "TimGM6mb.sf2"] {
        for program in 20..=23 {
            let mut table = Table { details, ..Table::default() };
            for key in HARPS {
                let harp = harp(key);
                let all = cases(&harp);
                let (samples, begins) = sampled::render(&harp, &all, font, program);
                let heard = hear(holes(&harp), &samples, 48_000.0);
                for (case, began) in all.iter().zip(begins) {
                    table.add(&harp, case, (&heard, began));
                }
            }
            table.print(&format!("{font}, program {program}"));
        }
    }
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let mut number = || arguments.next().and_then(|a| a.parse::<u64>().ok());
    let (first, count) = (number().unwrap_or(1), number().unwrap_or(2));
    let what = std::env::args().nth(3).unwrap_or_default();
    let details = std::env::args().any(|a| a == "details");
    if what != "fonts" {
        simulated(first..first + count, true, details);
        leaks(first..first + count, -20.0);
        simulated(first..first + count, false, false);
    }
    if what != "sim" {
        sampled_table(details);
    }
}
