//! Odd terminals, and odd places to start in.

use crate::home;
use crate::terminal::{Terminal, bendwright};
use std::fs::File;
use std::process::{Command, Stdio};
use std::time::Duration;

#[test]
fn any_size_is_drawn() {
    let mut terminal = home();
    terminal.type_keys("\r");
    for (columns, rows) in [(60, 18), (39, 11), (1, 1), (400, 120), (80, 24)] {
        terminal.resize(columns, rows);
        std::thread::sleep(Duration::from_millis(120));
    }
    terminal.wait_for("hole");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

/// A picture of 65535 × 65535 cells would need some 200 GB.
#[test]
fn no_size_is_too_large() {
    let mut terminal = home();
    for (columns, rows) in [(u16::MAX, u16::MAX), (u16::MAX, 1), (1, u16::MAX)] {
        terminal.resize_unseen(columns, rows);
        std::thread::sleep(Duration::from_millis(300));
        assert_eq!(terminal.ended(), None, "{columns} × {rows}");
    }
    let peak = terminal.most_resident_kb().unwrap();
    assert!(peak < 200_000, "{peak} kB");
    terminal.resize(80, 24);
    terminal.wait_for("Bendwright");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

/// Serial lines and some containers say 0 × 0.
#[test]
fn a_terminal_that_does_not_know_its_size_has_the_usual_one() {
    let terminal = home();
    terminal.resize_unseen(81, 25);
    terminal.resize_unseen(0, 0);
    std::thread::sleep(Duration::from_millis(300));
    assert!(terminal.screen().contains("Bendwright"), "{}", terminal.screen());
    let mut fresh = Terminal::start_sized(bendwright(&["--from", "player"]), (80, 24), (0, 0));
    fresh.wait_for("Bendwright");
    fresh.type_keys("q");
    assert_eq!(fresh.wait_for_end(), 0);
}

#[test]
fn a_terminal_like_a_typewriter_gets_a_sentence() {
    for arguments in
        [&["--from", "player"][..], &["drill", "--from", "player"], &["listen", "--from", "player"]]
    {
        let mut command = bendwright(arguments);
        command.env("TERM", "dumb");
        let mut terminal = Terminal::start(command, 80, 24);
        assert_eq!(terminal.wait_for_end(), 2, "{arguments:?}");
        let screen = terminal.screen();
        assert!(screen.contains("--plain") && screen.contains("TERM"), "{screen}");
        assert_eq!(terminal.times_left(), 0, "nothing was sent that it would print");
    }
}

#[test]
fn no_folder_for_temporary_files_is_needed() {
    let folder = tempfile::tempdir().unwrap();
    let mut command = bendwright(&["--from", "player"]);
    command.env("TMPDIR", folder.path().join("gone"));
    let mut terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("Bendwright");
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
}

/// `/dev/full` takes no byte (full(4)).
#[test]
fn help_that_cannot_be_written_is_a_fault_of_the_world() {
    for argument in ["--help", "--version", "-h"] {
        let full = File::options().write(true).open("/dev/full").unwrap();
        let ended =
            Command::new(env!("CARGO_BIN_EXE_bendwright")).arg(argument).stdout(full).output().unwrap();
        assert_eq!(ended.status.code(), Some(1), "{argument}");
        let said = String::from_utf8(ended.stderr).unwrap();
        assert!(said.contains("cannot write the output"), "{argument}: {said}");
        let nobody =
            Command::new(env!("CARGO_BIN_EXE_bendwright")).arg(argument).stdout(Stdio::null()).status();
        assert_eq!(nobody.unwrap().code(), Some(0), "{argument} into nothing");
    }
}
