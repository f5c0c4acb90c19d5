//! The bench of time: which notes were played and when, on takes of the simulated player, who knows what it played.
//!
//! The conventions stand in `corpus.rs`, the figures in `figures.rs`, and what was measured in `RESULTS.md`. `cargo test` runs a
//! small fixed part of it. The table of `RESULTS.md` comes by hand, with a seed and more takes of each case:
//!
//! ```text
//! BENDWRIGHT_TIME_SEED=1 BENDWRIGHT_TIME_TAKES=12 cargo test -p practice --test time -- --nocapture
//! ```
//!
//! With `BENDWRIGHT_TIME_DIR` it also writes what was played and what was heard as text, for `peer.py` beside this file.

// Helpers of tests may panic like the tests themselves; figures are for whoever runs them with --nocapture.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod corpus;
mod figures;
mod speaks;

use corpus::{Case, RATE, Take, Truth};
use figures::Figures;
use pitch::{Ear, Settings};
use scoring::timed::{Divided, Notes, PlayedAt};
use std::fmt::Write as _;
use std::path::Path;

/// What a run counts as a note, seconds: as `practice::run` has it.
const COUNTS_S: f64 = 0.06;

/// What was heard of a take: the ear as the program sets it up, its readings divided as a run divides them.
fn heard(take: &Take) -> Vec<Truth> {
    let fundamentals = take.harp.ways().filter_map(|way| take.harp.hz(way)).collect();
    let mut ear = Ear::new(Settings::new(RATE).with_harp(fundamentals)).unwrap();
    let mut notes = Notes::new(RATE, COUNTS_S);
    let mut divided: Vec<Divided> = Vec::new();
    ear.push(&take.samples, |reading| divided.extend(notes.hear(take.harp.concert(), &reading)));
    divided.extend(notes.end());
    let heard = divided.iter().filter_map(|note| {
        let played = PlayedAt::new(note, 0.0, RATE);
        let hz = played.held.map(|(hz, _)| hz).or(note.median_hz())?;
        Some(Truth { onset_s: played.onset_s, ended_s: played.ended_s, hz })
    });
    heard.collect()
}

/// The figures of so many takes of a case.
fn measured(case: Case, seed: u64, takes: u64) -> Figures {
    let mut figures = Figures::default();
    for number in 0..takes {
        let take = corpus::take(case, seed * 1_000 + number);
        let heard = heard(&take);
        if let Some(folder) = std::env::var_os("BENDWRIGHT_TIME_DIR") {
            let name = format!("{}-{number}", case.name().replace(' ', "-"));
            write(Path::new(&folder), &format!("{name}.ref"), &take.truth);
            write(Path::new(&folder), &format!("{name}.est"), &heard);
        }
        figures.add(&take.truth, &heard);
    }
    figures
}

/// One note a line: onset and end in seconds, pitch in hertz.
fn write(folder: &Path, name: &str, notes: &[Truth]) {
    let mut text = String::new();
    for note in notes {
        writeln!(text, "{:.9}\t{:.9}\t{:.9}", note.onset_s, note.ended_s, note.hz).unwrap();
    }
    std::fs::create_dir_all(folder).unwrap();
    std::fs::write(folder.join(name), text).unwrap();
}

#[test]
fn notes_are_heard_where_they_were_played() {
    let number =
        |name: &str, usual: u64| std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual);
    let (seed, takes) = (number("BENDWRIGHT_TIME_SEED", 1), number("BENDWRIGHT_TIME_TAKES", 2));
    println!("{}", Figures::HEAD);
    let mut all = Figures::default();
    for case in Case::ALL {
        let figures = measured(case, seed, takes);
        println!("{}", figures.row(case.name()));
        all.join(figures);
    }
    println!("{}", all.row("all"));
    assert!(all.bias_s().abs() <= 0.001 && all.p95_s() <= 0.008, "{} {}", all.bias_s(), all.p95_s());
    let [onset, wide, tight] = all.f();
    assert!(onset >= 0.995 && wide >= 0.998 && tight >= 0.99, "{onset} {wide} {tight}");
}

#[test]
fn the_truth_is_where_the_simulator_passes_20_db_below_its_held_level() {
    // `synth` attacks by a raised cosine of 60 ms at 150 Hz and below: the fundamental passes a tenth of its height after
    // acos(0.8)/π of that, 12.3 ms, and the partials above it build up later, but in the first half of the attack.
    let way = layout::Way::new(1, layout::Breath::Blow, layout::Technique::Natural);
    let lag_s = speaks::speaks_s(&corpus::harp("low F"), way);
    assert!((0.011..0.028).contains(&lag_s), "{lag_s}");
}
