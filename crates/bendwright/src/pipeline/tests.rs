//! Blocks with times made by hand.

use super::*;
use sound::{Anchor, FeedSpec, Generator, HostTime, Pace};
use std::f64::consts::TAU;

/// Samples per second, and in a block.
const RATE: u64 = 48_000;
const BLOCK: u64 = 480;

/// Something to open; the blocks are put in by hand.
struct Nothing;

impl Generator for Nothing {
    fn sample_rate(&self) -> f64 {
        RATE as f64
    }

    fn fill(&mut self, _: &mut [f32]) -> usize {
        0
    }
}

fn ms(ms: u64) -> HostTime {
    HostTime::from_nanos(ms * 1_000_000)
}

/// What is heard of three seconds of 440 Hz, which a microphone handed in from the second second of the clock on.
fn heard(own: OwnSound) -> Vec<Heard> {
    let spec = FeedSpec::Generator { name: "by hand".into(), generator: Box::new(Nothing) };
    let feed = Feed::open(spec, Pace::AsFastAsPossible).unwrap();
    let mut pipeline = Pipeline::new(feed, KnownHarp::default(), BLOCK as usize).unwrap().without(own);
    let mut heard = Vec::new();
    for start in (0..3 * RATE).step_by(BLOCK as usize) {
        for (n, sample) in (start..).zip(&mut pipeline.block) {
            *sample = (0.3 * (TAU * 440.0 * n as f64 / RATE as f64).sin()) as f32;
        }
        let frame = start + BLOCK;
        let anchor = Anchor { frame, at: ms(2_000 + frame * 1_000 / RATE) };
        let block = Block { start, len: BLOCK as usize, lost_before: 0, anchor: Some(anchor) };
        pipeline.samples(block, &mut |news| heard.push(news));
    }
    heard
}

/// The samples by which a note was known, and those at which one began.
fn notes(heard: &[Heard]) -> (Vec<u64>, Vec<u64>) {
    let readings = heard.iter().filter_map(|news| match news {
        Heard::Readings(readings) => Some(readings),
        _ => None,
    });
    let notes: Vec<_> = readings.flatten().filter(|reading| reading.hz.is_some()).collect();
    let onsets = notes.iter().filter(|reading| reading.onset).map(|reading| reading.known).collect();
    (notes.iter().map(|reading| reading.known).collect(), onsets)
}

fn gaps(heard: &[Heard]) -> usize {
    heard.iter().filter(|news| matches!(news, Heard::Gap)).count()
}

#[test]
fn a_tone_of_ours_is_left_out_by_the_time_at_which_it_was_handed_in() {
    let own = OwnSound::default();
    // From 1 s of the stream to 1.2 s. With the room and the delays it is ours until 1.75 s: `own_sound.rs`.
    own.sounded(ms(3_000), ms(3_200));
    let heard = heard(own);
    let (known, onsets) = notes(&heard);
    let (from, until) = (RATE, RATE * 7 / 4);
    assert!(known.iter().all(|known| *known <= from || *known > until), "our own tone is heard");
    let before = known.iter().filter(|known| **known <= from).count();
    assert!(before > 300 && known.len() - before > 300, "{before} and {}", known.len() - before);
    // What sounds afterwards is not what sounded before.
    assert_eq!((onsets.len(), gaps(&heard)), (2, 1));
}

#[test]
fn without_a_tone_of_ours_everything_is_heard() {
    let heard = heard(OwnSound::default());
    let (known, onsets) = notes(&heard);
    assert_eq!((onsets.len(), gaps(&heard)), (1, 0));
    assert!(known.windows(2).all(|pair| pair[1] - pair[0] < RATE / 100), "there is a hole");
}
