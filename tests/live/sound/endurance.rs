//! What is left behind by opening and losing devices many times.

use crate::loudspeaker::{next, opened};
use crate::room::{self, Ear, listen};
use sound::{Channel, FeedEvent, Speaker, SpeakerEvent};
use std::fs;
use std::thread;
use std::time::{Duration, Instant};

/// Threads and open files of this process.
fn held() -> (usize, usize) {
    let count = |what: &str| fs::read_dir(format!("/proc/self/{what}")).unwrap().count();
    (count("task"), count("fd"))
}

/// Waits until no more is held than `before`; helper threads may take a moment to end.
fn comes_back_to(before: (usize, usize)) -> bool {
    let end = Instant::now() + Duration::from_secs(5);
    loop {
        let (threads, files) = held();
        if threads <= before.0 && files <= before.1 {
            return true;
        }
        if Instant::now() > end {
            println!("  held before: {before:?} threads and files, after: {:?}", (threads, files));
            return false;
        }
        thread::sleep(Duration::from_millis(20));
    }
}

/// A listener that ended is started again, any number of times.
pub(crate) fn opened_twenty_times() {
    let mut before = (0, 0);
    for round in 0..21 {
        for name in [None, Some("alsa:default")] {
            let mut ear = Ear::new(listen(name, Channel::Auto).unwrap());
            ear.fresh(0.05);
            let speaker = Speaker::new(name);
            opened(&speaker, 0.05);
            assert!(matches!(next(&speaker), SpeakerEvent::Finished));
        }
        // The first round fills what the libraries keep for good.
        if round == 0 {
            thread::sleep(Duration::from_millis(500));
            before = held();
        }
    }
    assert!(comes_back_to(before));
    println!("  {before:?} threads and files before and after");
}

/// One feed and one speaker, whose device goes and returns.
pub(crate) fn lost_twenty_times(name: Option<&str>) {
    let mut ear = Ear::new(listen(name, Channel::Auto).unwrap());
    let speaker = Speaker::new(name);
    opened(&speaker, 60.0);
    let mut before = (0, 0);
    for round in 0..21 {
        ear.fresh(0.05);
        ear.events.clear();
        room::take_sink_away();
        let lost = |ear: &Ear| ear.events.iter().any(|event| matches!(event, FeedEvent::Lost { .. }));
        assert!(ear.until(Duration::from_secs(10), lost), "{round}: {:?}", ear.events);
        while !matches!(next(&speaker), SpeakerEvent::Lost { .. }) {}
        room::put_sink_back();
        opened(&speaker, 60.0);
        let back = |ear: &Ear| ear.events.iter().any(|event| matches!(event, FeedEvent::Reopened(_)));
        assert!(ear.until(Duration::from_secs(15), back), "{round}: {:?}", ear.events);
        if round == 0 {
            thread::sleep(Duration::from_millis(500));
            before = held();
        }
    }
    assert!(comes_back_to(before));
    println!("  {before:?} threads and files before and after");
}
