//! The callback's engine under an allocator that counts, and its gaps.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros, clippy::indexing_slicing)] // no callback here

use super::*;
use crate::Channel;
use crate::tap::{Arrival, Drawn};
use assert_no_alloc::{AllocDisabler, assert_no_alloc, violation_count};
use cpal::{I24, U24};

#[global_allocator]
static WATCHED: AllocDisabler = AllocDisabler;

fn intake(choice: Channel, channels: u16, rate: f64) -> (Intake, Tap) {
    Intake::new(Picker::new(choice, channels, rate, "test").unwrap(), rate)
}

/// Milliseconds of the clock.
fn ms(ms: u64) -> HostTime {
    HostTime::from_nanos(ms * 1_000_000)
}

/// A reading without its date.
fn drawn(tap: &mut Tap, heard: &mut [f32]) -> Drawn {
    match tap.draw(heard) {
        Drawn::Samples(got, _) => Drawn::Samples(got, None),
        other => other,
    }
}

fn violations(work: impl FnOnce()) -> u32 {
    let before = violation_count();
    assert_no_alloc(work);
    violation_count() - before
}

#[test]
fn the_watch_sees_an_allocation() {
    assert!(violations(|| drop(std::hint::black_box(vec![0u8; 64]))) > 0);
}

/// Blocks of every size that devices deliver, one frame and broken frames among them, far beyond a full ring.
fn flood<T>(value: T, choice: Channel, channels: u16) -> u32
where
    T: Sample,
    f32: FromSample<T>,
{
    let (mut intake, mut tap) = intake(choice, channels, 8_000.0);
    let block = vec![value; 4_096 * usize::from(channels)];
    let mut heard = vec![0.0; 3_000];
    violations(|| {
        for round in 0..40 {
            for length in [1, 2, 119, 341, 1_023, 4_096, 0] {
                intake.take(&block[..length], HostTime::now());
            }
            if round % 7 == 0 {
                while tap.draw(&mut heard) != Drawn::Nothing {}
            }
        }
    })
}

#[test]
fn a_callback_allocates_nothing_in_any_format_or_channel_choice() {
    for (choice, channels) in
        [(Channel::Auto, 1), (Channel::Auto, 2), (Channel::Mix, 18), (Channel::Only(8), 8)]
    {
        let found = [
            flood(3i8, choice, channels),
            flood(3i16, choice, channels),
            flood(I24::new_unchecked(3), choice, channels),
            flood(3i32, choice, channels),
            flood(3i64, choice, channels),
            flood(3u8, choice, channels),
            flood(3u16, choice, channels),
            flood(U24::new_unchecked(3), choice, channels),
            flood(3u32, choice, channels),
            flood(3u64, choice, channels),
            flood(0.3f32, choice, channels),
            flood(f32::NAN, choice, channels),
            flood(0.3f64, choice, channels),
        ];
        assert_eq!(found, [0; 13], "{choice:?} of {channels}");
    }
}

#[test]
fn formats_have_their_silence_and_their_scale() {
    fn one<T>(value: T) -> f32
    where
        T: Sample,
        f32: FromSample<T>,
    {
        let (mut intake, mut tap) = intake(Channel::Auto, 1, 8_000.0);
        intake.take(&[value], ms(0));
        let mut heard = [9.0];
        assert_eq!(drawn(&mut tap, &mut heard), Drawn::Samples(1, None));
        heard[0]
    }
    assert_eq!([one(128u8), one(1u16 << 15), one(U24::new_unchecked(1 << 23)), one(1u32 << 31)], [0.0; 4]);
    assert_eq!(
        [one(64u8), one(-16_384i16), one(I24::new_unchecked(-(1 << 22))), one(-(1i32 << 30))],
        [-0.5; 4]
    );
    assert_eq!([one(0.5f64), one(0.5f32), one(1u64 << 63 | 1 << 62), one(1i64 << 62)], [0.5; 4]);
}

#[test]
fn samples_that_find_no_room_are_counted_and_told_where_they_are_missing() {
    let (mut intake, mut tap) = intake(Channel::Auto, 1, 1_000.0); // a ring of 2000
    let count: Vec<f32> = (0..7_000).map(|n| n as f32).collect();
    let mut heard = [0.0; 500];
    intake.take(&count[..2_500], ms(0)); // 500 are lost
    for part in 0..4 {
        assert_eq!(drawn(&mut tap, &mut heard), Drawn::Samples(500, None));
        assert_eq!(heard[0], part as f32 * 500.0);
    }
    assert_eq!(tap.draw(&mut heard), Drawn::Nothing, "the gap is told with the sample that follows it");
    intake.take(&count[2_500..3_000], ms(0));
    assert_eq!(tap.draw(&mut heard), Drawn::Gap(500));
    assert_eq!(drawn(&mut tap, &mut heard), Drawn::Samples(500, None));
    assert_eq!((heard[0], heard[499]), (2_500.0, 2_999.0));
    assert_eq!(intake.tally().dropped.load(Ordering::Relaxed), 500);
    assert_eq!(intake.tally().frames.load(Ordering::Relaxed), 3_000);
}

/// More gaps than can wait: they grow together, and still not one sample stands in a wrong place.
#[test]
fn any_number_of_gaps_keeps_every_sample_in_its_place() {
    let (mut intake, mut tap) = intake(Channel::Auto, 1, 1_000.0);
    let (mut sent, mut at) = (0u32, 0u64);
    let mut heard = [0.0; 64];
    let mut random = 1u32;
    for round in 0..8_000 {
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let block: Vec<f32> = (sent..sent + (random >> 24)).map(|n| n as f32).collect();
        sent += block.len() as u32;
        intake.take(&block, ms(0));
        // Read in bursts, now and then far less than comes.
        for _ in 0..(if round % 200 < 150 { 1 } else { 4 }) {
            match tap.draw(&mut heard) {
                Drawn::Samples(n, _) => {
                    for &x in &heard[..n] {
                        assert_eq!(x, at as f32);
                        at += 1;
                    }
                }
                Drawn::Gap(lost) => at += lost,
                Drawn::Nothing => {}
            }
        }
    }
    assert!(intake.tally().dropped.load(Ordering::Relaxed) > 10_000, "the ring was never full");
}

/// A process that stood still for ten seconds is handed all that its sound server kept, faster than it can read.
#[test]
fn a_backlog_leaves_one_gap() {
    let (mut intake, mut tap) = intake(Channel::Auto, 1, 1_000.0); // a ring of 2000
    let mut heard = [0.0; 10];
    let (mut gaps, mut read) = (Vec::new(), 0);
    let mut listen = |times: usize, tap: &mut Tap| {
        for _ in 0..times {
            match tap.draw(&mut heard) {
                Drawn::Gap(lost) => gaps.push(lost),
                Drawn::Samples(got, _) => read += got as u64,
                Drawn::Nothing => {}
            }
        }
    };
    for block in 0..1_000 {
        intake.take(&[0.1; 10], ms(block / 10));
        listen(usize::from(block % 3 == 0), &mut tap); // 3.3 samples are read while 10 come
    }
    for block in 0..1_000 {
        intake.take(&[0.1; 10], ms(100 + 10 * block)); // at the speed of the music again
        listen(3, &mut tap);
    }
    assert_eq!(gaps.len(), 1, "{gaps:?}");
    assert_eq!(gaps[0] + read, 20_000, "no sample is forgotten");
}

#[test]
fn a_sample_is_dated_by_the_callback_that_brought_it() {
    let (mut intake, mut tap) = intake(Channel::Auto, 2, 1_000.0);
    intake.take(&[0.1; 20], ms(70)); // ten frames of two channels
    intake.take(&[0.1; 40], ms(90));
    let dated = |ahead, at| Some(Arrival { ahead, at: ms(at) });
    let mut heard = [0.0; 8];
    assert_eq!(tap.draw(&mut heard), Drawn::Samples(8, dated(10, 70)));
    assert_eq!(tap.draw(&mut heard), Drawn::Samples(8, dated(2, 70)), "its first sample came with the first");
    assert_eq!(tap.draw(&mut heard), Drawn::Samples(8, dated(14, 90)));
    assert_eq!(tap.draw(&mut heard), Drawn::Samples(6, dated(6, 90)));
    intake.take(&[] as &[f32], ms(95));
    intake.take(&[0.1; 2], ms(97));
    assert_eq!(tap.draw(&mut heard), Drawn::Samples(1, dated(1, 97)));
}

#[test]
fn dates_stay_right_behind_a_gap_and_where_anchors_found_no_room() {
    let (mut intake, mut tap) = intake(Channel::Auto, 1, 1_000.0); // a ring of 2000, a frame a millisecond
    let mut random = 1u32;
    let (mut came, mut at, mut gaps) = (0u64, 0u64, 0);
    let mut heard = [0.0; 700];
    for round in 0..20_000 {
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let length = (random >> 30) as usize; // many more callbacks than anchors that can wait
        came += length as u64;
        intake.take(&[0.1; 3][..length], ms(came));
        if round % 2_500 > 2_000 {
            match tap.draw(&mut heard) {
                Drawn::Gap(lost) => {
                    gaps += 1;
                    at += lost;
                }
                Drawn::Samples(got, arrival) => {
                    let arrival = arrival.unwrap();
                    let frame = at.saturating_add_signed(arrival.ahead);
                    assert_eq!(arrival.at, ms(frame), "frame {frame} has another date");
                    at += got as u64;
                }
                Drawn::Nothing => {}
            }
        }
    }
    assert!(gaps > 3, "the ring was never full");
}
