//! Moments, and pairs that are never torn.

use super::*;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::thread;

#[test]
fn the_clock_never_runs_backwards_and_is_the_same_in_every_thread() {
    let before = HostTime::now();
    let within = thread::spawn(HostTime::now).join().unwrap();
    let after = HostTime::now();
    assert!(before <= within && within <= after);
    assert_eq!((before + Duration::from_millis(3)).since(before), Duration::from_millis(3));
    assert_eq!(before.since(before + Duration::from_secs(1)), Duration::ZERO);
}

#[test]
fn a_frame_has_its_moment_before_and_after_the_anchor() {
    let anchor = Anchor { frame: 48_000, at: HostTime::from_nanos(5_000_000_000) };
    assert_eq!(anchor.time_of(48_000, 48_000.0), anchor.at);
    assert_eq!(anchor.time_of(48_480, 48_000.0), HostTime::from_nanos(5_010_000_000));
    assert_eq!(anchor.time_of(47_520, 48_000.0), HostTime::from_nanos(4_990_000_000));
    let early = Anchor { frame: 48_000, at: HostTime::from_nanos(10) };
    assert_eq!(early.time_of(0, 48_000.0), HostTime::from_nanos(0), "nothing was before the clock");
}

#[test]
fn there_is_no_anchor_before_the_first_frame() {
    let newest = NewestAnchor::default();
    assert_eq!(newest.load(), None);
    let anchor = Anchor { frame: 7, at: HostTime::from_nanos(9) };
    newest.store(anchor);
    assert_eq!(newest.load(), Some(anchor));
}

/// The callback may take no lock, and the library would take one on a processor that has no 128-bit access.
#[test]
fn a_pair_needs_no_lock_on_this_machine() {
    assert!(AtomicU128::is_lock_free());
}

#[test]
fn a_pair_is_never_read_in_halves() {
    let (pair, end) = (Arc::new(Pair::default()), Arc::new(AtomicBool::new(false)));
    let writer = {
        let (pair, end) = (Arc::clone(&pair), Arc::clone(&end));
        thread::spawn(move || {
            for n in 1..=2_000_000 {
                pair.store(n, n.wrapping_mul(0x9e37_79b9_7f4a_7c15));
            }
            end.store(true, Ordering::Relaxed);
        })
    };
    let mut newest = 0;
    while !end.load(Ordering::Relaxed) {
        let (first, second) = pair.load();
        assert_eq!(second, first.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        assert!(first >= newest, "an old pair came after a new one");
        newest = first;
    }
    writer.join().unwrap();
    assert_eq!(pair.load().0, 2_000_000);
}
