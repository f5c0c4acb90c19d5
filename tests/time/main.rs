//! The bench of time: which notes were played and when, on takes of the simulated player, who knows what it played.
//!
//! The conventions stand in `corpus.rs`, the figures in `figures.rs`, and what was measured in `RESULTS.md`. `cargo
//! test` runs a small fixed part of it. The table of `RESULTS.md` comes by hand, with a seed and more takes of each
//! case:
//!
//! ```text
//! BENDWRIGHT_TIME_SEED=1 BENDWRIGHT_TIME_TAKES=12 cargo test -p practice --test time -- --nocapture
//! ```
//!
//! With `BENDWRIGHT_TIME_DIR` it also writes what sounded, what was played and what was heard as files, for `peers.py`
//! beside this file.

// Helpers of tests may panic like the tests themselves; figures are for whoever runs them with --nocapture.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod corpus;
mod figures;
mod heard;
mod speaks;
mod written;

use corpus::Case;
use figures::Figures;
use heard::heard;

/// The figures of so many takes of a case.
fn measured(case: Case, seed: u64, takes: u64) -> Figures {
    let mut figures = Figures::default();
    for number in 0..takes {
        let take = corpus::take(case, seed * 1_000 + number);
        let heard = heard(&take.harp, &take.samples);
        written::write(&format!("{}-{number}", case.name()), &take.samples, &take.truth, &heard);
        figures.add(&take.truth, &heard);
    }
    figures
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
    // `synth` attacks by a raised cosine of 60 ms at 150 Hz and below: the fundamental passes a tenth of its height
    // after acos(0.8)/π of that, 12.3 ms, and the partials above it build up later, but in the first half of the
    // attack.
    let way = layout::Way::new(1, layout::Breath::Blow, layout::Technique::Natural);
    let lag_s = speaks::speaks_s(&corpus::harp("low F"), way);
    assert!((0.011..0.028).contains(&lag_s), "{lag_s}");
}
