//! Each stage against its plain textbook version.

use super::attack;
use super::choose::Chooser;
use super::fit::{Fitter, Harmonic, Harmonics, standing_out, unexplained};
use super::octave::{self, Follower};
use super::places;
use super::points::Points;
use super::set::{HARMONICS, Set, Spot};
use super::shape::{Line, PADDING, WIDTH};
use super::told::{MAX_VOICES, Reed};
use rustfft::num_complex::Complex;
use std::f64::consts::TAU;

const LENGTH: usize = 960;
/// Sets are judged up to here, hertz.
const BAND: f64 = 480.0;

/// A spectrum with one point to a hertz.
fn points() -> Points {
    Points::new(0.5, (PADDING * LENGTH) as f64, BAND)
}

/// The spectrum of 60 ms at 16 kHz, in which two points are a bin: 0.12 points to a hertz.
fn points_to_5_khz() -> Points {
    Points::new(0.06, 16_000.0, 5_100.0)
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
fn a_line_in_the_middle_of_a_point_is_even_about_it() {
    // The transform of an even window is even.
    let line = Line::at(101.0);
    assert_eq!((line.first, WIDTH % 2), (101 - WIDTH / 2, 1));
    for (below, above) in line.height.iter().zip(line.height.iter().rev()) {
        assert!((below - above).abs() < 2.0e-4, "{:?}", line.height);
    }
}

#[test]
fn lines_that_beat_are_expected_to_be_blurred_by_a_tenth_of_their_power() {
    let mut points = points();
    points.look(&window(&[(100.0, &[0.1, 0.0, 0.05])]), false, 0.0);
    let before: Vec<f64> = points.weight.iter().map(|weight| 1.0 / weight).collect();
    points.beat(100.0);
    // The power of a line of amplitude 0.1 is 0.01, and a tenth of that 0.001. A line is blurred over three points to
    // each side.
    for (at, expected) in [(96, 0.0), (97, 1.0e-3), (100, 1.0e-3), (103, 1.0e-3), (104, 0.0), (300, 2.5e-4)] {
        let more = 1.0 / points.weight[at] - before[at];
        assert!((more - expected).abs() < 0.02 * expected + 1.0e-12, "point {at}: {more} for {expected}");
    }
}

#[test]
fn what_came_after_an_attack_is_settled_and_an_end_is_no_attack() {
    // 24 parts of 40 samples.
    let sound = |from: usize, to: usize| -> Vec<f32> {
        (0..LENGTH).map(|n| if (from..to).contains(&n) { (n as f32).sin() } else { 0.0 }).collect()
    };
    // To one part of that in which the attack lies.
    assert!((320..=400).contains(&attack::settled(&sound(560, LENGTH))), "after an attack");
    for (from, to) in [(0, LENGTH), (0, 600), (0, 0)] {
        assert_eq!(attack::settled(&sound(from, to)), LENGTH, "sound from {from} to {to}");
    }
}

#[test]
fn a_place_lies_where_the_harmonics_do() {
    // To a step of 5 cents and half of what a point is of the fifth harmonic.
    let mut found = Vec::new();
    for (mut points, natural, all) in
        [(points(), 40.0, [39.4, 40.35, 40.6]), (points_to_5_khz(), 440.0, [430.0, 440.0, 449.0])]
    {
        for hz in all {
            points.look(&window(&[(points.per_hertz * hz, &[0.1, 0.07, 0.05, 0.04, 0.03])]), false, 0.0);
            places::of_harp(&points, &[[natural, 1.122 * natural]], &mut found);
            let off = 1_200.0 * (found[0].at / hz).log2();
            assert!(off.abs() < 11.0, "{hz} Hz is looked for {off} cents off");
        }
    }
}

#[test]
fn a_hole_has_a_bend_where_there_is_room_for_one_between_its_reeds() {
    // A bend lies half a semitone and more below its reed and 60 cents and more above the other reed: between 110
    // cents, and 115 with one step of 5 cents. A just semitone, 16:15, has 112 cents and a whole tone, 9:8, 204.
    let points = points_to_5_khz();
    for (draw, bends) in [(320.0, 0), (337.5, 1), (266.67, 1), (318.0, 0)] {
        let mut found = Vec::new();
        places::of_harp(&points, &[[300.0, draw]], &mut found);
        assert_eq!(
            (found.len(), found.iter().filter(|spot| spot.bent).count()),
            (2 + bends, bends),
            "{draw} Hz"
        );
    }
}

#[test]
fn without_a_harp_each_note_of_the_equal_scale_is_a_place() {
    let mut found = Vec::new();
    places::of_scale(&points_to_5_khz(), &mut found);
    // From E2, MIDI 40, upwards, by the MIDI tuning formula.
    for (midi, spot) in (40..).zip(&found) {
        let hz = 440.0 * ((f64::from(midi) - 69.0) / 12.0).exp2();
        let [below, above] = [spot.low, spot.high].map(|edge| 1_200.0 * (edge / hz).log2());
        assert!((below + 50.0).abs() < 0.2 && (above - 50.0).abs() < 0.2, "{midi}: {below} to {above} cents");
        assert!((spot.low..=spot.high).contains(&spot.at) && spot.reed.is_none());
    }
    // Five octaves and more.
    assert_eq!(found.len(), 64);
}

#[test]
fn a_set_is_within_another_that_holds_all_its_places() {
    let set = |places: &[usize]| {
        places.iter().fold(Set::default(), |set, at| set.with(&Spot { place: *at, ..Spot::default() }))
    };
    for (one, other, within) in [
        (&[1, 2][..], &[2, 1][..], true),
        (&[2], &[1, 2, 3], true),
        (&[], &[1], true),
        (&[1, 2], &[1, 3], false),
        (&[1, 2], &[1], false),
        (&[1], &[2], false),
    ] {
        assert_eq!(set(one).is_within(&set(other)), within, "{one:?} within {other:?}");
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
fn high_fundamentals_are_found_as_well_as_low_ones() {
    // The start is 10 cents off.
    let mut points = points_to_5_khz();
    for hz in [440.0, 1_500.0, 2_400.0] {
        points.look(&window(&[(points.per_hertz * hz, &[0.1, 0.05])]), false, 0.0);
        for off in [-10.0, 10.0_f64] {
            let mut set = Set::default().with(&place(hz * (off / 1_200.0).exp2()));
            Fitter::new(LENGTH).fit(&points, &mut set);
            let cents = 1_200.0 * (set.voices[0].at / hz).log2();
            assert!(cents.abs() < 2.5, "{hz} Hz sought {off} cents off lies {cents} cents off");
        }
    }
}

#[test]
fn a_line_that_glides_is_expected_to_be_blurred_by_the_square_of_its_way() {
    let mut points = points();
    let mut expected_noise = |glide: f64| {
        points.look(&window(&[(100.0, &[0.1, 0.0, 0.1])]), false, glide);
        [100, 300].map(|at| 1.0 / points.weight[at])
    };
    // Lines of amplitude 0.1, power 0.01, at 50 and 150 bins; two points are a bin. The phase of a line that glides by
    // so many bins strays from that of any steady one by pi times 0.025 radians for each, so that the square of that is
    // the share that is left over.
    let (steady, glides) = (expected_noise(0.0), expected_noise(0.02));
    for ((steady, glides), bins) in steady.into_iter().zip(glides).zip([1.0, 3.0]) {
        let blur = 0.01 * (std::f64::consts::PI * 0.025 * bins).powi(2);
        assert!((glides - steady - blur).abs() < 0.03 * blur, "{bins} bins: {} for {blur}", glides - steady);
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
    // What is a phase or a level that moves by so much in the window has this root of its energy, written out as its
    // sum over the samples; a line moved by one point turns by 2π/2 in the window, because two points are one turn.
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
fn a_reed_without_its_fundamental_costs_more_the_weaker_it_is() {
    // Up to 24 dB below the strongest harmonic it costs nothing, and from there on half a nat for each decibel.
    let cost = |decibels: f64| {
        let mut points = points();
        let first = 0.1 * 10.0_f64.powf(-decibels / 20.0);
        points.look(&window(&[(80.0, &[first, 0.1, 0.1, 0.1, 0.1])]), false, 0.0);
        let mut set = Set::default().with(&Spot { low: 80.0, high: 80.0, ..place(80.0) });
        Fitter::new(LENGTH).fit(&points, &mut set);
        set.cost
    };
    for (decibels, nats) in [(28.0, 2.0), (32.0, 4.0), (36.0, 6.0)] {
        let more = cost(decibels) - cost(24.0);
        assert!((more - nats).abs() < 0.5, "{decibels} dB: {more} nats for {nats}");
    }
}

#[test]
fn even_harmonics_stand_out_by_what_was_added() {
    let mut amplitudes = [Complex::default(); HARMONICS];
    amplitudes[..12].fill(Complex::from(0.1));
    assert!(standing_out(&amplitudes).abs() < 1.0e-9);
    // Of a high reed few harmonics are fitted, and only those are compared.
    let mut few = [Complex::default(); HARMONICS];
    few[..4].fill(Complex::from(0.1));
    assert!(standing_out(&few).abs() < 1.0e-9);
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

/// What is told after 40 frames in which the harmonics of a reed (by number and frame) drift by so much and noise may
/// move each by so much, squared; of some nothing can be told. Voices beside it are of other holes; the upper reed is
/// that of hole 4.
fn octave_of(
    told: impl Fn(usize, usize) -> Option<(f64, f64)>,
    hole: u8,
    beside: &[Spot],
) -> (Set, Option<Reed>) {
    let reed = |hole| Some(Reed { hole, draw: false });
    let amplitudes = std::array::from_fn(|i| (0.1 / (i + 1) as f64).into());
    let low = Spot { reed: reed(hole), amplitudes, ..place(31.0) };
    let places = [low, Spot { reed: reed(4), ..place(62.0) }];
    let mut followers = vec![Follower::default(); LENGTH];
    let (mut set, mut unsure) = (Set::default(), [None; MAX_VOICES]);
    for frame in 0..40 {
        let one: Harmonics = std::array::from_fn(|i| {
            let (at, amplitude) = (31.0 * (i + 1) as f64, 0.1 / (i + 1) as f64);
            let (drift, noise) = told(i + 1, frame)?;
            Some(Harmonic { at, amplitude, drift: drift.into(), noise })
        });
        set = beside.iter().fold(Set::default().with(&low), |set, other| set.with(other));
        unsure = octave::tell(&mut followers, &mut set, &places, &[one; MAX_VOICES], 0.3);
    }
    (set, unsure[0])
}

/// How far the harmonics of a reed turn in the window if they lie 3 cents sharp, radians, of which the even ones do.
fn mistuned(number: usize) -> f64 {
    let turned = 0.54 * 31.0 * number as f64 * ((3.0 / 1_200.0_f64).exp2() - 1.0);
    if number.is_multiple_of(2) { turned } else { 0.0 }
}

#[test]
fn an_odd_harmonic_in_noise_hides_no_octave() {
    // Noise moves the fundamental by 0.3 radians to and fro and the others by 0.01.
    let moved = |number: usize, frame: usize| {
        let most = if number == 1 { 0.3 } else { 0.01 };
        (if frame.is_multiple_of(2) { most } else { -most }, if number == 1 { 0.09 } else { 1.0e-4 })
    };
    let two = |number, frame| {
        let (noise, squared) = moved(number, frame);
        Some((noise + mistuned(number), squared))
    };
    assert_eq!(octave_of(two, 1, &[]).0.count, 2);
    assert_eq!(octave_of(|number, frame| Some(moved(number, frame)), 1, &[]).0.count, 1);
}

#[test]
fn frames_of_which_nothing_can_be_told_leave_an_octave_open_and_what_comes_later_clear() {
    let upper = Some(Reed { hole: 4, draw: false });
    let (set, unsure) = octave_of(|_, _| None, 1, &[]);
    assert_eq!((set.count, unsure), (1, upper));
    // What is clear of one reed is not left open.
    let (set, unsure) = octave_of(|_, _| Some((0.0, 1.0e-4)), 1, &[]);
    assert_eq!((set.count, unsure), (1, None));
    // Of odd harmonics nothing can be told in the first frames.
    let later = |number: usize, frame: usize| {
        (frame >= 5 || number.is_multiple_of(2)).then(|| (mistuned(number), 1.0e-4))
    };
    assert_eq!(octave_of(later, 1, &[]).0.count, 2);
}

#[test]
fn the_upper_reed_of_an_octave_takes_the_power_that_the_lower_one_gives() {
    let (set, _) = octave_of(|number, _| Some((mistuned(number), 1.0e-4)), 1, &[]);
    let whole: f64 = (1..=HARMONICS).map(|number| (0.1 / number as f64).powi(2)).sum();
    let power: f64 = set.voices().iter().map(Spot::power).sum();
    assert!(set.count == 2 && (power / whole - 1.0).abs() < 1.0e-9, "{power} of {whole}");
}

#[test]
fn an_upper_reed_under_another_mouth_is_neither_told_nor_left_open() {
    let beside = |hole| Spot { reed: Some(Reed { hole, draw: false }), ..place(47.0) };
    let two = |number, _| Some((mistuned(number), 1.0e-4));
    // One mouth covers five holes at most.
    assert_eq!(octave_of(two, 7, &[beside(8)]).0.count, 3);
    let (set, unsure) = octave_of(two, 7, &[beside(9)]);
    assert_eq!((set.count, unsure), (2, None));
}
