//! The band: bars to the sample, quiet, the same for the same seed, and over when it is said to be.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

use synth::{Band, BandPart, BandPlan, SynthError};
use theory::{Groove, NoteName, Progressions, ScaleInKey, Scales};

const RATE: f64 = 48_000.0;

/// A progression of ours in a key.
fn plan(progression: &str, key: &str, feel: Groove, bpm: f64) -> BandPlan {
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
    for (feel, bpm) in [(Groove::Shuffle, 100.0), (Groove::Waltz, 97.3), (Groove::Train, 239.9)] {
        let plan = plan("twelve-bar", "A", feel, bpm);
        let mut band = Band::new(&plan, RATE).without(BandPart::Chords).without(BandPart::Kit);
        let sound = rendered(&mut band, 4_096, (600.0 * RATE) as usize);
        let bar_s = 60.0 / bpm * if feel == Groove::Waltz { 3.0 } else { 4.0 };
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
    let plan = plan("quick-change twelve-bar", "G", Groove::Swing, 140.0);
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
    for feel in Groove::ALL {
        let mut band = Band::new(&plan("twelve-bar", "E", feel, 240.0), RATE).level(0.0);
        let peak = rendered(&mut band, 512, 1_000_000).iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
        assert!(peak <= most && peak > most / 4.0, "{feel:?}: {peak}");
    }
}

#[test]
fn a_band_with_an_end_plays_its_choruses_and_one_bar_more() {
    let plan = plan("ii-V-I", "C", Groove::Swing, 120.0).choruses(2);
    assert_eq!(plan.bars(), Some(9));
    let seconds = rendered(&mut Band::new(&plan, RATE), 512, usize::MAX).len() as f64 / RATE;
    assert!((16.0..19.0).contains(&seconds), "{seconds}");
    assert_eq!(plan.chord_at(32.0).map(|chord| chord.root.to_string()), Some("C".to_owned()));
    assert_eq!((plan.chord_at(36.0), plan.chord_at(-0.1)), (None, None));
}

#[test]
fn a_band_that_begins_later_plays_what_it_would_have_played() {
    let plan = plan("twelve-bar", "D", Groove::SlowTwelve, 55.0);
    let bar = |n: f64| (n * 4.0 * 60.0 / 55.0 * RATE).round() as usize;
    let whole = rendered(&mut Band::new(&plan, RATE), 512, bar(9.0));
    let later = rendered(&mut Band::new(&plan, RATE).from_bar(7), 512, bar(9.0) - bar(7.0));
    // In the first of the two bars the notes that rang on from the bar before are missing. From the second bar on the
    // sound is the same.
    assert!(later[bar(8.0) - bar(7.0)..] == whole[bar(8.0)..]);
    assert!(later[..1_000] != whole[bar(7.0)..bar(7.0) + 1_000]);
}

#[test]
fn it_neither_drifts_nor_jumps() {
    for feel in Groove::ALL {
        let sound = rendered(&mut Band::new(&plan("twelve-bar", "C", feel, 90.0), RATE), 512, 2_000_000);
        let mean = sound.iter().map(|x| f64::from(*x)).sum::<f64>() / sound.len() as f64;
        let rms = (sound.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / sound.len() as f64).sqrt();
        // A mean 40 dB below the sound moves no loudspeaker.
        assert!(mean.abs() < rms / 100.0, "{feel:?}: {mean} of {rms}");
        // Without the kit, whose hiss jumps by nature, no sample is further from the one before than the steepest wave
        // takes it: a sine of 500 Hz at the loudest moment.
        let mut band = Band::new(&plan("twelve-bar", "C", feel, 90.0), RATE).without(BandPart::Kit);
        let sound = rendered(&mut band, 512, 2_000_000);
        let most = sound.iter().fold(0.0_f32, |most, x| most.max(x.abs()));
        let step = sound.windows(2).map(|pair| (pair[1] - pair[0]).abs()).fold(0.0, f32::max);
        assert!(step < most * std::f32::consts::TAU * 500.0 / 48_000.0, "{feel:?}: {step} of {most}");
    }
}

#[test]
fn any_tempo_and_metre_is_played() {
    for feel in Groove::ALL {
        for bpm in [30.0, 40.0, 119.9, 240.0] {
            for beats in 2..=6 {
                let plan = plan("eight-bar", "Gb", feel, bpm).beats(beats).unwrap().choruses(1);
                let bars = plan.bars().unwrap();
                let mut band = Band::new(&plan, 8_000.0).from_bar(bars - 3);
                let sound = rendered(&mut band, 512, usize::MAX);
                let seconds = sound.len() as f64 / 8_000.0;
                let bar_s = 60.0 / bpm * f64::from(beats);
                assert!(
                    (2.0 * bar_s..=3.0 * bar_s + 0.5).contains(&seconds),
                    "{feel:?} {bpm} {beats}: {seconds}"
                );
                assert!(sound.iter().all(|x| x.is_finite()));
            }
        }
    }
    let plan = plan("eight-bar", "C", Groove::Straight, 100.0);
    assert!(plan.clone().beats(1).is_err() && plan.clone().beats(7).is_err());
    let bars = vec![vec![plan.changes(0)[0].chord]];
    for bpm in [0.0, 29.9, 240.1, f64::NAN] {
        assert!(BandPlan::new(&bars, Groove::Straight, bpm).is_err(), "{bpm}");
    }
}

#[test]
fn a_fill_comes_at_the_end_of_the_form() {
    // Brushes alone: the last two beats of the form are busier than those of the bars before.
    let plan = plan("twelve-bar", "A", Groove::Straight, 100.0);
    let mut band = Band::new(&plan, RATE).without(BandPart::Bass).without(BandPart::Chords);
    let sound = rendered(&mut band, 512, (12.0 * 2.4 * RATE) as usize);
    let energy = |bar: usize| -> f64 {
        let [from, until] = [0.5, 1.0].map(|share| ((bar as f64 + share) * 2.4 * RATE) as usize);
        // The difference of neighbours lets the brushes through and keeps the big drum out.
        sound[from..until].windows(2).map(|pair| f64::from(pair[1] - pair[0]).powi(2)).sum()
    };
    let usual = (0..11).map(energy).fold(0.0, f64::max);
    assert!(energy(11) > 1.3 * usual, "{} against {usual}", energy(11));
}

#[test]
fn a_form_without_chords_is_refused() {
    let refused = |bars: &[Vec<theory::Chord>]| BandPlan::new(bars, Groove::Straight, 100.0).unwrap_err();
    assert_eq!(refused(&[]), SynthError::EmptyForm);
    assert_eq!(refused(&[Vec::new()]), SynthError::EmptyForm);
}
