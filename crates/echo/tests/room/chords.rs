//! Chords over the band: which reeds sound together is told from what removal leaves. By hand, with a seed.

use crate::judged::{Reference, listen};
use crate::place::{CASES, Clocks, PPM, Place, RATE};
use crate::playing::{Playing, harp};
use crate::{band, judged, seed_by_hand};
use echo::{Gate, Presence};
use layout::{Breath, Harp, Technique, Way};
use oorandom::Rand64;
use pitch::reeds::{ReedSettings, Reeds, Sounding};
use scoring::reeds::{Holes, ReedsJudge, ReedsOutcome, ReedsTarget};
use synth::{Gesture, SimulatedPlayer};

/// A take lasts so long, and chords begin when the way has been learnt, so far apart, seconds.
const LASTS_S: f64 = 60.0;
const BEGINS_S: f64 = 4.8;
const APART_S: f64 = 1.5;
/// How long a chord is held, and how long it has to be.
const HELD_S: f64 = 1.0;
const HOLD_S: f64 = 0.5;
/// How far before a chord and behind it the judge listens, seconds.
const BESIDE_S: (f64, f64) = (0.05, 0.3);

/// What is asked for, and what is played: every third chord lacks a reed, every third has one more.
struct Chord {
    breath: Breath,
    asked: Holes,
    wrong: Option<ReedsOutcome>,
}

fn holes(all: impl Iterator<Item = u8>) -> Holes {
    all.fold(Holes::NONE, Holes::with)
}

/// Chords of three holes that lie side by side, and how they are played.
fn playing(seed: u64) -> (Playing, Vec<Chord>) {
    let (harp, mut random) = (harp(), Rand64::new(u128::from(seed) + 5));
    let mut player = SimulatedPlayer::new(&harp, RATE, seed);
    let (mut played, mut chords) = (Vec::new(), Vec::new());
    let mut at_s = BEGINS_S;
    while at_s < LASTS_S - 2.0 * APART_S {
        let first = 1 + random.rand_range(0..5) as u8;
        let breath = if random.rand_float() < 0.5 { Breath::Blow } else { Breath::Draw };
        let asked = holes(first..first + 3);
        let none = Holes::NONE;
        let (sounding, wrong) = match chords.len() % 3 {
            0 => (asked, None),
            1 => {
                let missing = first + [0, 2][random.rand_range(0..2) as usize];
                let sounding = holes((first..first + 3).filter(|hole| *hole != missing));
                (sounding, Some(ReedsOutcome::Off { missing: none.with(missing), leaked: none }))
            }
            _ => (
                asked.with(first + 3),
                Some(ReedsOutcome::Off { missing: none, leaked: none.with(first + 3) }),
            ),
        };
        let ways: Vec<Way> = sounding.iter().map(|hole| Way::new(hole, breath, Technique::Natural)).collect();
        let gesture = Gesture::chord(&ways).seconds(HELD_S).level(-18.0 + 4.0 * (random.rand_float() - 0.5));
        played.push(player.play_at(&gesture, at_s * RATE).unwrap());
        chords.push(Chord { breath, asked, wrong });
        at_s += APART_S;
    }
    let mut samples = vec![0.0; (LASTS_S * RATE) as usize];
    player.fill(&mut samples);
    (Playing { harp, samples, played }, chords)
}

fn reeds(harp: &Harp, rate: f64) -> Reeds {
    let reed = |hole, breath| harp.hz(Way::new(hole, breath, Technique::Natural)).unwrap();
    let holes = (1..=10).map(|hole| [reed(hole, Breath::Blow), reed(hole, Breath::Draw)]).collect();
    Reeds::new(ReedSettings { sample_rate: rate, holes }).unwrap()
}

/// What is said of each chord.
fn outcomes(
    (playing, chords): &(Playing, Vec<Chord>),
    microphone: &[f32],
    reference: Reference<'_>,
) -> Vec<ReedsOutcome> {
    let (mut left, mut masked, mut gate) = (Vec::new(), Vec::new(), Gate::new(RATE));
    let mut presence = Presence::default();
    listen(
        microphone,
        reference,
        |x| left.push(x),
        |remover, reading| {
            let gated = gate.pass(remover, reading);
            presence.hear(reading.known, gated.is_player);
            masked.extend(gated.masked);
        },
    );
    let factor = judged::ear().factor() as u64;
    let mut soundings: Vec<Sounding> = Vec::new();
    reeds(&playing.harp, RATE / factor as f64).push(&left, |mut sounding| {
        sounding.time *= factor;
        sounding.known *= factor;
        soundings.push(presence.only_player(sounding));
    });
    let judged = chords.iter().zip(&playing.played).map(|(chord, played)| {
        let target = ReedsTarget { breath: chord.breath, holes: chord.asked, hold_s: HOLD_S };
        let mut judge = ReedsJudge::new(target, RATE);
        let from = played.began.saturating_sub((BESIDE_S.0 * RATE) as u64);
        let until = played.ended + (BESIDE_S.1 * RATE) as u64;
        let within = soundings.iter().filter(|sounding| (from..until).contains(&sounding.time));
        let verdict = within.into_iter().find_map(|sounding| judge.hear(sounding)).or_else(|| judge.gap())?;
        let is_masked = masked.iter().any(|(a, b)| *a < played.released && *b > played.began);
        Some(if is_masked { verdict.hidden().outcome } else { verdict.outcome })
    });
    judged.map(|outcome| outcome.unwrap_or(ReedsOutcome::NotHeard)).collect()
}

#[test]
fn chords_over_a_band_are_told_as_without_it() {
    let Some(seed) = seed_by_hand() else { return };
    let seed = 100 * seed;
    for (echo_db, clip, rt60_s, delay_s) in CASES {
        let take = playing(seed);
        let playing = &take.0;
        let reference = band::band(&playing.harp, seed, (LASTS_S * RATE) as usize);
        let place = Place { rt60_s, delay_s, ppm: PPM, clip, echo_db, seed };
        let echo = place.echo(&reference, playing);
        let microphone = playing.over(&echo);
        let alone = outcomes(&take, &playing.samples, None);
        let over = outcomes(&take, &microphone, Some((&reference, Clocks { ppm: PPM, seed })));
        let cannot_tell = |outcome: &ReedsOutcome| matches!(outcome, ReedsOutcome::CannotTell(_));
        let mut right = [0; 4];
        let mut wrong = [0; 4];
        for ((chord, alone), over) in take.1.iter().zip(&alone).zip(&over) {
            let (of, is_so) = match chord.wrong {
                None => (&mut right, *over == ReedsOutcome::Right),
                Some(wrong_one) => (&mut wrong, *over == wrong_one),
            };
            let is_so_alone = chord.wrong.map_or(*alone == ReedsOutcome::Right, |wrong| *alone == wrong);
            of[0] += usize::from(is_so_alone);
            of[1] += usize::from(is_so);
            of[2] += usize::from(cannot_tell(over));
            of[3] += usize::from(!is_so && !cannot_tell(over));
            if !is_so && !cannot_tell(over) {
                println!(
                    "   {:?} {:?} {:?}: alone {alone:?}, over {over:?}",
                    chord.asked, chord.breath, chord.wrong
                );
            }
        }
        println!(
            "echo {echo_db:3} dB  driven {clip}  RT60 {rt60_s} s  {:2.0} ms: right and wrong ones: told so alone, over the band, cannot tell, told otherwise {right:?} {wrong:?}",
            delay_s * 1e3
        );
    }
}
