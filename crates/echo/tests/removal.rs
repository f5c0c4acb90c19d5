//! Removal in a simple room, at its edges, and where it must not do anything.
#![allow(clippy::unwrap_used, reason = "tests")]

use assert_no_alloc::{AllocDisabler, assert_no_alloc, violation_count};
use echo::{Clear, Gate, Remover, State};
use oorandom::Rand64;
use pitch::Reading;
use std::f64::consts::TAU;

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

const RATE: f64 = 16_000.0;

fn seconds(s: f64) -> usize {
    (s * RATE) as usize
}

/// The tones of two octaves of a scale, hertz.
const SCALE: [f64; 12] = [110.0, 131.0, 147.0, 165.0, 196.0, 220.0, 262.0, 294.0, 330.0, 392.0, 440.0, 523.0];

/// Chords of three tones that change twice a second, and a burst of noise with each.
fn music(length: usize, seed: u64) -> Vec<f32> {
    let mut random = Rand64::new(u128::from(seed));
    let mut out = Vec::with_capacity(length);
    let mut hz = [0.0; 3];
    for n in 0..length {
        let t = n % seconds(0.5);
        if t == 0 {
            hz = std::array::from_fn(|_| SCALE[random.rand_range(0..12) as usize]);
        }
        let at = t as f64 / RATE;
        let noise = (2.0 * random.rand_float() - 1.0) * (-at / 0.05).exp();
        let tones: f64 = hz.iter().map(|hz| harmonics(*hz, n)).sum();
        let envelope = (at / 0.01).min((0.5 - at) / 0.02).min(1.0) * (-at / 0.3).exp();
        out.push((0.1 * noise + 0.02 * tones * envelope) as f32);
    }
    out
}

fn harmonics(hz: f64, n: usize) -> f64 {
    (1..8).map(f64::from).map(|h| (TAU * h * hz * n as f64 / RATE + h).sin() / h).sum()
}

/// The way from loudspeaker to microphone: 20 ms, and noise that dies away by 60 dB in 0.2 s. Its energy is 1.
fn way(seed: u64) -> Vec<f32> {
    let mut random = Rand64::new(u128::from(seed) + 99);
    let decay = 6.9 / seconds(0.2) as f64;
    let mut way = vec![0.0; seconds(0.02)];
    way.extend((0..seconds(0.2)).map(|n| (2.0 * random.rand_float() - 1.0) * (-decay * n as f64).exp()));
    let energy = way.iter().map(|x| x * x).sum::<f64>().sqrt();
    way.iter().map(|x| (x / energy) as f32).collect()
}

fn through(sounded: &[f32], way: &[f32]) -> Vec<f32> {
    let sample = |n: usize| way.iter().take(n + 1).zip(sounded[..=n].iter().rev()).map(|(h, x)| h * x).sum();
    (0..sounded.len()).map(sample).collect()
}

/// A reed that is played for 0.6 of each second, at a pitch of its own each time.
fn reed(length: usize, level: f64) -> Vec<f32> {
    let hz = [300.0, 452.0, 370.0, 571.0, 743.0];
    let sample = |n: usize| {
        let t = (n % seconds(1.0)) as f64 / RATE;
        let envelope = (t / 0.02).min((0.6 - t) / 0.02).clamp(0.0, 1.0);
        (level * envelope * harmonics(hz[n / seconds(1.0) % hz.len()], n)) as f32
    };
    (0..length).map(sample).collect()
}

fn mixed(a: &[f32], b: &[f32]) -> Vec<f32> {
    a.iter().zip(b).map(|(a, b)| a + b).collect()
}

fn removed(remover: &mut Remover, sounded: &[f32], heard: &[f32]) -> Vec<f32> {
    sounded.iter().zip(heard).map(|(x, y)| remover.remove(*x, *y)).collect()
}

fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / samples.len() as f64
}

fn db(ratio: f64) -> f64 {
    10.0 * ratio.log10()
}

/// What `output` has beside `player`, against the echo, decibels.
fn left_db(output: &[f32], player: &[f32], echo: &[f32]) -> f64 {
    let other: Vec<f32> = output.iter().zip(player).map(|(a, b)| a - b).collect();
    db(power(&other) / power(echo))
}

#[test]
fn a_band_is_taken_out_from_beside_a_player() {
    let length = seconds(10.0);
    let sounded = music(length, 1);
    let (echo, player) = (through(&sounded, &way(1)), reed(length, 0.03));
    let mut remover = Remover::new(RATE);
    let output = removed(&mut remover, &sounded, &mixed(&echo, &player));
    let last = seconds(7.0)..;
    let left = left_db(&output[last.clone()], &player[last.clone()], &echo[last]);
    assert!(left < -20.0, "{left}");
    // What is told is a median over bins, and the sum lies above it.
    let told = f64::from(remover.left_db());
    assert!(remover.state() == State::Good && (left - 15.0..left + 3.0).contains(&told), "{told} {left}");
}

/// The loudspeaker follows a hyperbolic tangent, as models of loudspeakers often do (common practice, no source); the
/// curve that is learnt is another.
#[test]
fn a_loudspeaker_that_clips_is_learnt() {
    let length = seconds(10.0);
    let sounded = music(length, 14);
    let rms = power(&sounded).sqrt();
    let player = reed(length, 0.03);
    // Without a curve, 16 dB are reached where it is driven to 0.3.
    for driven in [0.3, 0.5] {
        let clips = |x: &f32| ((driven * f64::from(*x) / rms).tanh() * rms / driven) as f32;
        let echo = through(&sounded.iter().map(clips).collect::<Vec<f32>>(), &way(14));
        let mut remover = Remover::new(RATE);
        let output = removed(&mut remover, &sounded, &mixed(&echo, &player));
        let last = seconds(7.0)..;
        let left = left_db(&output[last.clone()], &player[last.clone()], &echo[last]);
        assert!(left < -20.0, "driven to {driven}: {left}");
    }
}

#[test]
fn it_does_not_diverge_however_loud_either_side_is() {
    // A Kalman filter has no step size. What stands in its place is how loud the way is expected to be, and the player.
    let length = seconds(8.0);
    let sounded = music(length, 2);
    let echo = through(&sounded, &way(2));
    for gain_db in [-40.0, -20.0, 20.0, 40.0] {
        for player in [0.0, 0.001, 0.3] {
            let gain = 10_f64.powf(gain_db / 20.0) as f32;
            let echo: Vec<f32> = echo.iter().map(|x| gain * x).collect();
            let player = reed(length, player);
            let output = removed(&mut Remover::new(RATE), &sounded, &mixed(&echo, &player));
            assert!(output.iter().all(|x| x.is_finite()));
            for second in 0..8 {
                let here = seconds(f64::from(second))..seconds(f64::from(second + 1));
                let worse = db((power(&output[here.clone()])
                    / power(&mixed(&echo[here.clone()], &player[here])))
                .max(1e-9));
                assert!(worse < 1.0, "echo {gain_db} dB, second {second}: {worse} dB");
            }
        }
    }
}

#[test]
fn silence_costs_no_bit() {
    let heard = mixed(&reed(seconds(2.0), 0.1), &music(seconds(2.0), 3));
    let mut remover = Remover::new(RATE);
    let output = removed(&mut remover, &vec![0.0; heard.len()], &heard);
    assert_eq!(output, heard);
    assert_eq!(remover.clear(), Clear::above(f32::NEG_INFINITY));
    // Silence after a band costs no bit either, and what was learnt is remembered.
    let sounded = music(seconds(6.0), 3);
    removed(&mut remover, &sounded, &through(&sounded, &way(3)));
    assert!(remover.state() == State::Good);
    removed(&mut remover, &vec![0.0; seconds(0.5)], &heard[..seconds(0.5)]);
    let output = removed(&mut remover, &vec![0.0; heard.len()], &heard);
    assert_eq!(output, heard);
    let again = music(seconds(1.0), 4);
    let echo = through(&again, &way(3));
    let output = removed(&mut remover, &again, &echo);
    let left = db(power(&output) / power(&echo));
    assert!(left < -12.0, "{left}");
}

#[test]
fn headphones_leave_the_player_as_he_is() {
    let length = seconds(8.0);
    let player = reed(length, 0.05);
    let mut remover = Remover::new(RATE);
    let output = removed(&mut remover, &music(length, 5), &player);
    assert_eq!(output, player);
    assert_eq!((remover.state(), remover.late_s()), (State::Absent, None));
}

/// A loudspeaker by radio: what comes back later than the filter reaches is not taken for headphones.
#[test]
fn what_comes_back_too_late_is_found() {
    let length = seconds(12.0);
    let sounded = music(length, 13);
    for (late_s, player) in [(0.5, 0.0), (0.5, 0.05), (0.28, 0.1), (0.5, 0.03)] {
        let late = [vec![0.0; seconds(late_s)], through(&sounded, &way(13))].concat();
        let mut remover = Remover::new(RATE);
        let mut found = None;
        for (n, (x, y)) in sounded.iter().zip(mixed(&late, &reed(length, player))).enumerate() {
            remover.remove(*x, y);
            assert_ne!(remover.state(), State::Absent, "{late_s} {player} at {n}");
            found = found.or(remover.late_s().map(|lag| (n as f64 / RATE, lag)));
        }
        let (after_s, lag) = found.unwrap();
        // The way itself takes 20 ms.
        assert!((lag - late_s - 0.02).abs() < 0.03 && after_s < 5.0, "{late_s}: {lag} after {after_s}");
    }
}

#[test]
fn a_moved_microphone_and_a_turned_knob_are_noticed_and_learnt() {
    let length = seconds(22.0);
    let sounded = music(length, 6);
    let player = reed(length, 0.03);
    let before = through(&sounded, &way(6));
    let moved = through(&sounded, &way(7));
    let turned = |db: f64| before.iter().map(|x| x * 10_f64.powf(db / 20.0) as f32).collect::<Vec<_>>();
    let at = seconds(10.0);
    for (what, after) in [("moved", moved), ("up", turned(6.0)), ("down", turned(-6.0))] {
        let echo = [&before[..at], &after[at..]].concat();
        let heard = mixed(&echo, &player);
        let mut remover = Remover::new(RATE);
        removed(&mut remover, &sounded[..at], &heard[..at]);
        assert!(remover.state() == State::Good, "{what}: {}", remover.left_db());
        let mut noticed = None;
        for n in at..at + seconds(1.0) {
            remover.remove(sounded[n], heard[n]);
            if remover.state() != State::Good {
                noticed.get_or_insert(n);
            }
        }
        assert!(noticed.is_some(), "{what}: {}", remover.left_db());
        let mid = at + seconds(1.0)..at + seconds(10.0);
        removed(&mut remover, &sounded[mid.clone()], &heard[mid]);
        assert!(remover.state() == State::Good, "{what}: {}", remover.left_db());
        let last = at + seconds(10.0)..;
        let output = removed(&mut remover, &sounded[last.clone()], &heard[last.clone()]);
        let left = left_db(&output, &player[last.clone()], &echo[last]);
        assert!(left < -12.0, "{what}: {left}");
    }
}

#[test]
fn a_player_in_unison_with_a_drone_is_not_taken_for_it() {
    let (hz, begins) = (220.0, seconds(4.0));
    let length = begins + seconds(10.0);
    let drone: Vec<f32> = (0..length).map(|n| (0.03 * harmonics(hz, n)) as f32).collect();
    let echo = through(&drone, &way(8));
    for cents in [0.0, 2.0, 5.0, 10.0] {
        let own = hz * (cents / 1200.0_f64).exp2();
        let player: Vec<f32> = (0..length)
            .map(|n| if n < begins { 0.0 } else { (0.03 * harmonics(own, n + 7)) as f32 })
            .collect();
        let output = removed(&mut Remover::new(RATE), &drone, &mixed(&echo, &player));
        let last = length - seconds(1.0)..;
        let lost = db(power(&output[last.clone()]) / power(&player[last.clone()]));
        let other = left_db(&output[last.clone()], &player[last.clone()], &player[last]);
        assert!(lost.abs() <= 1.0 && other < -20.0, "{cents} cents: {lost} dB lost, the rest at {other} dB");
    }
}

#[test]
fn what_is_no_number_does_no_harm() {
    let length = seconds(6.0);
    let mut sounded = music(length, 9);
    let mut heard = through(&sounded, &way(9));
    for n in (0..length).step_by(10_007) {
        (sounded[n], heard[n + 3]) = (f32::NAN, f32::INFINITY);
    }
    let output = removed(&mut Remover::new(RATE), &sounded, &heard);
    assert!(output.iter().zip(&heard).all(|(out, heard)| out.is_finite() || !heard.is_finite()));
}

#[test]
fn it_allocates_nothing_after_it_is_made() {
    let sounded = music(seconds(2.0), 10);
    let heard = through(&sounded, &way(10));
    let made = Remover::new(RATE);
    for mut remover in [made.clone(), made] {
        let mut left = 0.0;
        assert_no_alloc(|| {
            for (x, y) in sounded.iter().zip(&heard) {
                remover.remove(*x, *y);
            }
            left = remover.left_db();
            for y in &heard {
                remover.remove(0.0, *y);
            }
        });
        assert_eq!(violation_count(), 0);
        assert!(left < -6.0, "{left}");
    }
}

/// What a gate makes of an ear that takes everything above -60 dBFS for a note: samples at which something was let
/// through, and the stretches that are masked.
fn gated(sounded: &[f32], heard: &[f32]) -> (Vec<u64>, Vec<(u64, u64)>) {
    let (mut remover, mut gate) = (Remover::new(RATE), Gate::new(RATE));
    let (mut through, mut masked, mut level) = (Vec::new(), Vec::new(), 0.0);
    for (n, (x, y)) in (1..).zip(sounded.iter().zip(heard)) {
        level += (f64::from(remover.remove(*x, *y)).powi(2) - level) / 160.0;
        if n % 40 != 0 {
            continue;
        }
        let level_dbfs = db(2.0 * level.max(1e-12)) as f32;
        let hz = (level_dbfs > -60.0).then_some(440.0);
        let reading =
            Reading { time: n - 40, known: n, hz, sigma_cents: 1.0, clarity: 0.9, level_dbfs, onset: false };
        let gated = gate.pass(&remover, reading);
        through.extend(gated.reading.hz.map(|_| n));
        masked.extend(gated.masked);
    }
    (through, masked)
}

fn lasts(masked: &[(u64, u64)], within: std::ops::Range<f64>) -> f64 {
    let at = |n: u64| n as f64 / RATE;
    let inside = masked.iter().filter(|(from, until)| within.contains(&at(*from)) && at(*until) < within.end);
    inside.count() as f64 * 40.0 / RATE
}

#[test]
fn what_is_heard_of_a_band_before_it_is_known_or_after_it_moved_is_masked() {
    let length = seconds(30.0);
    let sounded = music(length, 9);
    let at = seconds(15.0);
    let echo = [&through(&sounded, &way(9))[..at], &through(&sounded, &way(10))[at..]].concat();
    // Nobody plays: what is let through is the band.
    let (through, masked) = gated(&sounded, &echo);
    let open = |n: &&u64| !masked.iter().any(|(from, until)| (*from..=*until).contains(n));
    let open: Vec<f64> = through.iter().filter(open).map(|n| *n as f64 / RATE).collect();
    // What a band begins with may be a click; and what is left of bursts of noise once it is known has no pitch for a
    // true ear.
    let unknown = |s: &&f64| (0.1..1.0).contains(*s) || (15.0..17.0).contains(*s);
    let told: Vec<&f64> = open.iter().filter(unknown).collect();
    assert!(told.is_empty(), "{told:?}");
    assert!(
        through.iter().any(|n| (15.0..16.0).contains(&(*n as f64 / RATE))),
        "the move was noticed before it was heard"
    );
    // A player is heard through the band, except while its way is learnt; that time is told as masked.
    let player = reed(length, 0.03);
    let (through, masked) = gated(&sounded, &mixed(&echo, &player));
    let heard = through.iter().filter(|n| **n > seconds(6.0) as u64 && **n < at as u64).count();
    assert!(heard > 2_100, "{heard} readings of 0.6 of nine seconds");
    let told = [0.0..5.0, 6.0..14.0, 14.0..25.0, 25.0..30.0].map(|within| lasts(&masked, within));
    assert!(told[0] > 0.5 && told[1] < 0.3 && told[2] > 0.5 && told[3] < 0.3, "{told:?}");
}

#[test]
fn headphones_and_clicks_mask_nothing_that_is_judged() {
    let length = seconds(20.0);
    let player = reed(length, 0.06);
    // A band that does not come back: it takes five seconds to know that.
    let (_, masked) = gated(&music(length, 11), &player);
    let until = masked.iter().map(|(_, until)| *until as f64 / RATE).fold(0.0, f64::max);
    assert!(until < 5.5, "{until} s");
    // Clicks, which come back or not, begin no note: everything is let through.
    let clicks: Vec<f32> = (0..length)
        .map(|n| (n % seconds(0.6)) as f64 / RATE)
        .map(|t| if t < 0.06 { (0.1 * (-t / 0.005).exp() * (TAU * 1_900.0 * t).sin()) as f32 } else { 0.0 })
        .collect();
    let open = gated(&vec![0.0; length], &player).0;
    let (in_headphones, masked) = gated(&clicks, &player);
    assert!(in_headphones == open && masked.is_empty(), "{masked:?}");
    let heard = mixed(&through(&clicks, &way(12)), &player);
    let (in_room, masked) = gated(&clicks, &heard);
    let masked_s = lasts(&masked, 0.0..20.0);
    assert!(in_room.len() as f64 > 0.95 * open.len() as f64 && masked_s < 0.2, "{masked_s} s");
}
