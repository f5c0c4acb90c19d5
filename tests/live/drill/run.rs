//! A run in time, live: the click sounds from the loudspeaker, a player with known faults plays to it, and all of it
//! comes back through the microphone. A recording of the room beside the program tells when what was heard.

use crate::{room, take};
use layout::{Harp, HarpKey, TabStyle, Technique, Way};
use serde_json::Value;
use std::env;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};
use synth::{Gesture, SimulatedPlayer};

pub(crate) const RATE: f64 = 48_000.0;
const BLUES: &str = "-2 -3' 4 -4' -4 -5 6 -5 -4 -4' 4 -3' -2";
/// Eighths at 100 beats a minute.
const BEAT_S: f64 = 0.6;
const EIGHTH_S: f64 = 0.3;
/// Clicks of the count-in.
const COUNT_IN: usize = 4;
/// Quiet before the first note of the player's recording, seconds.
const LEAD_S: f64 = 0.5;

/// What the player does wrong: at which note, and how many seconds late it is where that is the fault.
const LATE: (usize, f64) = (3, 0.085);
const EARLY: (usize, f64) = (6, -0.080);
const MISSING: usize = 8;
const WRONG: usize = 9;
const SHARP: usize = 11;

fn ways() -> Vec<Way> {
    let harp = Harp::richter(HarpKey::default());
    BLUES.split(' ').map(|tab| TabStyle::default().read_for(&harp, tab).unwrap()).collect()
}

/// How late each note is played, seconds; `None` for the one that is left out.
fn lateness(index: usize) -> Option<f64> {
    match index {
        MISSING => None,
        index if index == LATE.0 => Some(LATE.1),
        index if index == EARLY.0 => Some(EARLY.1),
        _ => Some(0.0),
    }
}

/// The run as the player plays it, and the sample at which each note begins; `None` for the one that is left out.
fn played() -> (Vec<f32>, Vec<Option<u64>>) {
    let harp = Harp::richter(HarpKey::default());
    let mut player = SimulatedPlayer::new(&harp, RATE, 11);
    let mut begins = Vec::new();
    for (index, way) in ways().into_iter().enumerate() {
        let Some(late) = lateness(index) else {
            begins.push(None);
            continue;
        };
        let way = if index == WRONG { TabStyle::default().read_for(&harp, "-1").unwrap() } else { way };
        let cents = if index == SHARP { 42.0 } else { 0.0 };
        let note = Gesture::new(way).cents_off(cents).seconds(0.17).level(-15.0);
        let note = if matches!(way.technique, Technique::Bend(_)) { note.glide(0.03) } else { note };
        // A note begins when the late one before it has ended.
        let played = player.play_at(&note, (LEAD_S + EIGHTH_S * index as f64 + late) * RATE).unwrap();
        begins.push(Some(played.began));
    }
    let mut samples = Vec::new();
    while !player.is_idle() {
        let mut block = [0.0; 480];
        player.fill(&mut block);
        samples.extend(block);
    }
    (samples, begins)
}

pub(crate) fn binary(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    command.args(arguments).env("XDG_DATA_HOME", crate::fresh_data());
    command
}

/// What the room sounds, as it is recorded.
pub(crate) struct Recorder {
    file: PathBuf,
    process: Child,
}

impl Recorder {
    fn start() -> Self {
        Self::of("room")
    }

    /// Of a sink of this name.
    pub(crate) fn of(sink: &str) -> Self {
        let file = room().join(format!("{sink}.raw"));
        let out = File::create(&file).unwrap();
        let monitor = format!("{sink}.monitor");
        let arguments = [
            "-d",
            &monitor,
            "--raw",
            "--format=float32le",
            "--rate=48000",
            "--channels=1",
            "--latency-msec=10",
        ];
        let process = Command::new("parec").args(arguments).stdout(out).spawn().expect("parec");
        Self { file, process }
    }

    pub(crate) fn samples(&self) -> Vec<f32> {
        let bytes = fs::read(&self.file).unwrap();
        bytes.chunks_exact(4).map(|four| f32::from_le_bytes(four.try_into().unwrap())).collect()
    }
}

impl Drop for Recorder {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The first sample that is louder than silence, from `from` on.
fn first_sound(samples: &[f32], from: usize) -> Option<usize> {
    samples.iter().skip(from).position(|x| x.abs() > 0.004).map(|at| from + at)
}

/// Where a note is in what the room sounded, samples: the lag at which the two correlate most, within `reach` samples
/// of where it is looked for. A busy machine can hold up the player of recordings in the middle, so each note is looked
/// for.
fn found_in(room: &[f32], note: &[f32], near: usize, reach: usize) -> usize {
    let product = |lag: usize| -> f64 {
        let pairs = room[lag.min(room.len())..].iter().zip(note);
        pairs.map(|(x, y)| f64::from(*x) * f64::from(*y)).sum()
    };
    // A period of the highest note is 60 samples, so steps of four samples come near to the peak; the rest is found
    // sample by sample.
    let lags = near.saturating_sub(reach)..near + reach;
    let coarse = lags.step_by(4).max_by(|a, b| product(*a).total_cmp(&product(*b))).unwrap();
    (coarse.saturating_sub(4)..coarse + 5).max_by(|a, b| product(*a).total_cmp(&product(*b))).unwrap()
}

pub(crate) fn wait_for_click(recorder: &Recorder) -> (usize, Instant) {
    let end = Instant::now() + Duration::from_secs(20);
    loop {
        let samples = recorder.samples();
        if let Some(at) = first_sound(&samples, 0) {
            // Now is the end of what was recorded.
            let ago = (samples.len() - at) as f64 / RATE;
            return (at, Instant::now().checked_sub(Duration::from_secs_f64(ago)).unwrap());
        }
        assert!(Instant::now() < end, "no click is heard");
        thread::sleep(Duration::from_millis(20));
    }
}

fn play_at(wav: &Path, at: Instant) -> Child {
    thread::sleep(at.saturating_duration_since(Instant::now()));
    Command::new("paplay").arg("--latency-msec=200").arg(wav).stderr(Stdio::null()).spawn().expect("paplay")
}

#[test]
fn a_run_is_played_to_the_click_and_judged_note_by_note() {
    let delay = binary(&["sound", "--delay"]).output().unwrap();
    let said = String::from_utf8_lossy(&delay.stdout).into_owned();
    print!("{said}");
    assert!(said.starts_with("delay: "), "{said}{}", String::from_utf8_lossy(&delay.stderr));
    let wav = room().join("run.wav");
    let (own, begins) = played();
    take::write(&wav, &own, 48_000);

    let recorder = Recorder::start();
    let lines = room().join("run.jsonl");
    let arguments =
        ["scale", "--json", "--runs", "1", "--tempo", "100", "--position", "2", "--scale", "blues"];
    let mut program = binary(&arguments).stdout(File::create(&lines).unwrap()).spawn().unwrap();
    let (click, heard) = wait_for_click(&recorder);
    let first_beat = heard + Duration::from_secs_f64(BEAT_S * COUNT_IN as f64);
    // A player of recordings takes a moment to begin.
    let mut paplay = play_at(&wav, first_beat.checked_sub(Duration::from_secs_f64(LEAD_S + 0.09)).unwrap());
    assert!(program.wait().unwrap().success());
    paplay.wait().unwrap();

    let room = recorder.samples();
    drop(recorder);
    let beat = click as f64 + BEAT_S * COUNT_IN as f64 * RATE;
    let text = fs::read_to_string(&lines).unwrap();
    let notes: Vec<Value> = text
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .filter(|line| line["kind"] == "note")
        .collect();
    assert_eq!(notes.len(), 13, "{text}");
    for said in text.lines().filter(|line| line.contains("message")) {
        println!("{said}");
    }
    // How late the player of recordings is, seconds.
    let (mut worst, mut shift_s) = (0.0_f64, 0.0);
    for (index, note) in notes.iter().enumerate() {
        let outcome = note["outcome"].as_str().unwrap();
        let Some(begins) = begins[index] else {
            assert_eq!((outcome, note["late_ms"].is_null()), ("missing", true), "{note}");
            continue;
        };
        let expected = match index {
            WRONG => "another note",
            SHARP => "short",
            _ => "landed",
        };
        assert_eq!(outcome, expected, "note {index}: {note}");
        let late_s = begins as f64 / RATE - LEAD_S - EIGHTH_S * index as f64;
        let sounds = &own[begins as usize..begins as usize + (0.2 * RATE) as usize];
        let asked = beat + EIGHTH_S * index as f64 * RATE;
        let found =
            found_in(&room, sounds, (asked + (late_s + shift_s) * RATE) as usize, (0.12 * RATE) as usize);
        let truth_s = (found as f64 - asked) / RATE;
        shift_s = truth_s - late_s;
        println!("note {index}: {:.1} ms late by the recording, {} told", truth_s * 1000.0, note["late_ms"]);
        let error = note["late_ms"].as_f64().unwrap() - 1000.0 * truth_s;
        worst = worst.max(error.abs());
        assert!(error.abs() <= 25.0, "note {index} is told {error} ms off: {note}");
    }
    println!("told times differ from what the room recorded by {worst:.1} ms at most");
}

/// The model sounds through the loudspeaker, in time and not loud, before the count-in; the microphone that hears all
/// of it hears no player.
#[test]
fn a_run_is_played_to_the_player_first_and_none_of_that_is_judged() {
    let recorder = Recorder::start();
    // The blues scale up and down: two bars of 4/4.
    let arguments = ["scale", "--hear", "--json", "--runs", "1", "--tempo", "120"];
    let out = binary(&arguments).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let room = recorder.samples();
    drop(recorder);
    let text = String::from_utf8(out.stdout).unwrap();
    let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let of_kind = |kind: &str| lines.iter().filter(|line| line["kind"] == kind).collect::<Vec<_>>();
    assert_eq!((of_kind("model").len(), of_kind("note").len(), of_kind("extra").len()), (1, 13, 0), "{text}");
    // As long as it is not known how the model comes back, a player may have been hidden by it.
    let nothing = |note: &&Value| note["outcome"] == "missing" || note["outcome"] == "cannot tell";
    assert!(of_kind("note").iter().all(nothing), "{text}");
    let begins = first_sound(&room, 0).expect("the model sounds");
    // Thirteen notes a quarter of a second apart: between two of them it is fainter than within.
    let loudness = |at_s: f64, seconds: f64| {
        let from = begins + (at_s * RATE) as usize;
        let part = &room[from..from + (seconds * RATE) as usize];
        (part.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / part.len() as f64).sqrt()
    };
    for note in 0..12 {
        let at_s = 0.25 * f64::from(note);
        let (within, between) = (loudness(at_s + 0.1, 0.05), loudness(at_s + 0.245, 0.005));
        assert!(within > 0.02 && between < 0.5 * within, "note {note}: {within} and {between}");
    }
    let peak = room.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
    let dbfs = 20.0 * peak.log10();
    println!("the loudest sample is at {dbfs:.1} dBFS");
    assert!(dbfs <= -12.0, "{dbfs} dBFS");
    // Behind it a pause, and then the clicks of the count-in.
    let quiet_from = begins + (4.1 * RATE) as usize;
    let click = first_sound(&room, quiet_from).expect("the count-in comes");
    assert!(
        click - quiet_from > (0.4 * RATE) as usize,
        "the count-in comes {} samples after",
        click - quiet_from
    );
}

/// The beginnings of the clicks in what the room sounded, samples.
pub(crate) fn clicks_in(room: &[f32]) -> Vec<usize> {
    let mut clicks: Vec<usize> = Vec::new();
    for at in (0..room.len()).filter(|at| room[*at].abs() > 0.004) {
        // A click lasts for 60 ms, and the next beat is 250 ms away.
        if clicks.last().is_none_or(|last| at - last > (0.1 * RATE) as usize) {
            clicks.push(at);
        }
    }
    clicks
}

/// Five bars of quarter notes at 240 beats a minute; nobody plays.
#[test]
fn a_server_that_dies_in_bar_five_does_not_end_the_run() {
    let lines = room().join("broken.jsonl");
    let arguments =
        ["scale", "--json", "--runs", "1", "--tempo", "240", "--order", "fours", "--values", "quarters"];
    let mut program = binary(&arguments).stdout(File::create(&lines).unwrap()).spawn().unwrap();
    let recorder = Recorder::start();
    let (_, first) = wait_for_click(&recorder);
    // The count-in and four bars are over, a beat of the fifth has gone.
    let dies = first + Duration::from_millis(1_000 + 4_000 + 300);
    thread::sleep(dies.saturating_duration_since(Instant::now()));
    let before = clicks_in(&recorder.samples()).len();
    crate::server("--stop");
    drop(recorder);
    assert!((20..=22).contains(&before), "{before} clicks in five bars and a beat");
    thread::sleep(Duration::from_millis(500));
    crate::server("--start");
    let recorder = Recorder::start();
    let end = Instant::now() + Duration::from_secs(30);
    while program.try_wait().unwrap().is_none() {
        assert!(Instant::now() < end, "the run does not end: {}", fs::read_to_string(&lines).unwrap());
        thread::sleep(Duration::from_millis(50));
    }
    assert!(program.wait().unwrap().success());
    let text = fs::read_to_string(&lines).unwrap();
    assert!(text.contains("the microphone is gone") && text.contains("is back"), "{text}");
    let of_kind =
        |kind: &str| text.lines().filter(|line| line.contains(&format!("\"kind\":\"{kind}\""))).count();
    assert_eq!((of_kind("note"), of_kind("run")), (17, 1), "{text}");
    // It counts in again, for the bar that was broken off: four beats, and the four of that bar. The clocks of streams
    // that have just been opened are known within some ten milliseconds.
    let again = clicks_in(&recorder.samples());
    println!("{before} clicks before, {} after", again.len());
    assert!((7..=8).contains(&again.len()), "{} clicks: {again:?}", again.len());
    for pair in again.windows(2) {
        let apart_s = (pair[1] - pair[0]) as f64 / RATE;
        assert!((apart_s - 0.25).abs() < 0.03, "{apart_s} s from click to click: {again:?}");
    }
}
