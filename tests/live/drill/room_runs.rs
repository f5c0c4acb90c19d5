//! Runs in a room from whose walls the click comes back, as loud as the harp: it begins no note, ends none and moves no
//! verdict. The room knows when each click arrived and each note began.

use crate::living_room::{LivingRoom, MICROPHONE, RATE};
use crate::room;
use layout::{Harp, HarpKey, TabStyle, Technique, Way};
use serde_json::Value;
use std::process::Command;
use synth::Gesture;

/// What is asked for: scale steps, a bend that is slurred from its natural reed, and a note that is struck again at
/// once.
const PHRASE: &str = r#"
title = "In the room"
bars = """
eighths -2 -3' 4 -4' -3' 4 -4' -4
eighths 4 -4' -4 -5 -4 to -4' -5 6
eighths 4 4 quarter -2 half rest
"""
"#;
const TABS: &str = "-2 -3' 4 -4' -3' 4 -4' -4 4 -4' -4 -5 -4 -4' -5 6 4 4 -2";
/// Level of the harp, and gain of the click from the loudspeaker to the microphone: the loudest moments of both are
/// about the same.
const HARP_DBFS: f64 = -15.0;
const GAIN: f64 = 2.2;
/// What the player does wrong: which note, and by how much of a note it is late or early.
const LATE: (usize, f64) = (3, 0.28);
const EARLY: (usize, f64) = (6, -0.27);
/// The share of its place that a note with its release may fill, so that neither a late note nor an early one pushes
/// another. At 140 beats a minute longer ones would, and then the player would not play what is meant.
const LONGEST: f64 = 0.71;
/// How long `synth` releases a note, seconds.
const RELEASE_S: f64 = 0.04;
const TWICE: usize = 10;
const MISSING: usize = 8;
const SHARP: usize = 9;
const WRONG: usize = 11;
/// A late note holds up the one behind it. A note that is meant to be in time and is off by more than this,
/// milliseconds, lies so near to the edge of the window that either verdict is right.
const AT_EDGE_MS: f64 = 30.0;
/// The onset of a note that begins under a click as loud as itself is dated within this, milliseconds.
const OFF_MS: f64 = 25.0;
/// Clicks stay on the beat, and delays are measured, within this, milliseconds.
const EXACT_MS: f64 = 2.0;
/// This note goes on into the next one, a bend, on one breath: the pitch slides for so long, seconds.
const SLURRED: usize = 12;
const SLIDE_S: f64 = 0.03;

pub(crate) fn way(tab: &str) -> Way {
    TabStyle::default().read_for(&Harp::richter(HarpKey::default()), tab).unwrap()
}

/// Something to be played: when, how, and which notes of the material it is, each so many seconds after its beginning;
/// no note if it is one too many.
type Deed = (f64, Gesture, Vec<(usize, f64)>);

fn deeds(eighth_s: f64) -> Vec<Deed> {
    let tabs: Vec<&str> = TABS.split(' ').collect();
    let mut deeds: Vec<Deed> = Vec::new();
    for (index, tab) in tabs.iter().enumerate() {
        let late_s = eighth_s
            * match index {
                index if index == LATE.0 => LATE.1,
                index if index == EARLY.0 => EARLY.1,
                _ => 0.0,
            };
        let at_s = eighth_s * index as f64 + late_s;
        let played = way(match index {
            WRONG => "-1",
            SLURRED => tabs[SLURRED + 1],
            _ => tab,
        });
        let bends = matches!(played.technique, Technique::Bend(_));
        let slides_s = if bends { SLIDE_S } else { 0.0 };
        let longest_s = LONGEST * eighth_s - slides_s - RELEASE_S;
        let held_s = if index == TWICE { 0.3 * eighth_s } else { longest_s.min(0.57 * eighth_s) };
        let note = Gesture::new(played).seconds(held_s).level(HARP_DBFS);
        let note = note.cents_off(if index == SHARP { 42.0 } else { 0.0 });
        let note = if bends { note.glide(SLIDE_S) } else { note };
        match index {
            MISSING => {}
            // The bend of a slur is played with its natural reed.
            index if index == SLURRED + 1 => {}
            SLURRED => {
                let stays_s = eighth_s - SLIDE_S / 2.0;
                deeds.push((at_s, note.dwell(stays_s), vec![(index, 0.0), (index + 1, eighth_s)]));
            }
            TWICE => {
                deeds.push((at_s, note.clone(), vec![(index, 0.0)]));
                deeds.push((at_s + 0.45 * eighth_s, note, Vec::new()));
            }
            _ => deeds.push((at_s, note, vec![(index, 0.0)])),
        }
    }
    deeds
}

pub(crate) fn bendwright(arguments: &[&str]) -> String {
    let state = room().join("state-of-the-room");
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    let output = command.args(arguments).args(["--device", MICROPHONE]).env("XDG_STATE_HOME", state).output();
    let output = output.unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
    said
}

/// The delay that is measured on request, milliseconds.
pub(crate) fn measured_ms() -> f64 {
    let said = bendwright(&["sound", "--delay"]);
    print!("{said}");
    said.strip_prefix("delay: ").unwrap().split(' ').next().unwrap().parse().unwrap()
}

/// What was told of a run.
struct Run {
    lines: Vec<Value>,
    /// How late each note of the material was played by the room, milliseconds; `None` for the one that was not.
    late_ms: Vec<Option<f64>>,
    /// How far the clicks arrived from the beat, milliseconds at most.
    off_beat_ms: f64,
}

impl Run {
    fn at(tempo: f64, in_room: &LivingRoom) -> Self {
        let (beat_s, eighth_s) = (60.0 / tempo, 30.0 / tempo);
        let deeds = deeds(eighth_s);
        in_room.play(beat_s, deeds.iter().map(|(at_s, gesture, _)| (*at_s, gesture.clone())).collect());
        let phrase = room().join("in-the-room.toml");
        std::fs::write(&phrase, PHRASE).unwrap();
        let tempo = tempo.to_string();
        let phrase = phrase.to_str().unwrap();
        let said = bendwright(&["phrase", phrase, "--json", "--runs", "1", "--tempo", &tempo]);
        let lines = said.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        let told = in_room.told.lock().unwrap();
        let mut late_ms = vec![None; TABS.split(' ').count()];
        for ((_, _, notes), began) in deeds.iter().zip(&told.began) {
            for (index, after_s) in notes {
                let due_s = 4.0 * beat_s + eighth_s * *index as f64;
                late_ms[*index] = Some(((*began as f64 - told.clicks[0]) / RATE + after_s - due_s) * 1000.0);
            }
        }
        let off = |(n, at): (usize, &f64)| (at - told.clicks[0]) / RATE - beat_s * n as f64;
        let off_beat_s = told.clicks.iter().enumerate().map(off).fold(0.0, |most: f64, s| most.max(s.abs()));
        Self { lines, late_ms, off_beat_ms: 1000.0 * off_beat_s }
    }

    fn of_kind<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = &'a Value> {
        self.lines.iter().filter(move |line| line["kind"] == kind)
    }

    /// What was said of how long the click takes to come back, milliseconds.
    fn comes_back_ms(&self) -> Option<f64> {
        let mut said = self.lines.iter().filter_map(|line| line["message"].as_str());
        let said = said.find_map(|said| said.strip_prefix("the click comes back after "))?;
        said.split(' ').next()?.parse().ok()
    }

    /// The outcome and the lateness that were told of each note; checked against what was played.
    fn judged(&self) -> Vec<(String, Option<f64>)> {
        let notes: Vec<&Value> = self.of_kind("note").collect();
        assert_eq!(notes.len(), self.late_ms.len(), "{:?}", self.lines);
        let mut worst = 0.0_f64;
        let judged = notes.iter().zip(&self.late_ms).enumerate().map(|(index, (note, truth))| {
            let outcome = note["outcome"].as_str().unwrap();
            let expected = match index {
                MISSING => "missing",
                WRONG => "another note",
                SHARP => "short",
                _ => "landed",
            };
            assert_eq!(outcome, expected, "note {index}: {note}");
            let told = note["late_ms"].as_f64();
            assert_eq!(told.is_some(), truth.is_some(), "note {index}: {note}");
            if let (Some(told), Some(truth)) = (told, truth) {
                println!("note {index}: {truth:.1} ms late, {told} told");
                worst = worst.max((told - truth).abs());
                assert!((told - truth).abs() <= OFF_MS, "note {index} was {truth} ms late: {note}");
            }
            let timing = note["timing"].as_str();
            let out = index == LATE.0 || index == EARLY.0;
            let at_edge = !out && truth.is_some_and(|truth| truth.abs() > AT_EDGE_MS);
            assert!(
                truth.is_none()
                    || at_edge
                    || timing.is_some_and(|timing| ["early", "late"].contains(&timing) == out),
                "note {index}: {note}"
            );
            (outcome.to_owned(), told)
        });
        let judged = judged.collect();
        println!("told times are {worst:.1} ms off at most; clicks {:.2} ms off the beat", self.off_beat_ms);
        assert!(
            self.off_beat_ms < EXACT_MS,
            "the clicks leave the microphone's beat by {} ms",
            self.off_beat_ms
        );
        let extra: Vec<&Value> = self.of_kind("extra").collect();
        assert_eq!(extra.len(), 1, "one note was played twice: {extra:?}");
        judged
    }
}

#[test]
fn a_click_that_comes_back_from_a_room_is_no_note_and_tells_its_delay() {
    let in_room = LivingRoom::open(&Harp::richter(HarpKey::default()));
    in_room.carries(0.023, GAIN);
    let loud = Run::at(100.0, &in_room);
    let judged = loud.judged();
    let told_ms = loud.comes_back_ms().expect("nothing is remembered, and the click comes back");
    let near_ms = measured_ms();
    assert!((told_ms - near_ms).abs() <= EXACT_MS, "{told_ms} ms by the click, {near_ms} ms by the chirps");
    in_room.carries(0.073, GAIN);
    let far_ms = measured_ms();
    assert!(
        (far_ms - near_ms - 50.0).abs() <= EXACT_MS,
        "50 ms more are measured as {far_ms} after {near_ms}"
    );
    // Nothing comes back of the click: what was measured before holds, and nothing is said.
    in_room.carries(0.073, 0.0);
    let silent = Run::at(100.0, &in_room);
    assert_eq!(silent.comes_back_ms(), None);
    for (index, (loud, silent)) in judged.iter().zip(silent.judged()).enumerate() {
        assert_eq!(loud.0, silent.0, "note {index}");
        let (Some(loud), Some(silent)) = (loud.1, silent.1) else { continue };
        assert!(
            (loud - silent).abs() <= OFF_MS,
            "note {index} is {loud} ms late with the click, {silent} without"
        );
    }
}

/// Takes some minutes: runs at the tempi that `BENDWRIGHT_ROOM_TEMPI` names, such as `60,140`.
#[test]
fn other_tempi_in_a_room() {
    let Ok(tempi) = std::env::var("BENDWRIGHT_ROOM_TEMPI") else { return };
    let in_room = LivingRoom::open(&Harp::richter(HarpKey::default()));
    for tempo in tempi.split(',').map(|tempo| tempo.parse().unwrap()) {
        for gain in [GAIN, 0.0] {
            in_room.carries(0.023, GAIN);
            let remembered = measured_ms();
            in_room.carries(0.023, gain);
            println!("{tempo} beats a minute, gain {gain}, {remembered} ms remembered");
            let run = Run::at(tempo, &in_room);
            run.judged();
            assert!(run.comes_back_ms().is_none_or(|ms| (ms - remembered).abs() <= EXACT_MS));
        }
    }
}
