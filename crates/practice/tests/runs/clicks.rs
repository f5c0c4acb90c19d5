//! The click of a run, as it reaches the microphone beside the harp: dry, or through a room.

use crate::deeds::{Deed, Does, Touch, sounds};
use crate::player::{Player, RATE};
use crate::{BLUES, harp, number, ways};
use layout::{ConcertPitch, Harp};
use oorandom::Rand64;
use pitch::{Ear, Settings};
use practice::run::{Material, Metre, Rhythm, Running, Swing, Tempo, Value, Weight};
use scoring::timed::{Notes, PlayedAt, RunVerdict};
use synth::{Accent, Beat, ClickTrack};

/// A click is over after this long, seconds; its room sounds on for [`ROOM_S`].
const CLICK_S: f64 = 0.06;
/// Reverberation time of a furnished room, seconds: the level falls by 60 dB in it.
const ROOM_S: f64 = 0.4;

/// The two clicks of a run: of the first beat of a bar, and of the others.
#[derive(Clone)]
pub(crate) struct Clicks {
    first: Vec<f32>,
    other: Vec<f32>,
}

impl Clicks {
    /// Clicks of this peak level, dBFS. In a room they are followed by as much sound from its walls as came directly,
    /// which is so at the critical distance.
    pub(crate) fn new(dbfs: f64, in_room: bool) -> Self {
        let sound = |accent| {
            let mut click = vec![0.0; (CLICK_S * RATE) as usize];
            ClickTrack::new(RATE, &[Beat { at_s: 0.0, accent }]).level(dbfs).fill(&mut click);
            if in_room { with_room(&click, ROOM_S, 7) } else { click }
        };
        Self { first: sound(Accent::First), other: sound(Accent::Other) }
    }

    /// Adds what sounds of them in a block that begins so many samples after the first beat of the run.
    pub(crate) fn add(&self, block: &mut [f32], from: f64, run: &Running) {
        for click in run.clicks(0) {
            let sound = if click.weight == Weight::First { &self.first } else { &self.other };
            let begins = (click.at_s * RATE - from).round();
            if begins >= block.len() as f64 || begins + (sound.len() as f64) < 0.0 {
                continue;
            }
            for (i, sample) in block.iter_mut().enumerate() {
                let at = i as f64 - begins;
                *sample += if at < 0.0 { 0.0 } else { sound.get(at as usize).copied().unwrap_or(0.0) };
            }
        }
    }
}

/// A sound and its room: noise that falls by 60 dB in the reverberation time and has the energy of the direct path
/// (Schroeder's statistical model of a room, JASA 37:409–412, 1965; from memory).
fn with_room(sound: &[f32], room_s: f64, seed: u128) -> Vec<f32> {
    let mut random = Rand64::new(seed);
    let mut room: Vec<f64> = (0..(room_s * RATE) as u32)
        .map(|n| {
            let fallen_db = 60.0 * f64::from(n) / (room_s * RATE);
            (2.0 * random.rand_float() - 1.0) * 10_f64.powf(-fallen_db / 20.0)
        })
        .collect();
    let energy = room.iter().map(|x| x * x).sum::<f64>().sqrt();
    for path in &mut room {
        *path /= energy;
    }
    room[0] += 1.0;
    let mut heard = vec![0.0; sound.len() + room.len()];
    for (at, path) in room.iter().enumerate() {
        for (sample, sound) in heard[at..].iter_mut().zip(sound) {
            *sample += (path * f64::from(*sound)) as f32;
        }
    }
    heard
}

/// The verdict on a blues scale in quarters, every note of which is played on its click to the sample, of this level.
fn on_the_click(harp: &Harp, touch: Touch, clicks: Option<Clicks>) -> RunVerdict {
    let quarters: Value = "quarters".parse().unwrap();
    let rhythm = Rhythm::new(Tempo::new(100.0).unwrap(), Metre::COMMON, quarters, Swing::STRAIGHT).unwrap();
    let scale = ways(harp, BLUES);
    let material = Material::of_ways("on the click".to_owned(), &scale, rhythm).unwrap();
    let deeds = vec![Deed { does: Does::Right, late_s: 0.0, other: scale[0] }; scale.len()];
    let player = Player { seed: 3, clicks };
    let played = player.play(harp, material, |asked| {
        sounds(harp, asked, &deeds, touch).into_iter().map(|meant| meant.sound).collect()
    });
    played.0.verdict
}

/// Notes are -18 dBFS. The click begins none and ends none, and no verdict changes, up to the level of the harp itself,
/// and beyond it where no room answers. The exercise is not told when the clicks sound.
#[test]
fn the_click_in_the_microphone_is_no_note_and_moves_no_verdict() {
    let all = number("BENDWRIGHT_CLICKS", 0) > 0;
    let keys: &[&str] = if all { &["low F", "G", "A", "C", "D", "high G"] } else { &["low F", "high G"] };
    let levels: &[f64] = if all { &[-38.0, -30.0, -24.0, -18.0, -12.0] } else { &[-30.0, -18.0] };
    println!(
        "| click dBFS | room | notes | verdicts changed | onset moved by, mean | most, ms | pitch moved by at most, cents |"
    );
    for (dbfs, in_room) in levels.iter().flat_map(|level| [(*level, false), (*level, true)]) {
        let clicks = Clicks::new(dbfs, in_room);
        let (mut notes, mut changed, mut moved_s, mut cents) = (0, 0, Vec::new(), 0.0_f64);
        for (key, touch) in keys.iter().flat_map(|key| [(key, Touch::Detached), (key, Touch::Joined)]) {
            let harp = harp(key);
            let alone = on_the_click(&harp, touch, None);
            let clicked = on_the_click(&harp, touch, Some(clicks.clone()));
            notes += alone.notes.len();
            changed += clicked.extra.len().abs_diff(alone.extra.len());
            for (before, after) in alone.notes.iter().zip(&clicked.notes) {
                changed +=
                    usize::from(before.is_right() != after.is_right() || before.timing != after.timing);
                let (Some(before), Some(after)) = (before.played, after.played) else { continue };
                moved_s.push(after.onset_s - before.onset_s);
                let hz = |played: PlayedAt| played.held.map_or(1.0, |(hz, _)| hz);
                cents = cents.max(1200.0 * (hz(after) / hz(before)).log2().abs());
            }
        }
        let mean_s = moved_s.iter().sum::<f64>() / moved_s.len() as f64;
        let most_s = moved_s.iter().fold(0.0_f64, |most, moved| most.max(moved.abs()));
        let room = if in_room { "0.4 s" } else { "none" };
        println!(
            "| {dbfs} | {room} | {notes} | {changed} | {:+.1} | {:.1} | {cents:.1} |",
            1e3 * mean_s,
            1e3 * most_s
        );
        let louder = in_room && dbfs > -18.0;
        assert!(louder || changed == 0, "{changed} of {notes} verdicts at {dbfs} dBFS, room {room}");
    }
}

/// Nobody plays, and every click comes back from a room, as loud as a harp. A click of a single pitch would become a
/// note there.
#[test]
fn a_click_in_a_rest_is_no_note() {
    let seeds = 1..=u128::from(number("BENDWRIGHT_CLICKS", 0).max(6));
    for seed in seeds {
        for room_s in [0.3, 0.5, 0.8] {
            let mut ear = Ear::new(Settings::new(RATE)).unwrap();
            let mut notes = Notes::new(RATE, 0.06);
            let mut heard = Vec::new();
            let (mut random, mut background) = (Rand64::new(seed), Rand64::new(seed + 1000));
            let mut air = vec![0.0_f32; (6.0 * RATE) as usize];
            for beat in 0..8 {
                let accent = if beat % 4 == 0 { Accent::First } else { Accent::Other };
                let mut click = vec![0.0; (CLICK_S * RATE) as usize];
                ClickTrack::new(RATE, &[Beat { at_s: 0.0, accent }]).level(-15.0).fill(&mut click);
                let at = ((0.5 + 0.6 * f64::from(beat) + 0.01 * random.rand_float()) * RATE) as usize;
                let wet = with_room(&click, room_s, seed);
                air[at..].iter_mut().zip(&wet).for_each(|(sample, click)| *sample += click);
            }
            for sample in &mut air {
                *sample += 3e-4 * (background.rand_float() as f32 - 0.5);
            }
            ear.push(&air, |reading| heard.extend(notes.hear(ConcertPitch::default(), &reading)));
            heard.extend(notes.end());
            assert!(heard.is_empty(), "room {seed} of {room_s} s: {:?}", heard[0].note);
        }
    }
}
