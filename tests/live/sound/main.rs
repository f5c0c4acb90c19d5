//! The sound crate against a real sound server. Run it with
//! `tests/live/with-sound-server cargo test -p sound --test live_sound`; without the server it says so and fails.
//!
//! Each case runs in a process of its own with a time limit, because the faults that are looked for are hangs, crashes
//! of C libraries, and processes that do not end.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros, clippy::print_stdout, clippy::print_stderr)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // a test without the usual harness

mod cases;
mod room;
mod sine;

use std::env;
use std::process::{Command, ExitCode, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// The longest that any case may take.
const LIMIT: Duration = Duration::from_secs(60);
/// Exit code of a case that failed on a measurement which a busy machine can spoil; it is tried once more.
const SPOILT: u8 = 75;

fn main() -> ExitCode {
    let arguments: Vec<String> = env::args().skip(1).collect();
    if arguments.iter().any(|argument| argument == "--list") {
        return ExitCode::SUCCESS;
    }
    if env::var_os("BENDWRIGHT_LIVE").is_none() {
        eprintln!(
            "This test needs a sound server: tests/live/with-sound-server cargo test -p sound --test live_sound"
        );
        return ExitCode::FAILURE;
    }
    if let Ok(name) = env::var("BENDWRIGHT_LIVE_CASE") {
        return cases::run(&name);
    }
    let wanted =
        |name: &str| arguments.is_empty() || arguments.iter().any(|part| name.contains(part.as_str()));
    let mut failed = 0;
    for name in cases::ALL.iter().filter(|name| wanted(name)) {
        let mut outcome = in_own_process(name);
        if outcome == Err(Some(SPOILT)) {
            println!("{name}: once more");
            outcome = in_own_process(name);
        }
        match outcome {
            Ok(took) => println!("{name}: ok, {took:.1?}"),
            Err(Some(code)) => println!("{name}: FAILED with exit code {code}"),
            Err(None) => println!("{name}: FAILED, killed after {LIMIT:?} or by a signal"),
        }
        failed += usize::from(outcome.is_err());
    }
    if failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn in_own_process(name: &str) -> Result<Duration, Option<u8>> {
    let began = Instant::now();
    let mut child = Command::new(env::current_exe().unwrap())
        .env("BENDWRIGHT_LIVE_CASE", name)
        .stdin(Stdio::null())
        .spawn()
        .unwrap();
    while began.elapsed() < LIMIT {
        if let Some(status) = child.try_wait().unwrap() {
            let failure = Err(status.code().map(|code| code as u8));
            return if status.success() { Ok(began.elapsed()) } else { failure };
        }
        thread::sleep(Duration::from_millis(10));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    Err(None)
}
