//! After `new` the ear allocates nothing, so it may live next to a real-time callback.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "tests")]

mod common;

use assert_no_alloc::{AllocDisabler, assert_no_alloc, violation_count};
use common::{Noise, REED, Tone, add};
use pitch::{Ear, Settings};

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

#[test]
fn it_allocates_nothing_after_it_is_made() {
    let mut samples = vec![0.0; 96_000];
    let mut noise = Noise(3);
    for s in &mut samples {
        *s = 0.01 * noise.next() as f32;
    }
    add(&mut samples, 48_000.0, 0.2, &Tone { hz: 98.0, amplitudes: &REED, from: 0.2, to: 0.8 });
    add(&mut samples, 48_000.0, 0.2, &Tone { hz: 2_093.0, amplitudes: &REED, from: 0.9, to: 1.8 });
    let mut ear = Ear::new(Settings::new(48_000.0).with_harp(vec![98.0, 2_093.0])).unwrap();
    let mut voiced = 0;
    assert_no_alloc(|| {
        for block in samples.chunks(480) {
            ear.push(block, |reading| voiced += usize::from(reading.hz.is_some()));
        }
        ear.reset();
    });
    assert_eq!(violation_count(), 0);
    assert!(voiced > 500, "the notes were heard ({voiced} readings)");
}
