//! Runs while something happens to the loudspeaker: there is none, what is played is sent to another one, it goes away
//! by itself and comes back. The microphone hears nothing, so that every note is missing, and goes on whatever becomes
//! of the loudspeaker.

use crate::run::{RATE, Recorder, binary, clicks_in, wait_for_click};
use crate::{live, pactl, room, server};
use std::fs::{self, File};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// Five bars of quarter notes, of which the last has one.
const RUN: [&str; 11] = [
    "scale", "--json", "--runs", "1", "--order", "fours", "--values", "quarters", "--device", "deaf",
    "--tempo",
];
const NOTES: usize = 17;

/// A microphone that hears nothing. When it is dropped, another server begins afresh, whatever was done to this one.
struct Deaf;

impl Deaf {
    fn open() -> Self {
        pactl(&["load-module", "module-null-source", "source_name=deaf"]);
        Self
    }
}

impl Drop for Deaf {
    fn drop(&mut self) {
        server("--stop");
        server("--start");
    }
}

/// What `pactl list short KIND` says.
fn listed(kind: &str) -> String {
    let output = Command::new("pactl").args(["list", "short", kind]).output().unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// A sink that is kept busy as that of the script is, so that recording from it begins as soon.
struct Sink(Child);

impl Sink {
    fn open(name: &str) -> Self {
        pactl(&["load-module", "module-null-sink", &format!("sink_name={name}"), "rate=48000"]);
        let silence = Stdio::from(File::open("/dev/zero").unwrap());
        let mut pacat = Command::new("pacat");
        pacat.args(["--raw", "--latency-msec=40", &format!("--device={name}")]);
        Self(pacat.stdin(silence).stderr(Stdio::null()).spawn().expect("pacat"))
    }
}

impl Drop for Sink {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn remove_sinks() {
    for module in listed("modules").lines().filter(|line| line.contains("module-null-sink")) {
        pactl(&["unload-module", module.split('\t').next().unwrap()]);
    }
}

fn start(tempo: &str, lines: &str) -> Child {
    let mut command = binary(&[&RUN[..], &[tempo]].concat());
    command.stdout(File::create(room().join(lines)).unwrap()).spawn().unwrap()
}

/// What the program said, once it has ended.
fn said(mut program: Child, lines: &str) -> String {
    let end = Instant::now() + Duration::from_secs(30);
    while program.try_wait().unwrap().is_none() {
        assert!(Instant::now() < end, "the run does not end");
        thread::sleep(Duration::from_millis(50));
    }
    assert!(program.wait().unwrap().success());
    let text = fs::read_to_string(room().join(lines)).unwrap();
    let of_kind =
        |kind: &str| text.lines().filter(|line| line.contains(&format!("\"kind\":\"{kind}\""))).count();
    assert_eq!((of_kind("note"), of_kind("run")), (NOTES, 1), "{text}");
    text
}

fn wait_until(moment: Instant) {
    thread::sleep(moment.saturating_duration_since(Instant::now()));
}

#[test]
fn without_a_loudspeaker_the_beat_is_on_the_screen() {
    let _deaf = Deaf::open();
    remove_sinks();
    let mut terminal = live(&["scale", "--runs", "1", "--tempo", "200", "--device", "deaf"], 80, 24);
    terminal.wait_for("No click, but the beat is on the screen");
    // The run goes by without a key.
    terminal.wait_for("only the weak bars");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

#[test]
fn a_run_that_is_sent_to_another_loudspeaker_counts_in_again_and_keeps_its_results() {
    let _deaf = Deaf::open();
    let _other = Sink::open("other");
    let program = start("240", "moved.jsonl");
    let recorder = Recorder::of("room");
    let (_, first) = wait_for_click(&recorder);
    let recorded = Recorder::of("other");
    // The count-in and two bars are over, and two beats of the third.
    wait_until(first + Duration::from_millis(1_000 + 2_000 + 600));
    let inputs = listed("sink-inputs");
    // Those before it keep the sinks busy.
    let index = inputs.lines().last().and_then(|line| line.split('\t').next()).expect("the program plays");
    pactl(&["move-sink-input", index, "other"]);
    let text = said(program, "moved.jsonl");
    assert!(text.contains("to another loudspeaker from now on"), "{text}");
    // A count-in, the bar that was broken off, and what is left of the run.
    let clicks = clicks_in(&recorded.samples());
    assert!((15..=18).contains(&clicks.len()), "{} clicks: {clicks:?}", clicks.len());
}

#[test]
fn a_loudspeaker_that_goes_away_alone_is_told_and_takes_up_the_beat_when_it_is_back() {
    let _deaf = Deaf::open();
    let program = start("120", "gone.jsonl");
    let recorder = Recorder::of("room");
    let (_, first) = wait_for_click(&recorder);
    // In the second bar.
    wait_until(first + Duration::from_millis(2_000 + 2_000 + 600));
    remove_sinks();
    drop(recorder);
    thread::sleep(Duration::from_millis(1_200));
    let _room = Sink::open("room");
    let recorder = Recorder::of("room");
    let (at, again) = wait_for_click(&recorder);
    let text = said(program, "gone.jsonl");
    assert!(text.contains("is gone; what comes next sounds when there is a loudspeaker again"), "{text}");
    let beats = again.duration_since(first).as_secs_f64() / 0.5;
    println!("the click is back {beats:.2} beats after the first");
    assert!((beats - beats.round()).abs() < 0.2, "{beats} beats");
    for pair in clicks_in(&recorder.samples()).windows(2) {
        let apart_s = (pair[1] - pair[0]) as f64 / RATE;
        assert!((apart_s - 0.5).abs() < 0.03, "{apart_s} s from click to click, from {at} on");
    }
}
