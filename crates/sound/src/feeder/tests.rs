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
        // The 20th callback reached frame 1600 at 195 ms; each later frame is handed out 125 µs after the one before
        // it.
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

/// A loudspeaker whose clock is 50 ppm slow, and clicks timed by a microphone whose clock is 50 ppm fast. Each click is
/// ordered two seconds ahead.
#[test]
fn three_minutes_of_clicks_stay_with_the_clock_that_counts_their_beats() {
    const FAST: f64 = 1.0 + 50e-6;
    const SLOW: f64 = 1.0 - 50e-6;
    let mut random = oorandom::Rand64::new(5);
    let mut late_ms = move || (-(1.0 - random.rand_float()).ln() * 2.0).min(4.0);
    let moment = |seconds: f64| HostTime::from_nanos((seconds * 1e9) as u64);
    let mut stage = stage();
    let mut input = StreamClock::new(48_000.0);
    // Beat n is heard with sample 48 000 + 28 800 n of the fast microphone.
    let true_s = |beat: u32| 1.0 + (48_000.0 + 28_800.0 * f64::from(beat)) / (48_000.0 * FAST);
    let (mut beats, mut worst, mut silent) = ((0, 0), 0.0_f64, true);
    for block in 1..=18_000_u64 {
        let heard_s = 1.0 + (block * 480) as f64 / (48_000.0 * FAST);
        input.see(Anchor { frame: block * 480, at: moment(heard_s + late_ms() / 1e3) });
        let next = input.time_of(48_000.0 + 28_800.0 * f64::from(beats.0)).unwrap();
        if next < moment(heard_s + 2.0) {
            stage.feeder.play_at(next, Box::new(Constant(80)));
            beats.0 += 1;
        }
        let asked_s = 1.0 + (block * 80) as f64 / (RATE * SLOW);
        stage.now = moment(asked_s);
        stage.top_up();
        let mut out = [9.0; 80];
        stage.outflow.give(&mut out, stage.now + Duration::from_secs_f64(late_ms() / 1e3));
        for (n, x) in out.into_iter().enumerate() {
            if x > 0.0 && silent {
                let sounds_s = 1.0 + (block * 80 - 80 + n as u64) as f64 / (RATE * SLOW);
                worst = worst.max((sounds_s - true_s(beats.1)).abs());
                beats.1 += 1;
            }
            silent = x == 0.0;
        }
    }
    assert!(beats.1 >= 295, "{beats:?}");
    assert!(worst < 0.001, "{worst} s off the beat");
}

#[test]
fn sounds_that_wait_come_in_their_order_and_are_forgotten_when_all_shall_stop() {
    let mut stage = stage();
    stage.steps(20);
    for wait in [300_u64, 100, 200] {
        stage.feeder.play_at(stage.now + Duration::from_millis(wait), Box::new(Constant(8_000)));
    }
    let heard = stage.steps(25);
    let begins = |heard: &[f32]| heard.windows(2).filter(|pair| pair[0] == 0.0 && pair[1] == 0.5).count();
    assert_eq!(begins(&heard), 1);
    assert_eq!(
        heard.iter().filter(|&&x| x == 1.0).count(),
        heard.len() - heard.iter().position(|&x| x == 1.0).unwrap()
    );
    assert_eq!(heard.last(), Some(&1.0), "the second joins the first");
    stage.feeder.stop();
    let after = stage.steps(40);
    assert!(begins(&after) == 0 && after.last() == Some(&0.0), "the third is forgotten");
}
