//! The click: at its moments to the sample, quiet, and over soon.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used)]

use synth::{Accent, Beat, ClickTrack};

const RATE: f64 = 48_000.0;

fn rendered(track: &mut ClickTrack, block: usize) -> Vec<f32> {
    let mut all = Vec::new();
    let mut buffer = vec![0.0; block];
    loop {
        match track.fill(&mut buffer) {
            0 => return all,
            made => all.extend_from_slice(&buffer[..made]),
        }
    }
}

/// 100 beats a minute in 4/4: 0.6 s apart.
fn bar() -> Vec<Beat> {
    (0..4)
        .map(|beat| Beat {
            at_s: f64::from(beat) * 0.6,
            accent: if beat == 0 { Accent::First } else { Accent::Other },
        })
        .collect()
}

#[test]
fn clicks_begin_with_their_samples_in_blocks_of_any_size() {
    let whole = rendered(&mut ClickTrack::new(RATE, &bar()), 100_000);
    for block in [1, 37, 512] {
        assert_eq!(rendered(&mut ClickTrack::new(RATE, &bar()), block), whole);
    }
    // The first sample of a click is where its sine is nought, the second is not; before it there is silence.
    for beat in 0..4 {
        let at = (f64::from(beat) * 0.6 * RATE).round() as usize;
        assert!(whole[at + 1] != 0.0, "beat {beat}");
        assert!(whole[at.saturating_sub(1_000)..at].iter().all(|x| *x == 0.0), "beat {beat}");
    }
    // The last one dies away within 60 ms, and so does the track.
    assert_eq!(whole.len(), (1.8 * RATE) as usize + (0.06 * RATE) as usize + 1);
}

#[test]
fn no_click_is_louder_than_minus_12_dbfs() {
    let peak =
        |track: &mut ClickTrack| rendered(track, 512).iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
    let usual = peak(&mut ClickTrack::new(RATE, &bar()));
    let loud = peak(&mut ClickTrack::new(RATE, &bar()).level(0.0));
    let most = 10f32.powf(-12.0 / 20.0);
    assert!(usual < loud && loud <= most && loud > most / 2.0, "{usual} {loud}");
}

#[test]
fn the_first_beat_of_a_bar_is_the_higher_one() {
    let crossings = |accent, samples: std::ops::Range<usize>| {
        let rendered = rendered(&mut ClickTrack::new(RATE, &[Beat { at_s: 0.0, accent }]), 512);
        rendered[samples].windows(2).filter(|pair| pair[0] <= 0.0 && pair[1] > 0.0).count()
    };
    // In the 12 ms of the fall, at five eighths of the first pitch on average: 39 periods from 5200 Hz, 28.5 from 3800.
    assert!((38..=40).contains(&crossings(Accent::First, 0..576)));
    assert!((28..=29).contains(&crossings(Accent::Other, 0..576)));
    assert!((28..=29).contains(&crossings(Accent::Between, 0..576)));
    // In the 10 ms behind it, at a quarter of the first: 13 and 9.5.
    assert!((12..=14).contains(&crossings(Accent::First, 576..1056)));
    assert!((9..=10).contains(&crossings(Accent::Other, 576..1056)));
}

#[test]
fn a_note_between_beats_is_clicked_softer() {
    let peak = |accent| {
        let samples = rendered(&mut ClickTrack::new(RATE, &[Beat { at_s: 0.0, accent }]), 512);
        f64::from(samples.iter().fold(0.0_f32, |peak, x| peak.max(x.abs())))
    };
    let softer_db = 20.0 * (peak(Accent::Other) / peak(Accent::Between)).log10();
    assert!((softer_db - 8.0).abs() < 0.01, "{softer_db}");
}
