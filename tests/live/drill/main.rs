//! The whole path, live: the built program in a terminal, a microphone behind a real sound server, a player whose
//! errors are known, and a server that dies in the middle.
//!
//! Run it with `tests/live/with-sound-server cargo test --release --package bendwright --test live`.

#![allow(clippy::print_stdout, reason = "the figures are for whoever reads the run")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod band_runs;
mod by_ear;
mod cost;
mod devices;
mod living_room;
mod loudspeakers;
mod room_runs;
mod run;
#[path = "../../support/take.rs"]
mod take;
#[path = "../../support/terminal.rs"]
mod terminal;

use layout::{Harp, HarpKey};
use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;
use take::TRIES;
use terminal::{Terminal, bendwright};

/// How long a try may take from its first sound to its verdict on the screen.
const PATIENCE: Duration = Duration::from_secs(15);

/// The folder of the sound server; fails where there is none, because a live test that hears nothing shows nothing.
fn room() -> PathBuf {
    let room = env::var_os("BENDWRIGHT_LIVE_DIR");
    room.expect("no sound server: run this through tests/live/with-sound-server").into()
}

/// A data folder of its own for each start of the program: what one test played badly on purpose must not decide what
/// another is asked for, and nobody's own journal is touched.
fn fresh_data() -> PathBuf {
    static STARTED: AtomicUsize = AtomicUsize::new(0);
    room().join(format!("data-{}", STARTED.fetch_add(1, Ordering::Relaxed)))
}

/// The program with the environment that leads to the sound server.
fn live(arguments: &[&str], columns: u16, rows: u16) -> Terminal {
    let mut command = bendwright(arguments);
    for (name, value) in env::vars_os() {
        let name = name.to_string_lossy().into_owned();
        if ["PULSE", "XDG", "ALSA"].iter().any(|start| name.starts_with(start)) || name == "HOME" {
            command.env(name, value);
        }
    }
    command.env("XDG_DATA_HOME", fresh_data());
    Terminal::start(command, columns, rows)
}

/// Plays a recording into the room, to its end.
fn play(wav: &Path) {
    let status = Command::new("paplay").arg("--latency-msec=60").arg(wav).stderr(Stdio::null()).status();
    assert!(status.expect("paplay").success(), "paplay could not play");
}

fn server(order: &str) {
    let server = env::var("BENDWRIGHT_LIVE_SERVER").expect("the script of the sound server");
    assert!(Command::new(server).arg(order).status().expect("the script runs").success());
}

/// Tells the sound server something.
fn pactl(arguments: &[&str]) {
    assert!(Command::new("pactl").args(arguments).stdout(Stdio::null()).status().unwrap().success());
}

/// The verdict on the screen for this tab: the word and the signed cents it names.
fn verdict(screen: &str, tab: &str) -> Option<(String, f64)> {
    let words =
        ["landed", "short by", "past by", "flat by", "sharp by", "another note", "unsteady", "not heard"];
    for line in screen.lines() {
        let said = line.trim_start_matches(|c: char| !c.is_ascii_digit() && c != '-').strip_prefix(tab);
        let Some(said) = said.filter(|said| said.starts_with(' ')).map(str::trim) else { continue };
        let Some(word) = words.iter().find(|word| said.starts_with(**word)) else { continue };
        let number = said.split(|c: char| !c.is_ascii_digit()).find_map(|part| part.parse::<f64>().ok());
        let size = number.unwrap_or(0.0);
        // Words name the depth; a bend that is short is sharp, an overblow that is short is flat.
        let overbend = tab.contains('o');
        let flat = said.contains("flat")
            || (said.starts_with("short") && overbend)
            || (said.starts_with("past") && !overbend);
        let word = word.split(' ').next().unwrap_or(word).to_owned();
        return Some((word, if flat { -size } else { size }));
    }
    None
}

#[test]
fn twelve_tries_are_judged_rightly_and_a_dead_sound_server_loses_nothing() {
    let harp = Harp::richter(HarpKey::default());
    let drill = room().join("twelve.toml");
    // One item more than is played, so that the verdict on the last try stays to be read.
    fs::write(&drill, format!("{}\n[[item]]\nplay = \"-5\"\n", take::drill())).unwrap();
    let mut terminal = live(&["drill", drill.to_str().unwrap()], 100, 30);
    for (i, played) in TRIES.iter().enumerate() {
        let (tab, error, expected) = *played;
        let wav = room().join("try.wav");
        take::write(&wav, &take::samples_of(&harp, 48_000.0, i as u64, &[*played]), 48_000);
        terminal.wait_for(&format!("note {} of 13", i + 1));
        play(&wav);
        let screen = terminal
            .wait_until(&format!("a verdict on {tab}"), PATIENCE, |screen| verdict(screen, tab).is_some());
        let (word, cents) = verdict(&screen, tab).unwrap();
        println!("{tab:<6} played {error:+} cents off: {word}, {cents:+}");
        assert_eq!(word, expected, "{tab}:\n{screen}");
        assert!((cents - error).abs() < 3.0, "{tab} was played {error:+}:\n{screen}");
        if i == 5 {
            server("--stop");
            terminal.wait_for("gone");
            server("--start");
            terminal.wait_for("back");
        }
    }
    terminal.wait_for("note 13 of 13");
    terminal.type_keys("n");
    terminal.wait_for("of 12 landed");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
    assert!(terminal.screen().contains("4 of 12 landed"), "{}", terminal.screen());
}

/// The microphone of this room hears all that is played: a tone of ours is just what the drill asks for.
#[test]
fn a_tone_that_is_asked_for_is_not_heard_as_a_try() {
    let harp = Harp::richter(HarpKey::default());
    let drill = room().join("own-tone.toml");
    fs::write(&drill, "title = \"One\"\nhold = 0.5\n[[item]]\nplay = \"-3\"\n[[item]]\nplay = \"-4\"\n")
        .unwrap();
    let mut terminal = live(&["drill", drill.to_str().unwrap()], 100, 30);
    terminal.wait_for("note 1 of 2");
    // Twice, because the loudspeaker is opened for the first one.
    for _ in 0..2 {
        terminal.type_keys("r");
        std::thread::sleep(Duration::from_secs(3));
    }
    let screen = terminal.screen();
    assert!(screen.contains("note 1 of 2") && verdict(&screen, "-3").is_none(), "{screen}");
    let wav = room().join("own-tone.wav");
    take::write(&wav, &take::samples_of(&harp, 48_000.0, 1, &[("-3", 0.0, "landed")]), 48_000);
    play(&wav);
    terminal.wait_until("a verdict on -3", PATIENCE, |screen| verdict(screen, "-3").is_some());
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

/// Microphone and loudspeaker go away together while a tone of ours sounds in the middle of a drill, and come back.
#[test]
fn a_server_that_dies_under_a_tone_takes_neither_the_drill_nor_the_next_tone() {
    let harp = Harp::richter(HarpKey::default());
    let drill = room().join("under-a-tone.toml");
    fs::write(&drill, "title = \"Two\"\nhold = 0.5\n[[item]]\nplay = \"-3\"\n[[item]]\nplay = \"-4\"\n")
        .unwrap();
    let mut terminal = live(&["drill", drill.to_str().unwrap()], 100, 30);
    let try_at = |terminal: &Terminal, tab: &'static str| {
        let wav = room().join("under-a-tone.wav");
        take::write(&wav, &take::samples_of(&harp, 48_000.0, 1, &[(tab, 0.0, "landed")]), 48_000);
        play(&wav);
        terminal
            .wait_until(&format!("a verdict on {tab}"), PATIENCE, |screen| verdict(screen, tab).is_some());
    };
    terminal.wait_for("note 1 of 2");
    try_at(&terminal, "-3");
    terminal.wait_for("note 2 of 2");
    for _ in 0..2 {
        terminal.type_keys("r");
        std::thread::sleep(Duration::from_millis(900));
        server("--stop");
        terminal.wait_for("gone");
        server("--start");
        terminal.wait_for("back");
        let screen = terminal.screen();
        assert!(screen.contains("note 2 of 2"), "the tone was taken for a try:\n{screen}");
    }
    try_at(&terminal, "-4");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
    assert!(terminal.screen().contains("2 of 2 landed"), "{}", terminal.screen());
}

/// Here and not in `tests/terminal`, because these tests are the ones that run in a release build.
#[cfg(not(debug_assertions))]
#[test]
fn what_is_shipped_does_not_break_down_by_request() {
    let drill = room().join("no-fault.toml");
    fs::write(&drill, "title = \"One\"\n[[item]]\nplay = \"-3\"\ntries = 3\n").unwrap();
    for place in ["screen", "screen after a verdict", "listener"] {
        let mut command = bendwright(&["drill", drill.to_str().unwrap(), "--from", "player"]);
        command.env("BENDWRIGHT_FAULT", place);
        let mut terminal = Terminal::start(command, 80, 24);
        terminal.wait_for("note 1 of 1, try 2 of 3");
        terminal.type_keys("\x03");
        assert_eq!(terminal.wait_for_end(), 0, "{place}");
    }
}

#[test]
fn the_level_is_said_in_words() {
    let output =
        Command::new(env!("CARGO_BIN_EXE_bendwright")).args(["sound", "--seconds", "1"]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("inputs:") && said.contains("PulseAudio"), "{said}");
    assert!(said.contains("listening to"), "{said}");
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
}
