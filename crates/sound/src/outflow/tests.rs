//! The output callback's engine.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros, clippy::indexing_slicing)] // no callback here

use super::*;
use assert_no_alloc::{assert_no_alloc, violation_count};
use ringbuf::traits::{Producer, Split};
use ringbuf::{HeapProd, HeapRb};

fn outflow(channels: u16) -> (HeapProd<f32>, Outflow) {
    let (ring, samples) = HeapRb::new(1_000).split();
    (ring, Outflow::new(samples, channels, Arc::default()))
}

#[test]
fn every_channel_gets_the_sample_and_an_empty_ring_gives_silence() {
    let (mut ring, mut outflow) = outflow(3);
    ring.push_slice(&[0.5, -0.25]);
    let mut block = [9.0f32; 9];
    outflow.give(&mut block, HostTime::now());
    assert_eq!(block, [0.5, 0.5, 0.5, -0.25, -0.25, -0.25, 0.0, 0.0, 0.0]);
    let mut bytes = [9u8; 3];
    outflow.give(&mut bytes, HostTime::now());
    assert_eq!(bytes, [128; 3], "silence of unsigned samples is in their middle");
    ring.push_slice(&[0.9, 0.9, -1.0, 1.0]); // silence stood in for two samples, which come too late
    let mut words = [9i16; 6];
    outflow.give(&mut words, HostTime::now());
    assert_eq!(words, [i16::MIN, i16::MIN, i16::MIN, i16::MAX, i16::MAX, i16::MAX]);
}

#[test]
fn a_callback_allocates_nothing() {
    let (mut ring, outflow) = outflow(2);
    let (told, _handed_out) = crate::handed_out::HandedOut::new(48_000.0, Arc::default());
    let mut outflow = outflow.telling(told);
    let samples = [0.1; 700];
    let (mut floats, mut words, mut bytes) = (vec![0f32; 4_096], vec![0i32; 4_096], vec![0u8; 4_096]);
    let before = violation_count();
    assert_no_alloc(|| {
        for length in [0, 1, 2, 240, 1_023, 4_096] {
            ring.push_slice(&samples);
            outflow.give(&mut floats[..length], HostTime::now());
            outflow.give(&mut words[..length], HostTime::now());
            outflow.give(&mut bytes[..length], HostTime::now());
        }
    });
    assert_eq!(violation_count(), before);
}
