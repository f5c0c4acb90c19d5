//! What is told of shortages, with messages made by hand.

use super::*;
use crate::HostTime;
use crate::outflow::Outflow;
use cpal::ErrorKind;
use ringbuf::HeapRb;
use ringbuf::traits::{Producer, Split};

/// Milliseconds of the clock.
fn ms(ms: u64) -> HostTime {
    HostTime::from_nanos(ms * 1_000_000)
}

fn playback() -> (Arc<Given>, Arc<Faults>, Playback) {
    let (given, faults) = (Arc::new(Given::default()), Arc::new(Faults::default()));
    let origin = Origin { name: "box".into(), host: None, sample_rate: 1_000.0, channels: 1 };
    let playback = Playback::new(origin, Arc::clone(&given), Arc::clone(&faults));
    (given, faults, playback)
}

fn shortage(events: u64, lasted_ms: u64, ongoing: bool) -> Underruns {
    Underruns { events, lasted: Duration::from_millis(lasted_ms), ongoing, system_events: 0 }
}

#[test]
fn a_ring_that_runs_dry_is_counted_once_for_as_long_as_it_is_dry() {
    let (given, _, playback) = playback();
    let (mut ring, samples) = HeapRb::new(1_000).split();
    let mut outflow = Outflow::new(samples, 1, given);
    let mut block = [0f32; 100];
    assert_eq!(playback.anchor(), None);
    outflow.give(&mut block, ms(5));
    assert_eq!(playback.underruns(), shortage(0, 0, false), "it has not begun");
    ring.push_slice(&[0.5; 350]); // 100 of these are too late
    for at in [10, 110] {
        outflow.give(&mut block, ms(at));
        assert_eq!(playback.underruns(), shortage(0, 0, false));
    }
    outflow.give(&mut block, ms(210));
    assert_eq!(playback.underruns(), shortage(1, 50, true));
    outflow.give(&mut block, ms(310));
    assert_eq!(playback.underruns(), shortage(1, 150, true), "still the same one");
    ring.push_slice(&[0.5; 250]); // 150 of these are too late
    outflow.give(&mut block, ms(410));
    assert_eq!(playback.underruns(), shortage(1, 150, false));
    outflow.give(&mut block, ms(510));
    assert_eq!(playback.underruns(), shortage(2, 250, true));
    assert_eq!(playback.anchor(), Some(Anchor { frame: 700, at: ms(510) }));
}

#[test]
fn what_the_sound_system_says_of_itself_is_counted_apart() {
    let (_, faults, playback) = playback();
    faults.count(&ErrorKind::Xrun.into());
    faults.count(&ErrorKind::Xrun.into());
    faults.count(&ErrorKind::BackendError.into());
    assert_eq!(playback.underruns(), Underruns { system_events: 2, ..Underruns::default() });
}
