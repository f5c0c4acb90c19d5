//! A speaker whose sound server takes calls and never answers.

#![cfg(target_os = "linux")]

use sound::{Generator, HostTime, Speaker, SpeakerEvent};
use std::os::unix::net::UnixListener;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

/// Set in the process that talks to the server: a process cannot safely change its own environment.
const INSIDE: &str = "BENDWRIGHT_SILENT_SERVER";

/// Longer than it takes to order a sound on the busiest machine, shorter than the two seconds that a server is given to
/// answer.
const AT_ONCE: Duration = Duration::from_secs(1);

struct Silence(f64);

impl Generator for Silence {
    fn sample_rate(&self) -> f64 {
        self.0
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        out.fill(0.0);
        out.len()
    }
}

fn order(speaker: &Speaker) {
    speaker.play(|rate| Ok(Box::new(Silence(rate))));
}

#[test]
fn nobody_waits_for_a_sound_server_that_hangs() {
    if std::env::var_os(INSIDE).is_some() {
        return orders_are_taken_at_once_and_answered_once();
    }
    let folder = tempfile::tempdir().unwrap();
    let socket = folder.path().join("socket");
    let server = UnixListener::bind(&socket).unwrap();
    let inside = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "speakers::nobody_waits_for_a_sound_server_that_hangs", "--nocapture"])
        .env(INSIDE, "1")
        .env("PULSE_SERVER", format!("unix:{}", socket.display()))
        .env("ALSA_CONFIG_PATH", "/nonexistent/alsa.conf")
        .output()
        .unwrap();
    drop(server);
    let said = String::from_utf8_lossy(&inside.stderr).into_owned();
    assert!(inside.status.success(), "{}{said}", String::from_utf8_lossy(&inside.stdout));
    assert!(!said.contains("ALSA lib"), "a library printed on standard error:\n{said}");
}

fn orders_are_taken_at_once_and_answered_once() {
    let began = Instant::now();
    let speaker = Speaker::new(None);
    for _ in 0..5 {
        order(&speaker);
        thread::sleep(Duration::from_millis(50));
    }
    assert!(began.elapsed() < AT_ONCE, "the orders took {:?}", began.elapsed());
    let now = HostTime::now();
    assert!(!speaker.own_sound().covers(now, now), "nothing sounds yet");
    let mut told = Vec::new();
    while told.is_empty() && began.elapsed() < Duration::from_secs(20) {
        told.extend(speaker.next_event());
        thread::sleep(Duration::from_millis(10));
    }
    assert!(matches!(told[..], [SpeakerEvent::NotOpened(_)]));
    thread::sleep(Duration::from_millis(500));
    assert!(speaker.next_event().is_none(), "five orders were answered more than once");

    // The next order tries again, and whoever leaves in the middle of it does not wait either.
    order(&speaker);
    thread::sleep(Duration::from_millis(300));
    let leaving = Instant::now();
    drop(speaker);
    assert!(leaving.elapsed() < AT_ONCE, "leaving took {:?}", leaving.elapsed());
}
