//! The program in a pseudo-terminal, with the built-in player and without any sound device: what a newcomer has.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../support/disk.rs"]
mod disk;
mod endings;
mod forgets;
mod jam;
mod keys;
mod monkey;
mod remembers;
mod starts;
mod stops;
#[path = "../support/take.rs"]
mod take;
#[path = "../support/terminal.rs"]
mod terminal;
mod today;
mod truth;

use std::time::{Duration, Instant};
use terminal::{Terminal, bendwright};

fn home() -> Terminal {
    let terminal = Terminal::start(bendwright(&["--from", "player"]), 80, 24);
    terminal.wait_for("the built-in player plays");
    assert!(!terminal.is_given_back(), "the check of the ways out can fail");
    terminal
}

/// Waits until a try has been judged.
fn a_verdict(terminal: &Terminal) {
    terminal.wait_until("a verdict", Duration::from_mins(1), |screen| {
        ["landed", "short by", "past by"].iter().any(|word| screen.contains(word))
    });
}

#[test]
fn a_stranger_sees_a_bend_judged_within_a_minute() {
    let start = Instant::now();
    let mut terminal = home();
    terminal.type_keys("\r");
    a_verdict(&terminal);
    assert!(start.elapsed() < Duration::from_mins(1));
}

/// The pitch of the last second or two hangs below the hole, drawn in braille: the real ear, not readings made up.
#[test]
fn the_line_of_what_was_played_hangs_below_the_hole() {
    let mut terminal = home();
    terminal.type_keys("\r");
    let braille = |line: &&str| line.contains(|sign| ('\u{2801}'..='\u{28ff}').contains(&sign));
    terminal.wait_until("a line of five rows", Duration::from_mins(1), |screen| {
        screen.lines().filter(braille).count() >= 5
    });
}

/// The built-in player lets 5 draw sound along with its first 4 draw, and plays the other notes alone.
#[test]
fn free_playing_tells_a_note_alone_from_one_with_a_leak() {
    let terminal = Terminal::start(bendwright(&["listen", "--from", "player"]), 80, 24);
    terminal.wait_until("a note alone", Duration::from_secs(30), |screen| {
        screen.contains("degree") && screen.contains("alone")
    });
    terminal.wait_until("a leak", Duration::from_secs(30), |screen| {
        screen.contains("4 draw and 5 draw") && screen.contains("dB below")
    });
}

/// The whole way: the count-in, the run, what came of it, and the line in the shell.
#[test]
fn a_run_in_time_is_judged_and_leaves_a_line_in_the_shell() {
    let command = bendwright(&["scale", "--from", "player", "--runs", "1", "--tempo", "120"]);
    let mut terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("count-in");
    terminal.wait_for("bar 1 of 2");
    let over = terminal.wait_until("the verdict", Duration::from_mins(1), |screen| {
        screen.contains("of 13 right at 120") && screen.contains("done")
    });
    assert!(over.contains("as a whole"), "the built-in player's delay is known: {over}");
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
    let screen = terminal.screen();
    let line = screen.lines().find(|line| line.starts_with("G blues, up and down: 1 run, ")).unwrap();
    assert!(line.ends_with("of 13 right at 120"), "{line}");
}

/// From the map into a run and back, with the tempo of the run before.
#[test]
fn a_run_begun_on_the_map_leads_back_to_it() {
    let mut terminal = home();
    terminal.type_keys("m");
    terminal.wait_for("t in time");
    terminal.type_keys("t");
    terminal.wait_for("count-in");
    assert!(!terminal.screen().contains("own middle"), "{}", terminal.screen());
    terminal.type_keys("+");
    terminal.wait_for("eighths at 84");
    terminal.type_keys("q");
    terminal.wait_for("t in time");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

#[test]
fn a_recording_that_cannot_be_read_ends_the_program_before_the_first_key() {
    let mut terminal = Terminal::start(bendwright(&["--from", "/nonexistent/take.wav"]), 80, 24);
    assert_eq!(terminal.wait_for_end(), 2);
    assert!(terminal.screen().contains("take.wav: the file cannot be opened"), "{}", terminal.screen());
}

/// Nobody writes to the pipe, so whoever opened it would wait for ever, deaf to all keys.
#[test]
fn a_pipe_is_refused_before_the_first_key() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("take.wav");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    for arguments in [&["--from"][..], &["listen", "--from"], &["drill", "--from"]] {
        let command = bendwright(&[arguments, &[pipe.to_str().unwrap()]].concat());
        let mut terminal = Terminal::start(command, 120, 24);
        assert_eq!(terminal.wait_for_end(), 2, "{arguments:?}");
        assert!(terminal.screen().contains("take.wav is no file"), "{}", terminal.screen());
        assert!(terminal.is_given_back());
    }
}

#[test]
fn without_a_microphone_the_built_in_player_is_offered() {
    let mut command = bendwright(&[]);
    // No server of any kind is where these point.
    command.env("PULSE_SERVER", "unix:/nonexistent/socket");
    command.env("ALSA_CONFIG_PATH", "/nonexistent/alsa.conf");
    let mut terminal = Terminal::start(command, 80, 24);
    let screen = terminal.wait_for("no microphone");
    assert!(screen.contains("built-in player"), "{screen}");
    assert!(!screen.contains("ALSA lib"), "a C library printed on the screen:\n{screen}");
    terminal.type_keys("b");
    terminal.wait_for("built-in player plays");
}

#[test]
fn a_microphone_of_the_settings_that_is_away_is_no_end_either() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("config.toml");
    std::fs::write(&file, "[input]\ndevice = \"theremin\"\n").unwrap();
    let mut command = bendwright(&["--config", file.to_str().unwrap()]);
    command.env("PULSE_SERVER", "unix:/nonexistent/socket");
    command.env("ALSA_CONFIG_PATH", "/nonexistent/alsa.conf");
    let terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("built-in player");
}

/// A sound server that takes calls and never answers is given two seconds, and then the next sound system is tried.
#[test]
fn a_sound_server_that_hangs_holds_no_picture_up() {
    let folder = tempfile::tempdir().unwrap();
    let socket = folder.path().join("socket");
    let _server = std::os::unix::net::UnixListener::bind(&socket).unwrap();
    let mut command = bendwright(&["drill", "--from", "player"]);
    command.env("PULSE_SERVER", format!("unix:{}", socket.display()));
    command.env("ALSA_CONFIG_PATH", "/nonexistent/alsa.conf");
    let mut terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("hole");
    terminal.type_keys("r");
    terminal.type_keys("?");
    terminal.wait_until("the keys, at once", Duration::from_millis(1_500), |screen| {
        screen.contains("Signs and keys")
    });
    terminal.type_keys("?");
    terminal.wait_for("No loudspeaker");
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
}

#[test]
fn no_colour_is_sent_where_none_is_wanted() {
    let mut command = bendwright(&["drill", "--from", "player"]);
    command.env("NO_COLOR", "1");
    let terminal = Terminal::start(command, 80, 24);
    terminal.wait_for("hole");
    assert_eq!(terminal.coloured_cells(), 0);
    let coloured = Terminal::start(bendwright(&["drill", "--from", "player"]), 80, 24);
    coloured.wait_for("hole");
    assert!(coloured.coloured_cells() > 0, "the check above can fail");
}

#[test]
fn what_was_practised_is_left_in_the_shell() {
    let mut terminal = home();
    terminal.type_keys("\r");
    a_verdict(&terminal);
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
    assert!(terminal.screen().contains("of 1 landed"), "{}", terminal.screen());
}

#[test]
fn own_files_and_own_reeds_reach_the_screen() {
    let folder = tempfile::tempdir().unwrap();
    let config = folder.path().join("config.toml");
    std::fs::write(&config, "temperament = \"just\"\n[tab]\nstyle = \"arrows\"\n[reeds.C]\ndraw = [0, -4]\n")
        .unwrap();
    std::fs::create_dir(folder.path().join("drills")).unwrap();
    let drill = "title = \"My own bend\"\n[[item]]\nplay = \"-4'\"\n";
    std::fs::write(folder.path().join("drills/mine.toml"), drill).unwrap();
    std::fs::create_dir(folder.path().join("phrases")).unwrap();
    let phrase = "title = \"My own phrase\"\nbars = \"whole -4\"\n";
    std::fs::write(folder.path().join("phrases/mine.toml"), phrase).unwrap();
    std::fs::write(folder.path().join("scales.toml"), "[[scale]]\nname = \"zz\"\ndegrees = \"1 6 q\"\n")
        .unwrap();
    let command = bendwright(&["--from", "player", "--config", config.to_str().unwrap()]);
    let mut terminal = Terminal::start(command, 120, 36);
    // The last line of the screen comes last. Behind the reason it has room for a part of the file's name only.
    terminal.wait_for("\"q\" is no degree");
    terminal.type_keys("d\x1b[F");
    terminal.wait_for("My own phrase");
    // The drills stand above the first scales and the phrases: so many lines further up they are in view.
    terminal.type_keys(&"\x1b[A".repeat(17));
    terminal.wait_for("My own bend");
    terminal.type_keys("m");
    // One reed of this very harp is off the temperament, and it is judged so …
    let screen = terminal.wait_for("own temperament");
    assert!(screen.contains('↓'), "{screen}");
    // … but the next harp has reeds of its own.
    terminal.type_keys("\x1b[C");
    terminal.wait_for("just, first position temperament");
}
