//! The sound crate against a real sound server. Run it with
//! `tests/live/with-sound-server cargo test -p sound --test live_sound`; without the server it says so and fails.
//!
//! Each case runs in a process of its own with a time limit, because the faults that are looked for are hangs, crashes
//! of C libraries, and processes that do not end.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros, clippy::print_stdout, clippy::print_stderr)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // a test without the usual harness

mod cases;
mod endurance;
mod loudspeaker;
mod room;
mod sine;
mod soak;

use std::env;
use std::process::{Command, ExitCode, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// The longest that any case may take.
const LIMIT: Duration = Duration::from_mins(2);
/// The same for a case that is long on purpose.
const LONG_LIMIT: Duration = Duration::from_hours(1);

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
    let named = |name: &str| arguments.iter().any(|part| name.contains(part.as_str()));
    let usual = cases::ALL.iter().filter(|name| arguments.is_empty() || named(name));
    let mut failed = 0;
    for name in usual.chain(cases::LONG.iter().filter(|name| named(name))) {
        let limit = if cases::LONG.contains(name) { LONG_LIMIT } else { LIMIT };
        let mut outcome = in_own_process(name, limit);
        // A sound server on a busy machine is late, or loses samples, now and then: what fails is tried once more, and
        // that is said.
        if let Err(code) = outcome {
            println!("{name}: failed with {code:?}, once more");
            outcome = in_own_process(name, limit);
        }
        match outcome {
            Ok(took) => println!("{name}: ok, {took:.1?}"),
            Err(Some(code)) => println!("{name}: FAILED with exit code {code}"),
            Err(None) => println!("{name}: FAILED, killed after {limit:?} or by a signal"),
        }
        failed += usize::from(outcome.is_err());
    }
    if failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn in_own_process(name: &str, limit: Duration) -> Result<Duration, Option<u8>> {
    let began = Instant::now();
    let mut child = Command::new(env::current_exe().unwrap())
        .env("BENDWRIGHT_LIVE_CASE", name)
        .stdin(Stdio::null())
        .spawn()
        .unwrap();
    while began.elapsed() < limit {
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
