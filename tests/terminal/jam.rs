//! A jam in the built program: begun by a key and by command, both hands on the harp until it is told what was played.

use crate::terminal::{Terminal, bendwright};
use std::time::Duration;

/// A chorus of twelve bars at 240 beats a minute lasts 12 s, with its count-in and its last bar 15 s.
const CHORUS: Duration = Duration::from_secs(90);

#[test]
fn a_shuffle_in_a_goes_round_and_is_told() {
    let arguments =
        ["jam", "--key", "A", "--harp", "D", "--tempo", "240", "--choruses", "1", "--from", "player"];
    let mut terminal = Terminal::start(bendwright(&arguments), 80, 24);
    terminal.wait_for("twelve-bar in A · D harp · A blues");
    terminal.wait_for("count-in");
    terminal.wait_for("bar 2 of 12, chorus 1 of 1");
    terminal.wait_for("next D7 in");
    // It can be paused, and comes back on the bar.
    terminal.type_keys(" ");
    terminal.wait_for("paused");
    terminal.type_keys(" ");
    terminal.wait_until("the last bars", CHORUS, |screen| screen.contains("bar 11 of 12"));
    let screen = terminal.screen();
    assert!(screen.contains("■") && screen.contains("│D7") && screen.contains("│E7"), "{screen}");
    terminal.wait_until("what it came to", CHORUS, |screen| screen.contains("done, one chorus"));
    let screen = terminal.screen();
    assert!(screen.contains("when the chord changed: a note of the new chord on"), "{screen}");
    assert!(screen.contains("of A blues never played:"), "{screen}");
    assert!(screen.contains("blow ") && screen.contains(" draw "), "{screen}");
    std::thread::sleep(Duration::from_millis(600));
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
    // The shell is told as well.
    terminal.wait_for("twelve-bar in A, shuffle: one chorus, ");
}

/// A form that goes round without end ends with the key that leaves, and what it came to is shown.
#[test]
fn leaving_shows_what_it_came_to() {
    let arguments = ["jam", "--key", "A", "--harp", "D", "--tempo", "240", "--endless", "--from", "player"];
    let mut terminal = Terminal::start(bendwright(&arguments), 80, 24);
    terminal.wait_for("bar 4 of 12, chorus 1");
    terminal.type_keys("q");
    terminal.wait_for("ended, not a whole chorus");
    terminal.wait_for(" more of the scale, ");
    std::thread::sleep(Duration::from_millis(600));
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
}

#[test]
fn the_list_leads_to_a_jam_and_back() {
    let mut terminal = Terminal::start(bendwright(&["--from", "player", "--harp", "D"]), 80, 24);
    terminal.wait_for("Today, ");
    terminal.type_keys("d");
    terminal.wait_for("over a form");
    terminal.type_keys("f");
    terminal.wait_for("twelve-bar in A");
    terminal.type_keys("f");
    terminal.wait_for("quick-change twelve-bar in A");
    terminal.type_keys("e");
    terminal.wait_for("swing at 120");
    terminal.type_keys("q");
    terminal.wait_for("over a form");
    std::thread::sleep(Duration::from_millis(600));
    terminal.type_keys("q");
    terminal.wait_for("Today, ");
    std::thread::sleep(Duration::from_millis(600));
    terminal.type_keys("q");
    assert_eq!(terminal.wait_for_end(), 0);
}
