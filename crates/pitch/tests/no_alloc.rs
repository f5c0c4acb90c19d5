//! After `new` the ear allocates nothing, so it may live next to a real-time callback.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "tests")]

mod common;

use assert_no_alloc::{AllocDisabler, assert_no_alloc, violation_count};
use common::{Noise, REED, Tone, add};
use pitch::{Ear, Settings};

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

/// All that an ear may meet: noise, a note with a neighbour that sounds along, a note an octave higher slurred to it, a
/// note that is first taken for its own octave, a high note, silence.
fn meeting(rate: f64) -> Vec<f32> {
    let mut samples = vec![0.0; (2.4 * rate) as usize];
    let mut noise = Noise(3);
    for s in &mut samples[..(2.0 * rate) as usize] {
        *s = 0.003 * noise.next() as f32;
    }
    let dull: [f64; 8] = std::array::from_fn(|index| 1.0 / ((index + 1) as f64).powi(2));
    add(&mut samples, rate, 0.2, &Tone { hz: 196.0, amplitudes: &dull, from: 0.1, to: 0.7 });
    add(&mut samples, rate, 0.03, &Tone { hz: 233.08, amplitudes: &REED, from: 0.1, to: 0.7 });
    add(&mut samples, rate, 0.2, &Tone { hz: 392.0, amplitudes: &REED, from: 0.69, to: 1.0 });
    add(&mut samples, rate, 0.2, &Tone { hz: 98.0, amplitudes: &[0.2, 1.0, 0.2, 0.5], from: 1.0, to: 1.4 });
    add(&mut samples, rate, 0.2, &Tone { hz: 2_093.0, amplitudes: &REED, from: 1.5, to: 1.9 });
    samples
}

#[test]
fn it_allocates_nothing_after_it_is_made() {
    for rate in [16_000.0, 48_000.0, 192_000.0] {
        let samples = meeting(rate);
        let made = Ear::new(Settings::new(rate)).unwrap();
        // A copy must own room of its own, not just what the original had in use.
        for mut ear in [made.clone(), made] {
            let (mut voiced, mut pitches) = (0, [0; 4]);
            assert_no_alloc(|| {
                for block in samples.chunks(480) {
                    ear.push(block, |reading| {
                        let Some(hz) = reading.hz else { return };
                        voiced += 1;
                        for (count, note) in pitches.iter_mut().zip([196.0, 392.0, 98.0, 2_093.0]) {
                            *count += usize::from((hz / note - 1.0).abs() < 0.001);
                        }
                    });
                }
                ear.reset();
                ear.push(&samples, |_| ());
            });
            assert_eq!(violation_count(), 0);
            assert!(voiced > 500, "the notes were heard ({voiced} readings)");
            assert!(pitches.iter().all(|count| *count > 40), "each of them: {pitches:?}");
        }
    }
}
