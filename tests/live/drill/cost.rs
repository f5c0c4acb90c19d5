//! What the running program takes: printed for the closing note and the release checklist; only the bounds that hold
//! on any machine are asserted.

use crate::living_room::{LivingRoom, MICROPHONE};
use crate::terminal::Terminal;
use crate::{band_runs, live, play, room, take};
use layout::{Harp, HarpKey};
use rustix::process::Signal;
use std::fs;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// User and system time of a process so far, seconds.
fn cpu_seconds(pid: u32) -> f64 {
    let stat = fs::read_to_string(format!("/proc/{pid}/stat")).unwrap();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
    // utime and stime are fields 14 and 15 of proc(5), the 12th and 13th after the name; a tick is 10 ms on Linux.
    let ticks = |i: usize| fields[i].parse::<f64>().unwrap();
    (ticks(11) + ticks(12)) / 100.0
}

fn resident_mib(pid: u32) -> f64 {
    let status = fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse::<f64>().unwrap() / 1024.0
}

/// A drill that does not end while it is watched.
fn endless() -> PathBuf {
    let path = room().join("endless.toml");
    let items = "[[item]]\nplay = \"-3'\"\ntries = 20\n".repeat(50);
    fs::write(&path, format!("title = \"Endless\"\n{items}")).unwrap();
    path
}

fn first_frame() -> (Terminal, Duration) {
    let drill = endless();
    let start = Instant::now();
    let terminal = live(&["drill", drill.to_str().unwrap()], 80, 24);
    while !terminal.screen().contains("hole") {
        assert!(start.elapsed() < Duration::from_secs(10), "no first frame:\n{}", terminal.screen());
        std::thread::sleep(Duration::from_millis(1));
    }
    (terminal, start.elapsed())
}

/// How long the drill runs: `BENDWRIGHT_SOAK_SECONDS`, or long enough for a figure.
fn soak() -> Duration {
    let asked = std::env::var("BENDWRIGHT_SOAK_SECONDS").ok().and_then(|text| text.parse().ok());
    Duration::from_secs(asked.unwrap_or(20))
}

#[test]
fn the_cost_of_a_running_drill() {
    let (terminal, first) = first_frame();
    let harp = Harp::richter(HarpKey::default());
    let wav = room().join("cost.wav");
    take::write(&wav, &take::samples(&harp, 48_000.0, 3)[..48_000 * 20], 48_000);
    std::thread::sleep(Duration::from_secs(1));
    let (cpu, start) = (cpu_seconds(terminal.pid()), Instant::now());
    while start.elapsed() < soak() {
        play(&wav);
        assert!(!terminal.screen().contains("lost"), "{}", terminal.screen());
    }
    let seconds = start.elapsed().as_secs_f64();
    let share = (cpu_seconds(terminal.pid()) - cpu) / seconds;
    let resident = resident_mib(terminal.pid());
    assert!(terminal.screen().contains("hole 3"), "the drill is over:\n{}", terminal.screen());
    println!(
        "first frame after {} ms; over {seconds:.0} s {:.1} % of one core, {resident:.1} MiB resident, no sample lost",
        first.as_millis(),
        share * 100.0
    );
    assert!(resident < 40.0, "{resident} MiB resident");
}

/// The program sounds a band, takes it out of what a room makes of it, hears the player, and draws; in chords the ear
/// for reeds listens beside.
#[test]
fn the_cost_of_playing_over_the_band() {
    let in_room = LivingRoom::open(&Harp::richter(HarpKey::default()));
    in_room.carries(band_runs::DELAY_S, band_runs::GAIN);
    let jam = ["jam", "--endless", "--tempo", "100"];
    let chords = ["phrase", "two-breath-chug", "--band=twelve-bar", "--runs", "9", "--tempo", "100"];
    for arguments in [&jam[..], &chords[..]] {
        in_room.play(0.6, band_runs::played());
        let mut terminal = live(&[arguments, &["--device", MICROPHONE]].concat(), 80, 24);
        // After the count-in, and after all that is read at the start has been read.
        std::thread::sleep(Duration::from_secs(6));
        let (cpu, start) = (cpu_seconds(terminal.pid()), Instant::now());
        std::thread::sleep(soak());
        let share = (cpu_seconds(terminal.pid()) - cpu) / start.elapsed().as_secs_f64();
        let resident = resident_mib(terminal.pid());
        let screen = terminal.screen();
        assert!(!screen.contains("lost"), "{screen}");
        println!("{}: {:.1} % of one core, {resident:.1} MiB resident", arguments.join(" "), share * 100.0);
        assert!(resident < 60.0, "{resident} MiB resident");
        // Otherwise the band would go on under the tests that follow.
        terminal.signal(Signal::TERM);
        terminal.wait_for_end();
    }
}
