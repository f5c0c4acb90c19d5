//! A source that fails.

use super::*;
use sound::{Feed, FeedSpec, Generator, Pace};
use std::time::{Duration, Instant};

/// A source that breaks down at once.
struct Broken;

impl Generator for Broken {
    fn sample_rate(&self) -> f64 {
        48_000.0
    }

    fn fill(&mut self, _: &mut [f32]) -> usize {
        panic!("on purpose")
    }
}

/// What the listener says until the end.
fn told(listener: &Listener) -> Vec<News> {
    let (mut told, end) = (Vec::new(), Instant::now() + Duration::from_secs(20));
    while !matches!(told.last(), Some(News::Stopped(_) | News::Heard(Heard::Feed(FeedEvent::Ended)))) {
        assert!(Instant::now() < end, "the listener does not end: {told:?}");
        match listener.next() {
            Some(news) => told.push(news),
            None => thread::sleep(Duration::from_millis(5)),
        }
    }
    told
}

/// The screen offers to listen again after a stop, and after nothing else.
#[test]
fn a_source_that_breaks_down_is_a_stop_with_its_reason_and_no_end_of_a_recording() {
    let opening = || {
        let spec = FeedSpec::Generator { name: "broken".into(), generator: Box::new(Broken) };
        Pipeline::new(Feed::open(spec, Pace::InTime).map_err(Failure::user)?, KnownHarp::default(), 512)
    };
    let listener = Listener::start(opening, || {}).unwrap();
    let told = told(&listener);
    let Some(News::Stopped(why)) = told.last() else { panic!("{told:?}") };
    assert_eq!(why, "the source of the sound broke down inside the program (on purpose)");
}
