//! The band: bars to the sample, quiet, the same for the same seed, and over when it is said to be.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

use synth::{Band, BandFeel, BandPart, BandPlan, SynthError};
use theory::{NoteName, Progressions, ScaleInKey, Scales};

const RATE: f64 = 48_000.0;

/// A progression of ours in a key.
fn plan(progression: &str, key: &str, feel: BandFeel, bpm: f64) -> BandPlan {
    let tonic: NoteName = key.parse().unwrap();
    let key = ScaleInKey::new(Scales::ours().find("major").unwrap().clone(), tonic);
    let form = Progressions::ours().find(progression).unwrap().clone();
    let bars: Vec<Vec<_>> =
        form.bars().iter().map(|bar| bar.iter().map(|function| function.chord(&key)).collect()).collect();
    BandPlan::new(&bars, feel, bpm).unwrap().key(tonic.pitch_class())
}

fn rendered(band: &mut Band, block: usize, most: usize) -> Vec<f32> {
    let (mut all, mut buffer) = (Vec::new(), vec![0.0; block]);
    while all.len() < most {
        let asked = block.min(most - all.len());
        match band.fill(&mut buffer[..asked]) {
            0 => break,
            made => all.extend_from_slice(&buffer[..made]),
        }
    }
    all
}

#[test]
fn bars_begin_with_their_sample_over_ten_minutes() {
    // The bass alone lets its notes go before the next one begins, so a bar line is where silence ends.
    for (feel, bpm) in [(BandFeel::Shuffle, 100.0), (BandFeel::Waltz, 97.3), (BandFeel::Train, 239.9)] {
        let plan = plan("twelve-bar", "A", feel, bpm);
        let mut band = Band::new(&plan, RATE).without(BandPart::Chords).without(BandPart::Kit);
        let sound = rendered(&mut band, 4_096, (600.0 * RATE) as usize);
        let bar_s = 60.0 / bpm * if feel == BandFeel::Waltz { 3.0 } else { 4.0 };
        let bars = (600.0 / bar_s) as usize;
        for bar in 0..bars {
            let at = (bar as f64 * bar_s * RATE).round() as usize;
            // A note begins with a sample of nought, like every sine.
            assert!(sound[at.saturating_sub(200)..=at].iter().all(|x| *x == 0.0), "{feel:?} bar {bar}");
            assert!(sound[at + 1] != 0.0, "{feel:?} bar {bar}");
        }
    }
}

#[test]
fn blocks_of_any_size_and_the_same_seed_give_the_same_samples() {
    let plan = plan("quick-change twelve-bar", "G", BandFeel::Swing, 140.0);
    let most = 400_000;
    let whole = rendered(&mut Band::new(&plan, RATE), most, most);
    for block in [1, 37, 512] {
        assert!(rendered(&mut Band::new(&plan, RATE), block, most) == whole, "blocks of {block}");
    }
    assert!(rendered(&mut Band::new(&plan.seed(1), RATE), 512, most) != whole);
}

#[test]
fn it_is_never_louder_than_minus_12_dbfs() {
    let most = 10f32.powf(-12.0 / 20.0);
    for feel in BandFeel::ALL {
        let mut band = Band::new(&plan("twelve-bar", "E", feel, 240.0), RATE).level(0.0);
        let peak = rendered(&mut band, 512, 1_000_000).iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
        assert!(peak <= most && peak > most / 4.0, "{feel:?}: {peak}");
    }
}

#[test]
fn a_band_with_an_end_plays_its_choruses_and_one_bar_more() {
    let plan = plan("ii-V-I", "C", BandFeel::Swing, 120.0).choruses(2);
    assert_eq!(plan.bars(), Some(9));
    let seconds = rendered(&mut Band::new(&plan, RATE), 512, usize::MAX).len() as f64 / RATE;
    assert!((16.0..19.0).contains(&seconds), "{seconds}");
    assert_eq!(plan.chord_at(32.0).map(|chord| chord.root.to_string()), Some("C".to_owned()));
    assert_eq!((plan.chord_at(36.0), plan.chord_at(-0.1)), (None, None));
}

#[test]
fn a_form_without_chords_is_refused() {
    let refused = |bars: &[Vec<theory::Chord>]| BandPlan::new(bars, BandFeel::Straight, 100.0).unwrap_err();
    assert_eq!(refused(&[]), SynthError::EmptyForm);
    assert_eq!(refused(&[Vec::new()]), SynthError::EmptyForm);
}
