//! Today's practice in the built program: begun with one key, then both hands on the harp.

use crate::terminal::{Terminal, bendwright};
use std::time::Duration;

/// A block of five minutes' practice takes about half a minute of the built-in player.
const BLOCK: Duration = Duration::from_secs(90);

#[test]
fn one_key_begins_the_day_and_the_next_block_comes_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let start = || {
        let mut command = bendwright(&["--from", "player"]);
        command.env("XDG_STATE_HOME", folder.path());
        command.env("XDG_DATA_HOME", folder.path());
        Terminal::start(command, 80, 24)
    };
    let mut terminal = start();
    terminal.wait_for("you have 15");
    terminal.type_keys("--");
    terminal.wait_for("you have 5");
    terminal.type_keys("\r");
    terminal.wait_for("Warm-up: long notes");
    terminal.wait_until("what comes next", BLOCK, |screen| {
        screen.contains("next: bends: ") && screen.contains("s (enter: now")
    });
    terminal.wait_until("the next block", BLOCK, |screen| screen.contains("Four bends in turn"));
    // A remark is typed and kept; its letters are no commands.
    terminal.type_keys("q");
    terminal.wait_for("Today, ");
    let today = terminal.screen();
    assert!(today.lines().any(|line| line.contains("warm up") && line.contains("done")), "{today}");
    terminal.type_keys("cqq, and quick\r");
    terminal.wait_for("the remark is kept");
    // The harp goes to somebody else and back.
    terminal.type_keys("hIda\r");
    terminal.wait_for("for Ida: ");
    terminal.type_keys("h\r");
    terminal.wait_for("for me: ");
    // Two presses of the key that leaves within half a second are one.
    std::thread::sleep(Duration::from_millis(600));
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
    // The time one has is remembered; what the built-in player played is nobody's.
    let mut terminal = start();
    terminal.wait_for("you have 5");
    assert!(!terminal.screen().contains("done"), "{}", terminal.screen());
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
}
