#![allow(clippy::unwrap_used, reason = "tests")]

use super::*;

const RATE: f64 = 16_000.0;
const FREQUENCY: f64 = 300.0 / RATE;

/// A hold that has seen a neighbour pull its windows, and noise around the harmonics.
fn beside_a_neighbour() -> Hold {
    let mut hold = Hold::new(RATE, 40, 0.40);
    hold.beside = Some(Estimate { frequency: FREQUENCY, ..Estimate::default() });
    for pull in &mut hold.pulls {
        pull.see(0.01 * FREQUENCY);
    }
    (hold.around, hold.floor) = (Some([1.0; HARMONICS]), Some([1.0; HARMONICS]));
    hold
}

#[test]
fn the_noise_around_the_harmonics_of_one_octave_is_not_that_of_another() {
    let mut hold = beside_a_neighbour();
    hold.another_octave();
    assert!(hold.around.is_none() && hold.floor.is_none());
}

#[test]
fn what_a_neighbour_did_goes_with_it() {
    let mut hold = beside_a_neighbour();
    hold.noise = 0.0;
    let history = vec![0.0; hold.span()];
    let look = Look {
        history: &history,
        level: &history,
        short: Fit::default(),
        before: Estimate::default(),
        age: 1_000,
        unrepeated: 0.0,
        louder: false,
    };
    hold.part(&look, FREQUENCY);
    assert!(hold.beside.is_none());
    assert!(hold.pulls.iter_mut().all(|pull| pull.see(0.0) == 0.0), "{:?}", hold.pulls);
}
