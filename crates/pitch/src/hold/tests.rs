#![allow(clippy::unwrap_used, reason = "tests")]

use super::*;

const RATE: f64 = 16_000.0;
const FREQUENCY: f64 = 300.0 / RATE;

/// A hold that has seen a neighbour pull its windows.
fn beside_a_neighbour() -> Hold {
    let mut hold = Hold::new(RATE, 40, 0.40);
    hold.beside = Some(Estimate { frequency: FREQUENCY, ..Estimate::default() });
    for pull in &mut hold.pulls {
        pull.see(0.01 * FREQUENCY);
    }
    hold
}

#[test]
fn what_a_neighbour_did_goes_with_it() {
    let mut hold = beside_a_neighbour();
    let history = vec![0.0; hold.span()];
    let look = Glance {
        history: &history,
        level: &history,
        short: Fit::default(),
        before: Estimate::default(),
        age: 0,
        unrepeated: 0.0,
        louder: false,
    };
    hold.part(&look, FREQUENCY);
    assert!(hold.beside.is_none());
    assert!(hold.pulls.iter_mut().all(|pull| pull.see(0.0) == 0.0), "{:?}", hold.pulls);
}
