//! Streams whose truth is known: a clock that is off, blocks of any size, callbacks that are late.

use super::*;
use oorandom::Rand64;

const RATE: f64 = 48_000.0;
/// When frame 0 is handed over, seconds.
const ZERO_S: f64 = 3.0;

/// What else goes wrong beside the lateness of each callback.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Trouble {
    /// Nothing.
    None,
    /// Every few seconds all callbacks are 8 ms later for 0.3 to 1.3 s, one in the tenth minute is 200 ms late, and one
    /// in two hundred comes 10 ms early, as the monitor of a null sink of `PulseAudio` sends some.
    Bursts,
}

/// A stream that is off by so many millionths, with blocks of 64 to 1023 frames and callbacks that are late by an
/// exponential distribution with a mean of 2 ms.
struct Simulated {
    random: Rand64,
    ppm: f64,
    trouble: Trouble,
    frame: u64,
    burst_until_s: f64,
    was_very_late: bool,
}

impl Simulated {
    fn new(ppm: f64, trouble: Trouble, seed: u128) -> Self {
        let random = Rand64::new(seed);
        Self { random, ppm, trouble, frame: 0, burst_until_s: 0.0, was_very_late: false }
    }

    /// When a frame is really handed over, seconds.
    fn true_s(&self, frame: u64) -> f64 {
        ZERO_S + frame as f64 / (RATE * (1.0 + self.ppm / 1e6))
    }

    fn next(&mut self) -> Anchor {
        self.frame += self.random.rand_range(64..1_024);
        let due_s = self.true_s(self.frame);
        let mut late_s = -(1.0 - self.random.rand_float()).ln() * 0.002;
        if self.trouble == Trouble::Bursts {
            if due_s < self.burst_until_s {
                late_s += 0.008;
            } else if self.random.rand_float() < 0.002 {
                self.burst_until_s = due_s + 0.3 + self.random.rand_float();
            }
            if self.random.rand_float() < 0.005 {
                late_s = -0.010;
            }
            if !self.was_very_late && due_s > 600.0 {
                (late_s, self.was_very_late) = (0.2, true);
            }
        }
        Anchor { frame: self.frame, at: HostTime::from_nanos(((due_s + late_s) * 1e9) as u64) }
    }
}

fn error_s(clock: &StreamClock, frame: u64, true_s: f64) -> f64 {
    clock.time_of(frame as f64).unwrap().nanos() as f64 / 1e9 - true_s
}

/// Follows a stream for so many seconds; gives back the largest errors of the time (seconds) and of the drift
/// (millionths) in the first half minute and after it.
fn errors(stream: &mut Simulated, seconds: f64) -> [(f64, f64); 2] {
    let mut clock = StreamClock::new(RATE);
    let mut worst = [(0.0_f64, 0.0_f64); 2];
    let end = (seconds * RATE) as u64;
    let mut next = 48_000;
    while stream.frame < end {
        clock.see(stream.next());
        if stream.frame >= next {
            next += 48_000;
            let of = &mut worst[usize::from(stream.frame > 30 * 48_000)];
            of.0 = of.0.max(error_s(&clock, stream.frame, stream.true_s(stream.frame)).abs());
            of.1 = of.1.max((clock.drift_ppm() - stream.ppm).abs());
        }
    }
    worst
}

#[test]
fn half_a_minute_tells_the_drift_and_half_an_hour_keeps_it() {
    for trouble in [Trouble::None, Trouble::Bursts] {
        for (seed, ppm) in [-100.0, -50.0, 0.0, 100.0, 1_750.0].into_iter().enumerate() {
            let mut stream = Simulated::new(ppm, trouble, 7 + seed as u128);
            let [first, then] = errors(&mut stream, 1_800.0);
            assert!(first.0 < 0.000_8, "{trouble:?}, {ppm}: {} s off in the beginning", first.0);
            assert!(then.0 < 0.000_1, "{trouble:?}, {ppm}: {} s off", then.0);
            assert!(then.1 < 5.0, "{trouble:?}, {ppm}: drift {} millionths off", then.1);
        }
    }
}

/// The average lateness of the callbacks is no part of the time that is told: a machine that becomes busy changes
/// nothing.
#[test]
fn a_machine_that_becomes_busy_tells_the_same_times() {
    let mut stream = Simulated::new(40.0, Trouble::None, 3);
    let mut clock = StreamClock::new(RATE);
    let mut worst = 0.0_f64;
    while stream.frame < 240 * 48_000 {
        let Anchor { frame, at } = stream.next();
        let busy = (120.0..180.0).contains(&(frame as f64 / RATE));
        // Four times as late in the third minute.
        let late = at.since(HostTime::from_nanos((stream.true_s(frame) * 1e9) as u64));
        clock.see(Anchor { frame, at: if busy { at + 3 * late } else { at } });
        if frame > 30 * 48_000 {
            worst = worst.max(error_s(&clock, frame, stream.true_s(frame)).abs());
        }
    }
    assert!(worst < 0.000_4, "{worst} s");
}

#[test]
fn a_stream_that_jumps_is_followed_with_the_drift_that_is_known() {
    // Frames that the sound system swallowed: all that follow are handed over later. Then the other way round.
    for (jump_s, within_s) in [(0.02, LATE_FOR_S + 0.5), (-0.02, 0.3)] {
        let mut stream = Simulated::new(80.0, Trouble::None, 5);
        let mut clock = StreamClock::new(RATE);
        while stream.frame < 60 * 48_000 {
            clock.see(stream.next());
        }
        let jumped = stream.frame;
        while stream.frame < jumped + 60 * 48_000 {
            let Anchor { frame, at } = stream.next();
            let moved = (at.nanos() as f64 + jump_s * 1e9) as u64;
            clock.see(Anchor { frame, at: HostTime::from_nanos(moved) });
            if (frame - jumped) as f64 / RATE > within_s {
                let error = error_s(&clock, frame, stream.true_s(frame) + jump_s);
                assert!(error.abs() < 0.003, "{jump_s}: {error} s, {} after the jump", frame - jumped);
            }
            if (frame - jumped) as f64 / RATE > within_s + 1.0 {
                assert!(error_s(&clock, frame, stream.true_s(frame) + jump_s).abs() < 0.000_5);
            }
        }
        assert!((clock.drift_ppm() - 80.0).abs() < 5.0, "{}", clock.drift_ppm());
    }
}

/// A loudspeaker is handed what fills its buffer before it runs: here 400 frames, 8 ms before they are due.
#[test]
fn what_fills_a_buffer_first_is_soon_forgotten() {
    let mut stream = Simulated::new(20.0, Trouble::None, 6);
    let mut clock = StreamClock::new(RATE);
    clock.see(Anchor { frame: 400, at: HostTime::from_nanos((stream.true_s(400) * 1e9) as u64 - 8_000_000) });
    stream.frame = 400;
    while stream.frame < 48_000 {
        clock.see(stream.next());
    }
    let error = error_s(&clock, stream.frame, stream.true_s(stream.frame));
    assert!(error.abs() < 0.000_5, "{error} s");
}

#[test]
fn frames_and_moments_belong_together() {
    let mut clock = StreamClock::new(48_000.0);
    assert!(clock.time_of(0.0).is_none() && clock.frame_at(HostTime::from_nanos(5)).is_none());
    clock.see(Anchor { frame: 48_000, at: HostTime::from_nanos(2_000_000_000) });
    assert_eq!(clock.time_of(96_000.0), Some(HostTime::from_nanos(3_000_000_000)));
    assert_eq!(clock.frame_at(HostTime::from_nanos(1_500_000_000)), Some(24_000.0));
    let mut stream = Simulated::new(-70.0, Trouble::None, 9);
    for _ in 0..5_000 {
        clock.see(stream.next());
    }
    for frame in [0.0, 1e5, 1e7] {
        let back = clock.frame_at(clock.time_of(frame).unwrap()).unwrap();
        assert!((back - frame).abs() < 0.001, "{frame}: {back}");
    }
}

#[test]
fn the_same_anchors_tell_the_same() {
    let told = || {
        let (mut stream, mut clock) = (Simulated::new(33.0, Trouble::Bursts, 4), StreamClock::new(RATE));
        for _ in 0..20_000 {
            clock.see(stream.next());
        }
        (clock.time_of(1e8), clock.drift_ppm().to_bits())
    };
    assert_eq!(told(), told());
}
