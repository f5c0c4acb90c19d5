//! Each stage against its plain textbook version.

use super::choose::Chooser;
use super::fit::{Fitter, standing_out, unexplained};
use super::octave::{self, Follower};
use super::points::Points;
use super::set::{HARMONICS, Set, Spot};
use super::shape::{Line, PADDING};
use super::told::Reed;
use rustfft::num_complex::Complex;
use std::f64::consts::TAU;

const LENGTH: usize = 960;
/// Sets are judged up to here, hertz.
const BAND: f64 = 480.0;

/// A spectrum with one point to a hertz.
fn points() -> Points {
    Points::new(0.5, (PADDING * LENGTH) as f64, BAND)
}

/// A window of harmonic series: (points of the fundamental, amplitudes).
fn window(series: &[(f64, &[f64])]) -> Vec<f32> {
    let wave = |n: usize, at: f64, amplitudes: &[f64]| -> f64 {
        let phase = |k: f64| TAU * k * at * n as f64 / (PADDING * LENGTH) as f64 + k * k;
        amplitudes.iter().zip(1..).map(|(a, k)| a * phase(f64::from(k)).sin()).sum()
    };
    (0..LENGTH)
        .map(|n| series.iter().map(|(at, amplitudes)| wave(n, *at, amplitudes)).sum::<f64>() as f32)
        .collect()
}

fn place(at: f64) -> Spot {
    Spot { at, low: 0.97 * at, high: 1.03 * at, place: at as usize, ..Spot::default() }
}

#[test]
fn the_line_is_the_transform_of_the_window() {
    // The discrete-time Fourier transform written out as its sum.
    let hann = |n: usize| 0.5 - 0.5 * (TAU * n as f64 / LENGTH as f64).cos();
    let sum: f64 = (0..LENGTH).map(hann).sum();
    let direct = |bins: f64| {
        let phase = |n: usize| TAU * bins * (n as f64 - LENGTH as f64 / 2.0) / LENGTH as f64;
        (0..LENGTH).map(|n| hann(n) * phase(n).cos()).sum::<f64>() / sum
    };
    // Between points, on one, and hardly beside one.
    for place in [100.3, 100.5, 101.0, 100.99999, 101.01] {
        let line = Line::at(place);
        for (p, (height, slope)) in (line.first..).zip(line.height.iter().zip(line.slope)) {
            let at = |place: f64| direct((p as f64 - place) / PADDING as f64);
            assert!((height - at(place)).abs() < 2.0e-4, "{place} {p}: {height} {}", at(place));
            let change = at(place + 0.01) - at(place - 0.01);
            assert!((slope * 0.02 - change).abs() < 1.0e-5, "{place} {p}: {slope} {}", change / 0.02);
        }
    }
}

#[test]
fn amplitudes_of_lines_that_overlap_are_those_that_were_put_in() {
    // The second harmonic of the upper series lies 2.6 points (1.3 bins) above the third of the lower one, the fourth 5.2
    // above the sixth. Both go on beyond the harmonics that are compared, because the fit expects no end of a spectrum.
    let (at, above) = (40.0, 61.3);
    let falling = |first: f64| -> Vec<f64> { (0..11).map(|k| first * 0.8_f64.powi(k)).collect() };
    let (low, high) = (falling(0.1), falling(0.06));
    let mut points = points();
    points.look(&window(&[(at, &low), (above, &high)]), false, 0.0);
    let fixed = |at: f64| Spot { low: at, high: at, ..place(at) };
    let mut set = Set::default().with(&fixed(at)).with(&fixed(above));
    Fitter::new(LENGTH).fit(&points, &mut set);
    for (voice, put) in [(0, low), (1, high)] {
        for (found, put) in set.voices[voice].amplitudes.iter().zip(put).take(6) {
            assert!((found.norm() / put - 1.0).abs() < 0.03, "voice {voice}: {found} for {put}");
        }
    }
}

#[test]
fn a_fit_finds_the_amplitudes_and_the_fundamentals_that_were_put_in() {
    let strong = [0.1, 0.08, 0.06, 0.03, 0.02];
    let weak = [0.012, 0.01, 0.006, 0.003, 0.002];
    let mut points = points();
    points.look(&window(&[(31.3, &strong), (39.5, &weak)]), false, 0.0);
    // Both starts are 8 cents off.
    let mut set = Set::default().with(&place(31.3 * 1.0046)).with(&place(39.5 / 1.0046));
    Fitter::new(LENGTH).fit(&points, &mut set);
    for (voice, at) in [(0, 31.3), (1, 39.5)] {
        let cents = 1_200.0 * (set.voices[voice].at / at).log2();
        assert!(cents.abs() < 2.5, "voice {voice} lies {cents} cents off");
    }
    for (voice, amplitudes) in [(0, strong), (1, weak)] {
        let put: f64 = amplitudes.iter().map(|a| a * a).sum();
        let off = 10.0 * (set.voices[voice].power() / put).log10();
        // The fourth harmonic of the weak voice and the fifth of the strong one fall into one line.
        assert!(off.abs() < 3.0, "voice {voice} is {off} dB off");
    }
}

#[test]
fn a_harmonic_that_turns_or_grows_within_the_window_is_told() {
    // Three partials; the second lies 0.06 points above twice the fundamental, the third grows by a tenth in the window.
    let (at, off, growth) = (40.0, 0.06, 0.1);
    let wave = |n: usize| {
        let turn = TAU * n as f64 / (PADDING * LENGTH) as f64;
        let time = n as f64 / LENGTH as f64 - 0.5;
        0.1 * (turn * at).sin()
            + 0.1 * (turn * (2.0 * at + off)).sin()
            + 0.1 * (1.0 + growth * time) * (turn * 3.0 * at).sin()
    };
    let mut points = points();
    points.look(&(0..LENGTH).map(|n| wave(n) as f32).collect::<Vec<_>>(), false, 0.0);
    let mut set = Set::default().with(&Spot { low: at, high: at, ..place(at) });
    let mut fitter = Fitter::new(LENGTH);
    fitter.fit(&points, &mut set);
    let [lone, ..] = fitter.harmonics(&points, &set);
    let [first, second, third] = [0, 1, 2].map(|i| lone[i].unwrap().drift);
    // What is a phase or a level that moves by so much in the window has this root of its energy, written out as its sum over the
    // samples; a line moved by one point turns by 2π/2 in the window, because two points are one turn.
    let hann = |n: usize| 0.5 - 0.5 * (TAU * n as f64 / LENGTH as f64).cos();
    let sum: f64 = (0..LENGTH).map(hann).sum();
    let energy = |n: usize| (hann(n) * (n as f64 / LENGTH as f64 - 0.5) / sum).powi(2);
    let moved = ((PADDING * LENGTH) as f64 * (0..LENGTH).map(energy).sum::<f64>()).sqrt();
    let (turns, grows) = (off * TAU / PADDING as f64 * moved, growth * moved);
    assert!(first.norm() < 0.003, "{first}");
    assert!((second.re - turns).abs() < 0.003 && second.im.abs() < 0.003, "{second} for {turns}");
    assert!(third.re.abs() < 0.003 && (third.im + grows).abs() < 0.003, "{third} for {grows}");
}

#[test]
fn the_third_harmonic_of_an_octave_that_is_off_is_no_reed_of_its_own() {
    // A reed that has not scooped into its pitch yet, the octave above it, 25 cents sharp of twice its pitch, and the reed a
    // twelfth above it, which is silent.
    let reed = |hole, at| Spot { reed: Some(Reed { hole, draw: true }), ..place(at) };
    let places = [reed(1, 23.1), reed(4, 46.87), reed(6, 69.3)];
    let falling = |most: f64| -> Vec<f64> { (1..=10).map(|k| most / f64::from(k)).collect() };
    let mut points = points();
    points.look(&window(&[(23.1, &falling(0.05)), (46.87, &falling(0.1))]), false, 0.0);
    let set = Chooser::new(LENGTH).choose(&points, &places, 5, &Set::default());
    // The upper reed is left to `octave`.
    assert_eq!(set.voices().iter().map(|voice| voice.reed).collect::<Vec<_>>(), [places[0].reed]);
}

#[test]
fn a_set_costs_less_than_any_part_or_extension_of_it() {
    let amplitudes = [0.1, 0.07, 0.05, 0.03];
    let mut points = points();
    points.look(&window(&[(40.0, &amplitudes), (50.4, &amplitudes)]), false, 0.0);
    let cost = |places: &[f64]| {
        let mut set = places.iter().fold(Set::default(), |set, at| set.with(&place(*at)));
        Fitter::new(LENGTH).fit(&points, &mut set);
        set.cost
    };
    let right = cost(&[40.0, 50.4]);
    assert!(right < cost(&[40.0]) && right < cost(&[50.4]), "a part");
    assert!(right < cost(&[40.0, 50.4, 59.9]), "one too many");
    assert!(right < unexplained(&points), "nothing");
}

#[test]
fn even_harmonics_stand_out_by_what_was_added() {
    let mut amplitudes = [Complex::default(); HARMONICS];
    amplitudes[..12].fill(Complex::from(0.1));
    assert!(standing_out(&amplitudes).abs() < 1.0e-9);
    for even in amplitudes[..12].iter_mut().skip(1).step_by(2) {
        *even *= 4.0;
    }
    let db = standing_out(&amplitudes);
    assert!((db - 20.0 * 4.0_f64.log10()).abs() < 1.0e-9, "{db}");
}

/// Looks at two tones a hundredth of a second apart, as the ear does, and says whether an octave was told at the end.
fn octave_told(partials: &[(f64, f64)]) -> bool {
    let (hop, low) = (160, 31.3);
    let mut points = points();
    let mut fitter = Fitter::new(LENGTH);
    let mut followers = vec![Follower::default(); LENGTH];
    let reed = |hole| Some(Reed { hole, draw: false });
    let mut told = false;
    for frame in 0..40 {
        let wave = |n: usize| -> f64 {
            let turn = TAU * (n + frame * hop) as f64 / (PADDING * LENGTH) as f64;
            partials.iter().map(|(at, amplitude)| amplitude * (turn * at).sin()).sum()
        };
        let newest: Vec<f32> = (0..LENGTH).map(|n| wave(n) as f32).collect();
        points.look(&newest, false, 0.0);
        let lower = Spot { reed: reed(1), ..place(low) };
        let mut set = Set::default().with(&lower);
        fitter.fit(&points, &mut set);
        let places = [lower, Spot { reed: reed(4), ..place(2.0 * low) }];
        let harmonics = fitter.harmonics(&points, &set);
        octave::tell(&mut followers, &mut set, &places, &harmonics, 0.01 * frame as f64);
        told = set.count == 2;
    }
    told
}

#[test]
fn an_octave_is_told_by_harmonics_that_turn_and_only_by_them() {
    let series = |at: f64, share: f64| (1..=9).map(move |k| (at * f64::from(k), share / f64::from(k)));
    let lone: Vec<_> = series(31.3, 0.1).collect();
    assert!(!octave_told(&lone), "one reed");
    // An octave 4 cents wide, both equally loud.
    let wide: Vec<_> = series(31.3, 0.1).chain(series(62.6 * 1.0023, 0.1)).collect();
    assert!(octave_told(&wide), "two reeds");
    // The same amplitudes in one reed: nothing turns.
    let locked: Vec<_> = series(31.3, 0.1).chain(series(62.6, 0.1)).collect();
    assert!(!octave_told(&locked), "one reed with strong even harmonics");
}

#[test]
fn an_octave_is_told_by_even_harmonics_that_stand_out_far() {
    // As far as those of two reeds do, of which the upper one is four times as loud.
    let even = |k: usize, more: f64| if k.is_multiple_of(2) { more } else { 1.0 };
    let series =
        |more: f64| (1..=9).map(|k| (31.3 * k as f64, 0.05 / k as f64 * even(k, more))).collect::<Vec<_>>();
    assert!(!octave_told(&series(1.0)), "none stands out");
    assert!(octave_told(&series(8.0)), "18 dB");
}
