//! How much of the echo is left beside the player, in all and where the loudspeaker is loudest. By hand, with a seed.

use crate::judged::{Reference, listen};
use crate::place::{CASES, Clocks, PPM, Place, RATE};
use crate::playing::playing;
use crate::{band, judged, seed_by_hand};

/// A take lasts so long, and is measured when the way has been known for some time, seconds.
const LASTS_S: f64 = 60.0;
const KNOWN_S: f64 = 10.0;
/// Powers are taken over so long, seconds: a stroke is loud for as long.
const STRETCH_S: f64 = 0.05;

/// What the ear is handed.
fn heard(microphone: &[f32], reference: Reference<'_>) -> Vec<f32> {
    let mut all = Vec::new();
    listen(microphone, reference, |x| all.push(x), |_, _| {});
    all
}

fn powers(samples: &[f32], rate: f64) -> Vec<f64> {
    let known = &samples[(KNOWN_S * rate) as usize..];
    let power = |stretch: &[f32]| stretch.iter().map(|x| f64::from(*x).powi(2)).sum();
    known.chunks((STRETCH_S * rate) as usize).map(power).collect()
}

#[test]
fn what_is_left_of_the_echo() {
    let Some(seed) = seed_by_hand() else { return };
    let seed = 100 * seed;
    for (echo_db, clip, rt60_s, delay_s) in CASES {
        let playing = playing(seed, (4.8, LASTS_S));
        let rate = RATE / judged::ear().factor() as f64;
        let reference = band::band(&playing.harp, seed, (LASTS_S * RATE) as usize);
        let place = Place { rt60_s, delay_s, ppm: PPM, clip, echo_db, seed };
        let echo = place.echo(&reference, &playing);
        let microphone = playing.over(&echo);
        let left = heard(&microphone, Some((&reference, Clocks { ppm: PPM, seed })));
        let player = heard(&playing.samples, None);
        let rest: Vec<f32> = left.iter().zip(&player).map(|(left, player)| left - player).collect();
        let echo = powers(&heard(&echo, None), rate);
        let mut powers: Vec<(f64, f64)> = echo.into_iter().zip(powers(&rest, rate)).collect();
        powers.sort_by(|a, b| b.0.total_cmp(&a.0));
        let db = |part: &[(f64, f64)]| {
            let (echo, rest) = part.iter().fold((0.0, 0.0), |sum, x| (sum.0 + x.0, sum.1 + x.1));
            10.0 * (rest / echo).log10()
        };
        println!(
            "echo {echo_db:3} dB  driven {clip}  RT60 {rt60_s} s  {:2.0} ms: {:.1} dB left in all, {:.1} dB of the loudest fiftieth",
            delay_s * 1e3,
            db(&powers),
            db(&powers[..powers.len() / 50])
        );
    }
}
