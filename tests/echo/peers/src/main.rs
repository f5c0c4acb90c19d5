//! Other ways to take out what we play, beside ours, in the bench of removal: the same band, rooms, player and ear.
//!
//! ```text
//! BENDWRIGHT_ROOM_SEED=41 cargo run --release --manifest-path tests/echo/peers/Cargo.toml --target-dir target/echo-peers -- NLMS
//! ```
//!
//! The last word may be left out; it chooses the cancellers whose name contains it. Ours knows of the loudspeaker's
//! clock only what two devices tell. The others are handed the sound at its true speed, except for one that goes by the
//! clocks as well. They have no gate: whatever the ear hears in what they leave over counts as a note.

#[path = "../../../../crates/echo/tests/room/band.rs"]
mod band;
#[allow(dead_code, reason = "the bench measures a drone by it")]
#[path = "../../../../crates/echo/tests/room/judged.rs"]
mod judged;
#[path = "../../../../crates/echo/tests/room/place.rs"]
mod place;
#[path = "../../../../crates/echo/tests/room/playing.rs"]
mod playing;

mod filters;

use echo::{Gated, Tape};
use filters::{Canceller, Gradient, Nlms, Peer, Speech};
use judged::Figures;
use place::{CASES, Clocks, PPM, Place, RATE};
use playing::Playing;
use std::time::Instant;

const SECONDS: f64 = 60.0;
/// The player begins after two bars.
const BEGINS_S: f64 = 4.8;

/// The samples that the ear is about to hear, and those that were sounded at the same time: truly, or as the clocks
/// tell.
fn beside(
    playing: &Playing,
    (microphone, reference): (&[f32], &[f32]),
    clocks: Option<Clocks>,
) -> (Vec<f32>, Vec<f32>) {
    let mut ear = judged::ear(playing);
    let factor = ear.factor() as f64;
    let mut heard = Vec::new();
    let keep = |x: f32| {
        heard.push(x);
        x
    };
    ear.push_cleaned(microphone, keep, |_| ());
    let mut tape = Tape::new(RATE, RATE / factor, 48_000);
    let (mut sounded, mut frames) = (Vec::with_capacity(heard.len()), reference.iter());
    for n in 0..heard.len() {
        let place = match clocks {
            None => n as f64 * factor * (1.0 + PPM * 1e-6),
            Some(clocks) => clocks.told(n as f64 * factor / RATE).0.max(0.0),
        };
        while (tape.end() as f64) < place + tape.ahead() + 1.0 {
            tape.push(frames.next().copied().unwrap_or(0.0));
        }
        sounded.push(tape.at(place));
    }
    (heard, sounded)
}

/// Decibels by which the harp is louder than all else in what is left, in its notes after ten seconds.
fn harp_over_rest(playing: &Playing, alone: &[f32], left: &[f32], factor: usize) -> f64 {
    let power = |x: f32| f64::from(x).powi(2);
    let (mut harp, mut rest) = (0.0, 0.0);
    for (n, (own, left)) in alone.iter().zip(left).enumerate() {
        if n * factor > (10.0 * RATE) as usize && playing.sounds(n * factor) {
            harp += power(*own);
            rest += power(left - own);
        }
    }
    10.0 * (harp / rest).log10()
}

fn peers(rate: f64) -> Vec<Peer> {
    let nlms = |step| Box::new(Nlms::new((0.35 * rate) as usize, step)) as Box<dyn Canceller>;
    let gradient = |size, step| Box::new(Gradient::new(size, step)) as Box<dyn Canceller>;
    vec![
        Peer::new("nothing", Box::new(filters::Nothing)),
        Peer::new("NLMS of 350 ms, step 0.5", nlms(0.5)),
        Peer::new("NLMS of 350 ms, step 0.05", nlms(0.05)),
        Peer::new("NLMS of 350 ms, step 0.005", nlms(0.005)),
        Peer::new("NLMS by the clocks, step 0.005", nlms(0.005)).by_clocks(),
        Peer::new("fdaf-aec 0.1.0, 4096, 0.02", gradient(4_096, 0.02)),
        Peer::new("fdaf-aec 0.1.0, 8192, 0.005", gradient(8_192, 0.005)),
        Peer::new("sonora-aec3 0.2.0", Box::new(Speech::new(false))),
        Peer::new("sonora-aec3 0.2.0, linear part", Box::new(Speech::new(true))),
    ]
}

fn main() {
    let seed: u64 =
        std::env::var("BENDWRIGHT_ROOM_SEED").ok().and_then(|text| text.parse().ok()).unwrap_or(1);
    let wanted = std::env::args().nth(1).unwrap_or_default();
    println!("{}; harp over the rest after ten seconds; ms of a core for a second", Figures::HEAD);
    let mut sums: Vec<(String, Figures, f64, f64)> = Vec::new();
    for (echo_db, clip, rt60_s, delay_s) in CASES {
        println!("echo {echo_db} dB, driven {clip}, RT60 {rt60_s} s, {} ms", delay_s * 1e3);
        let seed = seed * 100;
        let playing = playing::playing(seed, (BEGINS_S, SECONDS));
        let reference = band::band(&playing.harp, seed, (SECONDS * RATE) as usize);
        let place = Place { rt60_s, delay_s, ppm: PPM, clip, echo_db, seed };
        let echo = place.echo(&reference, &playing);
        let microphone = playing.over(&echo);
        let alone = judged::heard(&playing, &playing.samples, None);
        let mut tell = |name: &str, over: &judged::Heard, harp_db: f64, cost_ms: f64| {
            let mut figures = Figures::default();
            figures.add(&playing, &alone, over);
            println!("  {name:32} {}  {harp_db:5.1} dB  {cost_ms:6.1} ms", figures.row());
            match sums.iter_mut().find(|(known, ..)| known == name) {
                Some((_, sum, db, ms)) => {
                    sum.join(figures);
                    (*db, *ms) = (*db + harp_db, *ms + cost_ms);
                }
                None => sums.push((name.to_owned(), figures, harp_db, cost_ms)),
            }
        };
        let ours = judged::heard(&playing, &microphone, Some((&reference, Clocks { ppm: PPM, seed })));
        tell("ours", &ours, f64::NAN, f64::NAN);
        let factor = judged::ear(&playing).factor();
        let (own, _) = beside(&playing, (&playing.samples, &reference), None);
        let clocks = Clocks { ppm: PPM, seed };
        for mut peer in peers(RATE / factor as f64).into_iter().filter(|peer| peer.name.contains(&wanted)) {
            let clocks = peer.by_clocks.then_some(clocks);
            let (heard, sounded) = beside(&playing, (&microphone, &reference), clocks);
            let began = Instant::now();
            let left = peer.canceller.cancel(&sounded, &heard);
            let cost_ms = began.elapsed().as_secs_f64() * 1e3 / SECONDS;
            let harp_db = harp_over_rest(&playing, &own, &left, factor);
            let mut next = left.iter().copied();
            let mut gated = Vec::new();
            let clean = |_| next.next().unwrap_or(0.0);
            judged::ear(&playing).push_cleaned(&microphone, clean, |reading| {
                gated.push(Gated { reading, is_player: true, masked: None });
            });
            tell(peer.name, &judged::told(&playing, gated), harp_db, cost_ms);
        }
    }
    println!("all");
    let cases = CASES.len() as f64;
    for (name, figures, harp_db, cost_ms) in sums {
        println!("  {name:32} {}  {:5.1} dB  {:6.1} ms", figures.row(), harp_db / cases, cost_ms / cases);
    }
}
