//! The command line without a screen: what it prints, on which stream, with which exit code.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod bad_input;
mod band;
mod choose;
mod chord_runs;
mod chords;
mod config;
#[path = "../support/disk.rs"]
mod disk;
mod drill;
mod ear;
mod heard;
mod jam;
mod journal;
mod journal_faults;
mod journal_moving;
mod journal_report;
mod kept;
mod listen;
mod map;
mod own_files;
mod phrase;
mod programme;
mod scale;
mod sheet;
#[path = "../support/take.rs"]
mod take;
mod track;
#[path = "../support/tried.rs"]
mod tried;

use std::path::Path;
use std::process::{Command, Output};

/// A home folder that does not exist and that nobody can make, root included, so that no test leaves anything behind in
/// it.
const NO_HOME: &str = "/proc/no-home";

/// What a run of the program said.
pub(crate) struct Run {
    /// Standard output.
    pub(crate) out: String,
    /// Standard error.
    pub(crate) err: String,
    /// Exit code, or −1 if a signal ended it.
    pub(crate) code: i32,
}

/// Runs the built binary with an environment of its own, in which nothing is remembered.
pub(crate) fn run(arguments: &[&str]) -> Run {
    run_in(Path::new(NO_HOME), arguments)
}

/// The same with a state folder.
pub(crate) fn run_in(state: &Path, arguments: &[&str]) -> Run {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    command.args(arguments).env_clear().env("HOME", NO_HOME).env("XDG_STATE_HOME", state);
    let Output { stdout, stderr, status } = command.output().expect("the program starts");
    Run {
        out: String::from_utf8(stdout).expect("UTF-8"),
        err: String::from_utf8(stderr).expect("UTF-8"),
        code: status.code().unwrap_or(-1),
    }
}

/// What a run printed on standard output, which has to go well.
pub(crate) fn printed(arguments: &[&str]) -> String {
    let run = run(arguments);
    assert_eq!(run.code, 0, "{arguments:?}: {}", run.err);
    run.out
}

/// The same as JSON of this schema.
pub(crate) fn json(arguments: &[&str], schema: &str) -> serde_json::Value {
    let value: serde_json::Value = serde_json::from_str(&printed(arguments)).expect("JSON");
    assert_eq!(value["schema"], schema);
    value
}

/// A path as the command line takes it.
pub(crate) fn text(path: &Path) -> &str {
    path.to_str().expect("a path in UTF-8")
}

#[test]
fn help_and_version_are_for_people() {
    let help = run(&["--help"]);
    assert_eq!(help.code, 0);
    for command in [
        "drill",
        "scale",
        "phrase",
        "listen",
        "programme",
        "map",
        "choose",
        "sheet",
        "track",
        "band",
        "sound",
        "config",
    ] {
        assert!(help.out.contains(command), "{}", help.out);
    }
    // `picture` makes the picture of the README and is of no use to a player.
    assert!(!help.out.contains("picture"), "{}", help.out);
    assert!(run(&["--version"]).out.starts_with("bendwright 0."));
}

#[test]
fn the_picture_of_the_readme_is_what_the_program_draws() {
    let picture = run(&["picture"]);
    assert_eq!(picture.code, 0, "{}", picture.err);
    let kept = include_str!("../../assets/drill.svg");
    assert!(picture.out == kept, "look at it anew: cargo run --release -- picture > assets/drill.svg");
}

#[test]
fn the_settings_of_the_readme_are_taken_without_a_word() {
    let readme = include_str!("../../README.md");
    let (_, from) = readme.split_once("```toml\n").expect("settings");
    let (settings, _) = from.split_once("```").expect("their end");
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), settings).unwrap();
    let run = run(&["--config", text(file.path()), "map"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
}

#[test]
fn completions_come_from_the_same_definition() {
    let bash = run(&["completions", "bash"]);
    assert!(bash.code == 0 && bash.out.contains("--harp"));
}

#[test]
fn a_full_screen_needs_a_terminal() {
    let run = run(&[]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("terminal") && run.err.contains("--plain"), "{}", run.err);
}

/// Every command that prints says so when it cannot.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_under_standard_output_is_said() {
    let printing: [&[&str]; 16] = [
        &["--help"],
        &["--version"],
        &["drill", "--help"],
        &["drill", "--list"],
        &["drill", "--example"],
        &["drill", "--plain", "--from", "player"],
        &["listen", "--json", "--from", "player"],
        &["map"],
        &["map", "--json"],
        &["choose", "--song-key", "A"],
        &["choose", "--song-key", "A", "--json"],
        &["sheet"],
        &["config"],
        &["config", "--show"],
        &["completions", "bash"],
        &["picture"],
    ];
    for arguments in printing {
        let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
        command.args(arguments).env_clear().env("HOME", NO_HOME).env("XDG_STATE_HOME", NO_HOME);
        let run = command.stdout(full).output().unwrap();
        let said = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(1), "{arguments:?}: {said}");
        assert!(said.contains("cannot write the output: No space left"), "{arguments:?}: {said}");
    }
}
