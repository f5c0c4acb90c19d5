//! The ways out: the terminal is given back, and what was practised is told.

use crate::terminal::{Terminal, bendwright, state};
use crate::{a_verdict, home};
use rustix::process::Signal;
use std::fs;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

/// How long the end may take where nothing can be waited for.
const AT_ONCE: Duration = Duration::from_secs(3);

#[test]
fn every_way_out_gives_the_terminal_back() {
    for (way, code) in [("q", 0), ("\x1b", 0), ("\x03", 0)] {
        let mut terminal = home();
        terminal.type_keys(way);
        assert_eq!(terminal.wait_for_end(), code, "{way:?}");
        assert!(terminal.is_given_back(), "{way:?}");
        assert_eq!(terminal.times_left(), 1, "{way:?}");
    }
}

/// The signals that end a process that does not catch them, by their numbers on Linux (signal(7)), less SIGKILL,
/// SIGPIPE (which every Rust program ignores) and those that a fault of the program itself raises: SIGILL, SIGFPE and
/// SIGSEGV. 34 and 64 are the first and the last real-time signal.
#[test]
fn every_signal_that_ends_the_program_gives_the_terminal_back() {
    let signals = [1, 2, 3, 5, 6, 7, 10, 12, 14, 15, 16, 24, 26, 27, 29, 30, 31, 34, 64];
    for some in signals.chunks(5) {
        let mut terminals: Vec<_> = some.iter().map(|signal| (*signal, home())).collect();
        for (signal, terminal) in &mut terminals {
            kill(*signal, terminal.pid());
            let code = terminal.wait_for_end_within(AT_ONCE);
            assert_eq!(code, 128 + *signal, "as shells have it");
            assert!(terminal.is_given_back(), "signal {signal}");
            assert_eq!(terminal.times_left(), 1, "signal {signal}");
        }
    }
}

fn kill(signal: u32, pid: u32) {
    let kill = format!("kill -{signal} {pid}");
    assert!(Command::new("sh").args(["-c", &kill]).status().unwrap().success());
}

/// The line takes 64 kB on Linux; then whoever writes to it waits for a reader.
#[test]
fn a_terminal_that_nobody_reads_holds_no_end_up() {
    let start = || Terminal::start(bendwright(&["drill", "--from", "player"]), 400, 120);
    let mut terminals = [Signal::TERM, Signal::HUP, Signal::INT].map(|signal| (signal, start()));
    for (_, terminal) in &terminals {
        a_verdict(terminal);
        terminal.read_no_more();
    }
    for i in 0..40 {
        for (_, terminal) in &terminals {
            terminal.resize(400 - i % 2, 120);
        }
        thread::sleep(Duration::from_millis(50));
    }
    for (signal, terminal) in &mut terminals {
        terminal.signal(*signal);
        let code = terminal.wait_for_end_within(AT_ONCE);
        assert_eq!(code, 128 + signal.as_raw().unsigned_abs());
        assert!(terminal.line_is_given_back(), "{signal:?}");
        // Somebody looks at last.
        terminal.read_again();
        terminal.wait_until("the terminal back", AT_ONCE, |screen| {
            terminal.is_given_back() && screen.contains(" landed")
        });
    }
}

#[test]
fn a_terminal_that_is_gone_ends_the_program() {
    let terminal = home();
    let pid = terminal.pid();
    drop(terminal.unplug());
    let end = Instant::now() + AT_ONCE;
    while state(pid).is_some_and(|state| state != 'Z') {
        assert!(Instant::now() < end, "the program outlives its terminal");
        thread::sleep(Duration::from_millis(50));
    }
}

/// A program that is not controlled by its terminal gets no SIGHUP from it.
#[test]
fn a_terminal_that_goes_without_a_word_ends_the_program_at_once_and_the_results_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let errors = folder.path().join("errors");
    let (binary, to) = (env!("CARGO_BIN_EXE_bendwright"), errors.display());
    let mut command = bendwright(&[]);
    *command.get_argv_mut() =
        ["/bin/sh", "-c", &format!("exec {binary} drill --from player 2>{to}")].map(Into::into).to_vec();
    command.set_controlling_tty(false);
    let terminal = Terminal::start(command, 80, 24);
    a_verdict(&terminal);
    let mut child = terminal.unplug();
    let end = Instant::now() + AT_ONCE;
    let code = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status.exit_code();
        }
        assert!(Instant::now() < end, "the program outlives its terminal");
        thread::sleep(Duration::from_millis(20));
    };
    let told = fs::read_to_string(errors).unwrap();
    assert!(told.contains("the terminal is gone") && told.contains(" landed"), "{told}");
    assert_eq!(code, 1);
}

#[cfg(debug_assertions)]
#[test]
fn a_panic_in_a_worker_leaves_the_screen_usable() {
    let mut command = bendwright(&["drill", "--from", "player"]);
    command.env("BENDWRIGHT_FAULT", "listener");
    let mut terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("listening failed inside the program");
    assert!(terminal.in_full_screen());
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
    assert!(terminal.is_given_back());
}

#[cfg(debug_assertions)]
#[test]
fn a_panic_of_the_screen_itself_gives_the_terminal_back_and_is_reported() {
    for (fault, told) in [("screen", "please report it"), ("screen after a verdict", "of 1 landed")] {
        let mut command = bendwright(&["drill", "--from", "player"]);
        command.env("BENDWRIGHT_FAULT", fault);
        let mut terminal = Terminal::start(command, 80, 24);
        assert_eq!(terminal.wait_for_end(), 101, "the code of a Rust program that panicked");
        assert!(terminal.is_given_back());
        assert_eq!(terminal.times_left(), 1);
        let screen = terminal.screen();
        assert!(screen.contains("please report it") && screen.contains(told), "{screen}");
        assert!(screen.contains(&format!("BENDWRIGHT_FAULT={fault}")), "{screen}");
    }
}
