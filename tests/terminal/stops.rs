//! Stopped and continued, by a key, by a signal and by a shell.

use crate::home;
use crate::terminal::{Terminal, bendwright, send_signal, state};
use rustix::process::Signal;
use std::fs;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

const SOON: Duration = Duration::from_secs(5);

fn wait_for_state(pid: u32, wanted: char) {
    let end = Instant::now() + SOON;
    while state(pid) != Some(wanted) {
        assert!(Instant::now() < end, "the process is {:?} and not {wanted}", state(pid));
        thread::sleep(Duration::from_millis(15));
    }
}

/// The picture is whole again, and keys are taken as they come.
fn is_back(terminal: &mut Terminal) {
    terminal.wait_until("the first screen again", SOON, |screen| {
        terminal.in_full_screen() && screen.contains("Bendwright") && screen.contains("q leave")
    });
    terminal.wait_until("the line taken again", SOON, |_| !terminal.line_is_given_back());
    assert!(!terminal.screen().contains("prompt"), "{}", terminal.screen());
}

#[test]
fn a_program_that_is_asked_to_stop_gives_the_terminal_back_until_it_goes_on() {
    for by_key in [true, false] {
        let mut terminal = home();
        if by_key {
            terminal.type_keys("\x1a");
        } else {
            terminal.signal(Signal::TSTP);
        }
        wait_for_state(terminal.pid(), 'T');
        // What it wrote before it stopped may still be on its way to this test.
        terminal.wait_until("the terminal back", SOON, |_| terminal.is_given_back());
        terminal.write("prompt $ ");
        terminal.signal(Signal::CONT);
        is_back(&mut terminal);
        terminal.type_keys("q");
        assert_eq!(terminal.wait_for_end(), 0);
        assert!(terminal.is_given_back());
    }
}

/// SIGSTOP cannot be caught, so the shell finds the terminal as it is.
#[test]
fn a_program_that_was_stopped_without_being_asked_draws_itself_again() {
    let mut terminal = home();
    for _ in 0..2 {
        terminal.signal(Signal::STOP);
        wait_for_state(terminal.pid(), 'T');
        terminal.set_line();
        terminal.write("\x1b[?1049lprompt $ ");
        assert!(terminal.screen().contains("prompt"));
        terminal.signal(Signal::CONT);
        is_back(&mut terminal);
    }
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
    assert!(terminal.is_given_back());
}

/// A shell with job control, and the program as its job; the number of its process.
fn in_a_shell(folder: &Path) -> (Terminal, u32) {
    let mut command = bendwright(&[]);
    *command.get_argv_mut() = ["/bin/bash", "--norc", "--noprofile", "-i"].map(Into::into).to_vec();
    command.env("PS1", "prompt$ ");
    command.env("PATH", std::env::var("PATH").unwrap());
    let mut terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("prompt$");
    let (binary, number) = (env!("CARGO_BIN_EXE_bendwright"), folder.join("number"));
    terminal.type_keys(&format!("sh -c 'echo $$ >{}; exec {binary} --from player'\r", number.display()));
    terminal.wait_for("q leave");
    let pid = fs::read_to_string(number).unwrap().trim().parse().unwrap();
    (terminal, pid)
}

/// What the shell says after `echo`, so that what was typed is not taken for the answer.
fn shell_answers(terminal: &mut Terminal) {
    terminal.type_keys("echo $((6 * 7))is\r");
    terminal.wait_until("the shell to answer", SOON, |screen| screen.contains("42is"));
}

#[test]
fn a_shell_stops_it_and_brings_it_back() {
    let folder = tempfile::tempdir().unwrap();
    let (mut terminal, pid) = in_a_shell(folder.path());
    for stop in [Signal::TSTP, Signal::STOP] {
        send_signal(pid, stop);
        wait_for_state(pid, 'T');
        shell_answers(&mut terminal);
        terminal.type_keys("fg\r");
        terminal.wait_until("the first screen again", SOON, |screen| {
            screen.contains("q leave") && !screen.contains("42is")
        });
    }
    terminal.type_keys("q");
    terminal.wait_until("the shell", SOON, |screen| !terminal.in_full_screen() && screen.contains("prompt$"));
    shell_answers(&mut terminal);
}

/// In the background it neither draws nor reads, and a signal ends it there.
#[test]
fn it_waits_in_the_background_and_can_be_ended_there() {
    let folder = tempfile::tempdir().unwrap();
    let (mut terminal, pid) = in_a_shell(folder.path());
    for stop in [Signal::TSTP, Signal::STOP] {
        send_signal(pid, stop);
        wait_for_state(pid, 'T');
        shell_answers(&mut terminal);
        terminal.type_keys("clear; bg\r");
        // It goes on for a moment, and stops again by itself.
        thread::sleep(Duration::from_millis(300));
        wait_for_state(pid, 'T');
        shell_answers(&mut terminal);
        assert!(!terminal.screen().contains("q leave"), "{}", terminal.screen());
    }
    terminal.type_keys("kill %1\r");
    let end = Instant::now() + SOON;
    while state(pid).is_some_and(|state| state != 'Z') {
        assert!(Instant::now() < end, "a signal does not end it in the background");
        thread::sleep(Duration::from_millis(20));
    }
    shell_answers(&mut terminal);
    assert!(!terminal.in_full_screen());
}
