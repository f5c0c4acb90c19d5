//! The stages that begin a note: whether there is one, and in which octave.

use super::{Dice, RATE, correlation_by_definition, tone};
use crate::candidates::{Candidate, Candidates};
use crate::choose::{choose, still_there};
use crate::note::near;
use crate::octave::{Octave, View, share_between};
use crate::refine::Refiner;
use crate::voicing;
use std::f64::consts::TAU;

/// Samples between two frames.
const HOP: usize = 40;

/// Above this the tone has no harmonic in the range, so that only its noise is left, hertz.
const NO_TONE: f64 = 7_000.0;

/// Partials of a fundamental with these amplitudes, over noise.
fn reed(hz: f64, amplitudes: &[f64], noise: f64) -> Vec<f32> {
    let at = |n: usize| -> f64 {
        let turn = TAU * hz * n as f64 / RATE;
        amplitudes.iter().zip(1_u32..).map(|(a, h)| a * (turn * f64::from(h) + f64::from(h)).sin()).sum()
    };
    tone(NO_TONE, 2_400, noise).iter().enumerate().map(|(n, hiss)| hiss + at(n) as f32).collect()
}

/// A fundamental with this share of the power and its second harmonic with the rest, over white noise of so many times
/// that power. By the theorem of Wiener and Khinchin the sound correlates with itself after half a period by 1 less
/// twice the share, and after a whole one by 1, both divided by 1 more than the noise.
fn two_harmonics(hz: f64, share: f64, noise: f64, dice: &mut Dice) -> Vec<f32> {
    let phase = dice.between(0.0, TAU);
    let at = |n: usize| {
        let turn = TAU * hz * n as f64 / RATE + phase;
        share.sqrt() * turn.sin() + (1.0 - share).sqrt() * (2.0 * turn).sin()
    };
    // Of a sine the power is half.
    (0..1_100).map(|n| (0.1 * (at(n) + (0.5 * noise).sqrt() * dice.normal())) as f32).collect()
}

#[test]
fn the_shortest_period_that_explains_nearly_all_that_any_does_is_the_first_guess_in_noise_too() {
    let mut candidates = Candidates::new(RATE, 80.0, 3_800.0);
    // Over some forty samples a correlation of 0.8 is known to a twentieth (Fisher), and so is that of half a period:
    // where they lie nearly 0.14 apart by chance, the guess is the other one. One in four may be.
    for noise in [0.0, 0.25] {
        for (share, times) in [(0.02, 2.0), (0.25, 1.0)] {
            let (mut guessed, mut octave_there) = (0, 0);
            for seed in 0..100 {
                let mut dice = Dice::new(seed);
                let hz = dice.ratio(400.0, 500.0);
                let x = two_harmonics(hz, share, noise, &mut dice);
                let found = candidates.find(&x);
                guessed += u32::from(choose(found).is_some_and(|c| near(RATE / c.period, times * hz)));
                octave_there += u32::from(still_there(found, |f| near(f * RATE, 2.0 * hz)));
            }
            let (most, few) = (75..=100, 0..=25);
            let there = if times == 2.0 { &most } else { &few };
            assert!(most.contains(&guessed), "{guessed} of 100 with {share} of the power, noise {noise}");
            assert!(
                there.contains(&octave_there),
                "{octave_there} of 100 with {share} of the power, noise {noise}"
            );
        }
    }
}

/// Of what the even harmonics leave over, the share that the odd ones hold: weighted regression written out, with the
/// sums of squares freed of what white noise adds to each harmonic.
fn odd_share_by_plain_sums(x: &[f32], frequency: f64, harmonics: usize) -> f64 {
    let length = x.len() as f64;
    let time = |n: usize| n as f64 + 0.5 - 0.5 * length;
    let window = |n: usize| 0.5 + 0.5 * (TAU * time(n) / length).cos();
    let gain: f64 = (0..x.len()).map(window).sum();
    let square: f64 = (0..x.len()).map(|n| window(n).powi(2)).sum();
    let sum = |turn: &dyn Fn(f64) -> f64| -> f64 {
        (0..x.len()).map(|n| window(n) * f64::from(x[n]) * turn(time(n))).sum()
    };
    let power = |h: usize| {
        let omega = TAU * frequency * h as f64;
        (sum(&|t| (omega * t).cos()).powi(2) + sum(&|t| (omega * t).sin()).powi(2)) * 2.0 / gain.powi(2)
    };
    let total = (0..x.len()).map(|n| window(n) * f64::from(x[n]).powi(2)).sum::<f64>() / gain;
    let each_by_chance = 2.0 * square / gain.powi(2);
    let powers: Vec<f64> = (1..=harmonics).map(power).collect();
    let noise = (total - powers.iter().sum::<f64>()) / (1.0 - each_by_chance * harmonics as f64);
    let odd: f64 = powers.iter().step_by(2).map(|p| p - each_by_chance * noise).sum();
    odd / (odd + noise)
}

#[test]
fn the_share_of_the_odd_harmonics_is_that_of_plain_sums() {
    for (odd, noise) in [(0.05, 0.05), (0.05, 0.1), (0.02, 0.02)] {
        let x = reed(147.0, &[odd, 0.3, odd, 0.1, odd], noise);
        let frequency = 147.0 / RATE;
        let fit = Refiner::new(800, 0.40).fit(&x, frequency, 4.0).unwrap();
        let window = &x[x.len() - (4.0 / frequency / 2.0).round() as usize * 2..];
        let slow = odd_share_by_plain_sums(window, frequency, fit.harmonics);
        let quick = share_between(&fit, frequency, 2);
        assert!((0.1..0.99).contains(&slow), "the case is to lie between: {slow}");
        // The quick one leaves out what lies out of place and never takes a harmonic for less than nothing.
        assert!((quick - slow).abs() < 0.1, "odd {odd}, noise {noise}: {quick} for {slow}");
    }
}

#[test]
fn lines_beside_the_places_of_odd_harmonics_do_not_count_and_neither_does_one_alone() {
    let (frequency, second) = (147.0 / RATE, reed(147.0, &[0.0, 0.3, 0.0, 0.1], 0.0));
    let share = |lines: &[f64]| {
        let mut x = second.clone();
        for at in lines {
            let line = reed(147.0 * at, &[0.05], 0.0);
            x.iter_mut().zip(&line).for_each(|(sum, line)| *sum += line);
        }
        share_between(&Refiner::new(800, 0.40).fit(&x, frequency, 4.0).unwrap(), frequency, 2)
    };
    for in_place in [[1.0, 3.0], [3.0, 5.0], [9.0, 11.0]] {
        assert!(share(&in_place) > 0.99, "lines at {in_place:?} count {}", share(&in_place));
    }
    // A third of a bin of four periods and more.
    for at in [1.09, 1.19, 2.81, 2.91, 3.09] {
        assert!(share(&[at, at + 2.0]) < 0.1, "lines at {at} and 2 above count {}", share(&[at, at + 2.0]));
    }
    // Of a reed a major third above the note, 5/4 of its pitch, the second harmonic is the fifth of the lower octave;
    // of a reed a fifth above, 3/2, the first and the third are the third and the ninth.
    for lines in [&[2.5 * 2.0][..], &[1.5 * 2.0, 4.5 * 2.0]] {
        assert!(share(lines) < 0.01, "lines at {lines:?} count {}", share(lines));
    }
}

/// After how many samples of sound the residual of a note takes it to a lower pitch, and to which, hertz.
fn divided(x: &[f32], hz: f64) -> Option<(usize, f64)> {
    let mut candidates = Candidates::new(RATE, 80.0, 3_800.0);
    let mut refiner = Refiner::new(800, 0.40);
    let mut octave = Octave::new(80.0 / RATE..=3_800.0 / RATE);
    let before = 800;
    let heard: Vec<f32> = std::iter::repeat_n(0.0, before).chain(x.iter().copied()).collect();
    (before..=heard.len()).step_by(HOP).find_map(|end| {
        let history = &heard[..end];
        candidates.find(history);
        let shortest = 0.0035 * RATE;
        let (candidates, refiner) = (&candidates, &mut refiner);
        let frequency = hz / RATE;
        let mut view =
            View { history, candidates, refiner, frequency, fits: [None; 2], shortest, long: None };
        octave.decide(&mut view).map(|lower| (end - before, lower * RATE))
    })
}

#[test]
fn a_strong_second_harmonic_is_found_out_within_little_more_than_two_periods() {
    for hz in [98.0, 147.0, 294.0, 587.0, 1_175.0] {
        let x = reed(hz, &[0.05, 0.3, 0.05, 0.1], 0.002);
        let (after, lower) = divided(&x, 2.0 * hz).unwrap();
        assert!((lower / hz - 1.0).abs() < 1.0e-9);
        let most = 2.0 * RATE / hz + 4.0 * HOP as f64;
        assert!((after as f64) < most, "{hz} Hz: after {after} samples instead of {most}");
    }
}

/// In how many frames with these amplitudes a note is found out to be higher, and how many times, after some in which
/// all harmonics were heard.
fn raised(amplitudes: &[f64], heard: usize) -> Option<(usize, f64)> {
    let hz = 130.0;
    let mut candidates = Candidates::new(RATE, 80.0, 3_800.0);
    let mut refiner = Refiner::new(800, 0.40);
    let mut octave = Octave::new(80.0 / RATE..=3_800.0 / RATE);
    let [all, some] = [&[0.2, 0.12, 0.1, 0.08, 0.07, 0.06][..], amplitudes].map(|a| reed(hz, a, 1.0e-4));
    (0..heard + 60).find_map(|frame| {
        let x = if frame < heard { &all } else { &some };
        let history = &x[..800 + HOP * (frame % 20)];
        candidates.find(history);
        let fit = refiner.fit(history, hz / RATE, 2.0);
        let (candidates, refiner) = (&candidates, &mut refiner);
        let (frequency, shortest) = (hz / RATE, 0.0035 * RATE);
        let mut view =
            View { history, candidates, refiner, frequency, fits: [fit, None], shortest, long: None };
        octave.decide(&mut view).map(|higher| (frame + 1 - heard, (higher * RATE / hz).round()))
    })
}

/// Four frames are 10 ms, eight 20 ms, twelve 30 ms and sixteen 40 ms.
#[test]
fn a_note_of_which_only_every_second_third_or_fourth_harmonic_sounds_is_found_out_soon_unless_all_were_heard()
{
    for times in 2..=4_u32 {
        let amplitudes: Vec<f64> = (1..=12).map(|n| if n % times == 0 { 0.1 } else { 0.0 }).collect();
        assert_eq!(raised(&amplitudes, 0), Some((4, f64::from(times))));
        assert_eq!(raised(&amplitudes, 2), Some((5, f64::from(times))));
        assert_eq!(raised(&amplitudes, 8), Some((8, f64::from(times))));
        assert_eq!(raised(&amplitudes, 16), Some((12, f64::from(times))));
        assert_eq!(raised(&amplitudes, 30), Some((12, f64::from(times))));
    }
}

#[test]
fn a_strong_third_harmonic_is_found_out_but_a_reed_a_fourth_above_is_none() {
    for hz in [98.0, 147.0, 294.0, 587.0] {
        // The third 17 dB above all others together.
        let x = reed(hz, &[0.02, 0.02, 0.3, 0.02, 0.02, 0.01], 0.001);
        let (after, lower) = divided(&x, 3.0 * hz).unwrap();
        assert!((lower / hz - 1.0).abs() < 1.0e-9);
        assert!((after as f64) < 2.5 * RATE / hz + 6.0 * HOP as f64, "{hz} Hz: after {after} samples");
        // 4:3, as two reeds of a blow chord: every line lies at a multiple of a third of the lower one.
        let both: Vec<f32> = reed(3.0 * hz, &[0.2, 0.1, 0.07], 0.001)
            .iter()
            .zip(&reed(4.0 * hz, &[0.1, 0.05, 0.03], 0.0))
            .map(|(a, b)| a + b)
            .collect();
        assert_eq!(divided(&both, 3.0 * hz), None, "{hz} Hz");
    }
}

#[test]
fn noise_and_a_neighbouring_reed_are_no_lower_octave() {
    let amplitudes = [0.2, 0.1, 0.07, 0.05];
    for hz in [196.0, 392.0, 784.0, 1_568.0] {
        assert_eq!(divided(&reed(hz, &amplitudes, 0.15), hz), None, "{hz} Hz in noise");
        for semitones in [-4.0, -3.0, 3.0, 4.0] {
            let other = reed(hz * f64::powf(2.0, semitones / 12.0), &amplitudes, 0.0);
            let both = reed(hz, &amplitudes, 0.002);
            let both: Vec<f32> = both.iter().zip(&other).map(|(a, b)| a + 0.25 * b).collect();
            assert_eq!(divided(&both, hz), None, "{hz} Hz with a reed {semitones} semitones away at -12 dB");
        }
    }
}

#[test]
fn a_lasting_repetition_is_the_weakest_multiple_of_the_definition() {
    // Whole periods, so that the definition needs no interpolation.
    for period in [10_usize, 16, 80] {
        let x = tone(RATE / period as f64, 1_000, 0.02);
        let mut candidates = Candidates::new(RATE, 80.0, 3_800.0);
        let found = candidates.find(&x);
        let strength = |times: usize| correlation_by_definition(&x, times * period, (times * period).max(32));
        let multiples = (32.0 / period as f64).ceil() as usize;
        let slow = (1..=multiples).map(strength).fold(1.0, f64::min);
        let quick = f64::from(voicing::lasting_strength(found, period as f64, 32.0, 202.0));
        assert!((quick - slow).abs() < 0.01, "a period of {period}: {quick} for {slow}");
        let last = 202 / period * period;
        let slow = 1.0 - correlation_by_definition(&x, last, last);
        let quick = voicing::noise_share(&candidates, period as f64);
        assert!((quick - slow).abs() < 0.1 * slow, "noise at a period of {period}: {quick} for {slow}");
    }
}

#[test]
fn a_repetition_lasts_as_long_as_its_weakest_multiple_is_strong() {
    for seed in 0..2_000 {
        let mut dice = Dice::new(seed);
        let (period, span, longest) = (dice.ratio(4.0, 100.0), 32.0, dice.ratio(101.0, 270.0));
        // What the multiples show, one after the other; some of them lie too far from their place to be seen.
        let mut candidates = Vec::new();
        let mut weakest = 1.0_f32;
        for times in
            (1..).map(f64::from).take_while(|times| *times == 1.0 || (times + 0.1) * period <= longest)
        {
            let (strength, off) = (dice.between(0.3, 1.0) as f32, [0.0, 0.09, -0.09, 0.12][dice.pick(4)]);
            candidates.push(Candidate { period: (times + off) * period, strength });
            // The last one that is asked for is the first at or beyond the span.
            if (times - 1.0) * period < span {
                weakest = weakest.min(if off < 0.1 { strength } else { 0.0 });
            }
        }
        let quick = voicing::lasting_strength(&candidates, period, span, longest);
        assert_eq!(quick, weakest, "seed {seed}: a period of {period} up to {longest}");
    }
}

#[test]
fn the_transformed_correlation_of_noise_has_the_deviation_of_the_book() {
    // Fisher's transform: the inverse hyperbolic tangent of r has a variance of 1/(n - 3) over n pairs, and where no
    // mean is taken off a pair more counts. Windows that do not overlap, so that the frames owe each other nothing.
    let mut candidates = Candidates::new(RATE, 80.0, 3_800.0);
    for samples in [39, 63, 151] {
        let (frames, mut dice) = (10_000, Dice::new(samples));
        let mut square = 0.0;
        for _ in 0..frames {
            let x: Vec<f32> = (0..480).map(|_| dice.normal() as f32).collect();
            candidates.find(&x);
            square += f64::from(candidates.at(samples as f64)).atanh().powi(2);
        }
        let deviations = (square / f64::from(frames) * (samples as f64 - 2.0)).sqrt();
        // The deviation of 10 000 frames is known to 0.7 %.
        assert!((deviations - 1.0).abs() < 0.025, "{deviations} for {samples} samples");
    }
}

#[test]
fn the_patience_is_that_of_the_table() {
    // Deviations above nothing by Fisher's logarithm, and the frames that must agree from each number on.
    let frames = |strength: f64, samples: f64| {
        let deviations = 0.5 * ((1.0 + strength) / (1.0 - strength)).ln() * samples.min(64.0).sqrt();
        match deviations {
            d if d >= 10.0 => Some(1),
            d if d >= 8.25 => Some(2),
            d if d >= 6.6 => Some(3),
            d if d >= 5.2 => Some(5),
            d if d >= 4.6 => Some(8),
            _ => None,
        }
    };
    let mut dice = Dice::new(1);
    for _ in 0..5_000 {
        let (strength, samples) = (dice.between(0.3, 1.0) as f32, dice.ratio(32.0, 200.0));
        let slow = frames(f64::from(strength).min(0.9999), samples);
        assert_eq!(voicing::frames_needed(strength, samples), slow, "{strength} over {samples} samples");
    }
}

#[test]
fn only_what_falls_by_sixty_decibels_in_a_quarter_of_a_second_dies_away() {
    // 60 dB in a quarter of a second are 240 dB a second; the bar lies a little above.
    let energy = |decibels_a_second: f64, from: f64| 10.0_f64.powf(-decibels_a_second * from / 10.0);
    let falls =
        [(1_000.0, true), (300.0, true), (255.0, true), (245.0, false), (0.0, false), (-500.0, false)];
    for (fall, dies) in falls {
        for apart in [0.002, 0.005] {
            let told = voicing::dies_away(energy(fall, apart), energy(fall, 0.0), apart);
            assert_eq!(told, dies, "{fall} dB a second over {apart} s");
        }
    }
}
