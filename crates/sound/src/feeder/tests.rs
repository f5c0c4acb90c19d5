//! A loudspeaker played by the test: its callback runs when the test says so, at moments that the test makes up.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros, clippy::indexing_slicing)] // no callback here

use super::*;
use crate::outflow::Outflow;
use ringbuf::HeapRb;
use ringbuf::traits::Split;
use std::time::Duration;

const RATE: f64 = 8_000.0;

struct Constant(usize);

impl Generator for Constant {
    fn sample_rate(&self) -> f64 {
        RATE
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let n = self.0.min(out.len());
        out[..n].fill(0.5);
        self.0 -= n;
        n
    }
}

struct Stage {
    feeder: Feeder,
    outflow: Outflow,
    given: Arc<Given>,
    own: OwnSound,
    now: HostTime,
    finished: u32,
}

fn stage() -> Stage {
    let (ring, samples) = HeapRb::new(4_000).split();
    let (given, own) = (Arc::new(Given::default()), OwnSound::default());
    Stage {
        feeder: Feeder::new(RATE, ring, Arc::clone(&given), own.clone()),
        outflow: Outflow::new(samples, 1, Arc::clone(&given)),
        given,
        own,
        now: HostTime::from_nanos(1_000_000_000),
        finished: 0,
    }
}

impl Stage {
    fn top_up(&mut self) {
        let finished = &mut self.finished;
        self.feeder.top_up(self.now, |progress| *finished += u32::from(progress == Progress::Finished));
    }

    /// Ten milliseconds: the feeder twice, the callback once. Gives back the block.
    fn step(&mut self) -> [f32; 80] {
        let mut block = [9.0; 80];
        self.top_up();
        self.now = self.now + Duration::from_millis(5);
        self.top_up();
        self.outflow.give(&mut block, self.now);
        self.now = self.now + Duration::from_millis(5);
        block
    }

    fn steps(&mut self, n: usize) -> Vec<f32> {
        (0..n).flat_map(|_| self.step()).collect()
    }

    fn is_covered(&self) -> bool {
        self.own.covers(self.now, self.now)
    }
}

#[test]
fn silence_is_played_too_and_nothing_is_missed() {
    let mut stage = stage();
    assert!(stage.steps(100).iter().all(|&x| x == 0.0));
    assert_eq!(stage.given.shortages.load(Ordering::Relaxed), 0);
    assert_eq!(stage.given.anchor.load().map(|anchor| anchor.frame), Some(8_000));
    assert!(!stage.is_covered() && !stage.feeder.is_sounding());
}

#[test]
fn a_sound_is_heard_whole_and_muted_from_before_its_first_frame_until_after_its_last() {
    let mut stage = stage();
    stage.steps(20);
    stage.feeder.play(Box::new(Constant(1_600))); // 0.2 s
    let ordered = stage.now;
    let mut heard = Vec::new();
    let mut last = ordered;
    for _ in 0..100 {
        let covered_before = stage.own.covers(ordered, stage.now);
        let block = stage.step();
        if block.iter().any(|&x| x > 0.0) {
            assert!(covered_before || heard.is_empty());
            assert!(stage.is_covered(), "it sounds and is not muted");
            last = stage.now;
        }
        heard.extend(block);
    }
    assert_eq!(heard.iter().filter(|&&x| x == 0.5).count(), 1_600);
    assert_eq!(stage.finished, 1);
    assert!(stage.own.covers(last, last) && !stage.feeder.is_sounding());
    let after = last + Duration::from_millis(700);
    assert!(!stage.own.covers(after, after), "it is muted for ever");
    let before = HostTime::from_nanos(1_100_000_000);
    assert!(!stage.own.covers(before, before));
}

/// A server asks for its first frames while the device is still being opened.
#[test]
fn a_sound_keeps_its_beginning_when_frames_have_passed_before_it() {
    let mut stage = stage();
    stage.feeder.play(Box::new(Constant(1_600)));
    stage.outflow.give(&mut [9.0; 1_000], stage.now);
    let heard = stage.steps(100);
    assert_eq!(heard.iter().filter(|&&x| x == 0.5).count(), 1_600);
    assert_eq!(heard[0], 0.5, "nor does it wait");
    assert_eq!(
        stage.given.shortages.load(Ordering::Relaxed),
        0,
        "none was missed that could have been there"
    );
}

/// The server stands still with sound in the ring, and plays it a second later.
#[test]
fn the_ear_is_muted_when_sound_is_handed_out_and_not_while_the_device_stands_still() {
    let mut stage = stage();
    stage.steps(20);
    stage.feeder.play(Box::new(Constant(100_000)));
    stage.steps(5);
    assert!(stage.is_covered());
    for _ in 0..200 {
        stage.top_up(); // no callback any more
        stage.now = stage.now + Duration::from_millis(5);
    }
    assert!(!stage.is_covered(), "a loudspeaker that takes nothing cannot be heard");
    assert!(stage.feeder.is_sounding());
    stage.steps(1);
    stage.top_up();
    assert!(stage.is_covered());
}

#[test]
fn what_is_late_is_left_out_so_that_the_rest_is_in_time() {
    struct Counter(u64);
    impl Generator for Counter {
        fn sample_rate(&self) -> f64 {
            RATE
        }
        fn fill(&mut self, out: &mut [f32]) -> usize {
            for slot in &mut *out {
                self.0 += 1;
                *slot = self.0 as f32 / 1e6;
            }
            out.len()
        }
    }
    let mut stage = stage();
    stage.feeder.play(Box::new(Counter(0)));
    let mut heard = stage.steps(50);
    for _ in 0..100 {
        let mut block = [9.0; 80];
        stage.outflow.give(&mut block, stage.now); // the thread that fills the ring is held up for a second
        heard.extend(block);
    }
    heard.extend(stage.steps(50));
    let frames = heard.len();
    assert_eq!(heard[frames - 1], frames as f32 / 1e6, "frame and sample have the same number");
    let silent = heard.iter().filter(|&&x| x == 0.0).count() as u64;
    assert_eq!(stage.given.missing.load(Ordering::Relaxed), silent);
    assert!((7_600..9_000).contains(&silent), "{silent} frames of silence for one second");
    let in_time = |(n, &x): (usize, &f32)| x == 0.0 || x == (n + 1) as f32 / 1e6;
    assert!(heard.iter().enumerate().all(in_time));
}

#[test]
fn a_sound_that_replaces_another_keeps_the_ear_muted() {
    let mut stage = stage();
    for _ in 0..5 {
        stage.feeder.play(Box::new(Constant(100_000)));
        stage.steps(10);
        assert!(stage.is_covered());
    }
    stage.feeder.stop();
    stage.steps(70);
    assert!(!stage.is_covered());
}

/// A step of the stage is 10 ms and 80 frames, and its callback runs in the middle of it.
#[test]
fn a_timed_sound_begins_with_its_frame_and_the_ear_stays_open() {
    for wait in [60_u64, 100, 137] {
        let mut stage = stage();
        let mut heard = stage.steps(20);
        // The 20th callback gave frame 1600 at 195 ms; frame n is handed out 125 µs later for each one after it.
        let at = stage.now + Duration::from_millis(wait);
        stage.feeder.play_at(at, Box::new(Constant(400)));
        heard.extend(stage.steps(40));
        let begins = heard.iter().position(|&x| x == 0.5).unwrap();
        let frame = 1_600 + (5 + wait as usize) * 8;
        assert_eq!(begins, frame, "{wait} ms");
        assert_eq!(heard.iter().filter(|&&x| x == 0.5).count(), 400);
        assert!(!stage.is_covered(), "a click does not make the ear deaf");
    }
}

#[test]
fn what_is_too_late_is_left_out_so_that_the_rest_is_in_time() {
    let mut stage = stage();
    let mut heard = stage.steps(20);
    // It should have begun with the last callback; the frames up to the end of the ring have passed.
    let at = stage.now;
    stage.feeder.play_at(at, Box::new(Constant(4_000)));
    heard.extend(stage.steps(80));
    let ends = heard.iter().rposition(|&x| x == 0.5).unwrap() + 1;
    assert_eq!(ends, 1_600 + 5 * 8 + 4_000);
    assert!(heard.iter().filter(|&&x| x == 0.5).count() < 4_000);
}
