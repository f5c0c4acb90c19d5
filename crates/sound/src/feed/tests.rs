//! A feed whose device comes and goes, played by the test.

#![allow(clippy::disallowed_macros)] // no callback here

use super::*;
use crate::HostTime;
use std::sync::mpsc::Sender;

struct Stage {
    feed: Feed,
    intake: Intake,
    signals: Sender<Signal>,
}

fn origin(sample_rate: f64) -> Origin {
    Origin { name: "mic".into(), host: None, sample_rate, channels: 1 }
}

fn ring(sample_rate: f64) -> (Intake, Tap) {
    Intake::new(Picker::new(Channel::Auto, 1, sample_rate, "mic").unwrap(), sample_rate)
}

fn stage(sample_rate: f64) -> Stage {
    let (intake, tap) = ring(sample_rate);
    let (signals, received) = channel();
    let worker = Worker::start("idle", &crate::worker::Stop::default(), || {}, drop).unwrap();
    let ring = Ring { tap: Some(tap), signals: received, held: None, _worker: worker };
    let mut feed = Feed::new(Supply::Ring(Box::new(ring)), origin(sample_rate));
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Opened(origin(sample_rate))));
    Stage { feed, intake, signals }
}

fn next(feed: &mut Feed) -> Fed {
    feed.read(&mut [0.0; 100], Duration::ZERO)
}

/// Milliseconds of the clock.
fn at(ms: u64) -> HostTime {
    HostTime::from_nanos(ms * 1_000_000)
}

/// A block whose callback ended with sample `frame`, at `ms` of the clock.
fn block(start: u64, len: usize, lost_before: u64, (frame, ms): (u64, u64)) -> Fed {
    Fed::Samples(Block { start, len, lost_before, anchor: Some(Anchor { frame, at: at(ms) }) })
}

#[test]
fn what_came_before_a_loss_is_heard_before_it() {
    let Stage { mut feed, mut intake, signals } = stage(1_000.0);
    intake.take(&[0.1; 150], at(1_150));
    signals.send(Signal::Lost).unwrap();
    assert_eq!(next(&mut feed), block(0, 100, 0, (150, 1_150)));
    assert_eq!(next(&mut feed), block(100, 50, 0, (150, 1_150)));
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Lost { device: "mic".into() }));
    assert_eq!(next(&mut feed), Fed::Nothing);
}

#[test]
fn time_goes_on_while_a_device_is_away_and_is_told_at_the_new_rate() {
    let Stage { mut feed, mut intake, signals } = stage(1_000.0);
    intake.take(&[0.1; 100], at(1_100));
    signals.send(Signal::Lost).unwrap();
    let (mut again, tap) = ring(2_000.0);
    again.take(&[0.2; 30], at(4_115));
    signals.send(Signal::Opened { origin: origin(2_000.0), tap, away: Duration::from_secs(3) }).unwrap();
    assert_eq!(next(&mut feed), block(0, 100, 0, (100, 1_100)));
    assert!(matches!(next(&mut feed), Fed::Event(FeedEvent::Lost { .. })));
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Reopened(origin(2_000.0))));
    assert_eq!(feed.sample_rate(), 2_000.0);
    assert_eq!(
        next(&mut feed),
        block(6_200, 30, 0, (6_230, 4_115)),
        "a tenth of a second, then three seconds, at 2000 a second"
    );
}

#[test]
fn an_overrun_is_told_before_the_block_that_follows_it_and_time_goes_on() {
    let Stage { mut feed, mut intake, .. } = stage(1_000.0);
    intake.take(&vec![0.1f32; 2_300], at(2_300)); // the ring holds 2000
    let before: Vec<Fed> = (0..20).map(|_| next(&mut feed)).collect();
    assert_eq!(before[19], block(1_900, 100, 0, (2_300, 2_300)));
    intake.take(&[0.1; 10], at(2_310));
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Overrun { samples: 300 }));
    assert_eq!(next(&mut feed), block(2_300, 10, 300, (2_310, 2_310)));
}

#[test]
fn warnings_do_not_wait_for_silence() {
    let Stage { mut feed, mut intake, signals } = stage(1_000.0);
    intake.take(&[0.1; 1_000], at(1_000));
    signals.send(Signal::Warning("look".into())).unwrap();
    signals.send(Signal::Skipped).unwrap();
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Warning("look".into())));
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Overrun { samples: 0 }));
    assert_eq!(next(&mut feed), block(0, 100, 0, (1_000, 1_000)));
}

/// Whoever kept the device open broke down: the feed says so, and not that a recording is at its end.
#[test]
fn a_feed_whose_thread_broke_down_says_so_after_its_last_sample() {
    let Stage { mut feed, mut intake, signals } = stage(1_000.0);
    intake.take(&[0.1; 100], at(1_100));
    crate::signal::last_words("the watch", &signals)("no reason given".into());
    drop(signals);
    assert_eq!(next(&mut feed), block(0, 100, 0, (100, 1_100)));
    let told = "the watch broke down inside the program (no reason given)".to_owned();
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Broke(told)));
    assert_eq!(next(&mut feed), Fed::Event(FeedEvent::Ended));
}
