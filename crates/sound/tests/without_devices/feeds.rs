//! Feeds of generators.

use sound::{Fed, Feed, FeedEvent, FeedSpec, Generator, Pace, THREAD_NAME_PREFIX};
use std::time::{Duration, Instant};

/// Counts upwards, so that a sample says where it belongs.
struct Counter {
    next: u64,
    end: u64,
}

impl Generator for Counter {
    fn sample_rate(&self) -> f64 {
        48_000.0
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let n = (self.end - self.next).min(out.len() as u64) as usize;
        for slot in &mut out[..n] {
            *slot = self.next as f32;
            self.next += 1;
        }
        n
    }
}

fn open(generator: impl Generator + 'static, pace: Pace) -> Feed {
    let spec = FeedSpec::Generator { name: "test".into(), generator: Box::new(generator) };
    Feed::open(spec, pace).unwrap()
}

/// Reads to the end in blocks of `size`.
fn drain(feed: &mut Feed, size: usize) -> (Vec<f32>, Vec<FeedEvent>) {
    let (mut samples, mut events) = (Vec::new(), Vec::new());
    let mut buf = vec![0.0; size];
    loop {
        match feed.read(&mut buf, Duration::from_secs(5)) {
            Fed::Samples(block) => {
                assert_eq!(block.start, samples.len() as u64);
                samples.extend(&buf[..block.len]);
            }
            Fed::Event(FeedEvent::Ended) => return (samples, events),
            Fed::Event(event) => events.push(event),
            Fed::Nothing => panic!("nothing came for five seconds"),
        }
    }
}

#[test]
fn pulled_or_in_time_and_in_any_block_size_the_samples_are_the_same() {
    let whole: Vec<f32> = (0..12_000).map(|n| n as f32).collect();
    for pace in [Pace::AsFastAsPossible, Pace::InTime] {
        for size in [1, 480, 5_000] {
            let (samples, events) = drain(&mut open(Counter { next: 0, end: 12_000 }, pace), size);
            assert!(samples == whole, "{pace:?} in blocks of {size}");
            assert!(matches!(events[..], [FeedEvent::Opened(_)]));
        }
    }
}

#[test]
fn music_in_time_takes_as_long_as_the_music_and_waits_for_a_slow_reader() {
    let began = Instant::now();
    let mut feed = open(Counter { next: 0, end: 48_000 * 4 }, Pace::InTime);
    std::thread::sleep(Duration::from_secs(3)); // longer than the ring
    let (samples, _) = drain(&mut feed, 1_024);
    let took = began.elapsed();
    assert_eq!(samples.len(), 48_000 * 4, "nothing is lost");
    assert!(took > Duration::from_millis(3_900), "it was over after {took:?}");
}

#[test]
fn reading_with_no_patience_does_not_wait() {
    let mut feed = open(Counter { next: 0, end: u64::MAX }, Pace::InTime);
    let mut buf = vec![0.0; 48_000];
    let began = Instant::now();
    while feed.read(&mut buf, Duration::ZERO) != Fed::Nothing {}
    assert!(began.elapsed() < Duration::from_secs(1));
}

#[test]
fn a_generator_that_panics_ends_its_feed_and_nothing_else() {
    struct Broken;
    impl Generator for Broken {
        fn sample_rate(&self) -> f64 {
            48_000.0
        }
        fn fill(&mut self, _: &mut [f32]) -> usize {
            let name = std::thread::current().name().unwrap_or_default().to_owned();
            assert!(!name.starts_with(THREAD_NAME_PREFIX), "on purpose");
            panic!("the thread has another name")
        }
    }
    let (samples, events) = drain(&mut open(Broken, Pace::InTime), 64);
    assert!(samples.is_empty());
    assert!(matches!(&events[1], FeedEvent::Broke(why) if why.ends_with("(on purpose)")), "{events:?}");
}

#[test]
fn dropping_a_feed_stops_its_generator() {
    struct Told(#[expect(dead_code, reason = "its end is what is told")] std::sync::mpsc::Sender<()>);
    impl Generator for Told {
        fn sample_rate(&self) -> f64 {
            48_000.0
        }
        fn fill(&mut self, out: &mut [f32]) -> usize {
            out.len()
        }
    }
    let (tell, gone) = std::sync::mpsc::channel();
    drop(open(Told(tell), Pace::InTime));
    assert_eq!(
        gone.recv_timeout(Duration::from_secs(5)),
        Err(std::sync::mpsc::RecvTimeoutError::Disconnected)
    );
}
