#![allow(clippy::unwrap_used, reason = "tests")]

use super::*;

const RATE: f64 = 16_000.0;
const FREQUENCY: f64 = 300.0 / RATE;

/// A selection that has seen a neighbour pull its windows.
fn beside_a_neighbour() -> WindowSelection {
    let mut window = WindowSelection::new(RATE, 40, 0.40);
    window.beside = Some(Estimate { frequency: FREQUENCY, ..Estimate::default() });
    for bias in &mut window.biases {
        bias.see(0.01 * FREQUENCY);
    }
    window
}

#[test]
fn what_a_neighbour_did_goes_with_it() {
    let mut window = beside_a_neighbour();
    let history = vec![0.0; window.span()];
    let frame = Frame {
        history: &history,
        level: &history,
        short: Fit::default(),
        before: Estimate::default(),
        age: 0,
        noise_share: 0.0,
        louder: false,
    };
    window.part(&frame, FREQUENCY);
    assert!(window.beside.is_none());
    assert!(window.biases.iter_mut().all(|bias| bias.see(0.0) == 0.0), "{:?}", window.biases);
}
