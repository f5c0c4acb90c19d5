//! What a terminal sends: whole keys, halves of them, pasted text, and much at once.

use crate::home;
use crate::terminal::Terminal;
use std::thread;
use std::time::{Duration, Instant};

/// Words of the page of keys; the first screen has none of them.
const HELP: &str = "Signs and keys";

/// As a slow line brings the bytes of one key.
const SLOW: Duration = Duration::from_millis(200);

/// Longer than the bytes of one key are apart on any line, even if this computer is busy.
const APART: Duration = Duration::from_millis(400);

/// Longer than the late rest of a key is waited for.
const LONG: Duration = Duration::from_secs(1);

fn see_help(terminal: &mut Terminal) {
    terminal.type_keys("?");
    terminal.wait_until("the page of keys", Duration::from_secs(3), |screen| screen.contains(HELP));
}

#[test]
fn ctrl_c_works_after_half_a_key() {
    for half in ["\x1b", "\x1b[", "\x1b[2", "\x1b[1;5", "\x1bO", "\x1b[200~half a paste"] {
        let mut terminal = home();
        terminal.type_keys(half);
        thread::sleep(APART);
        terminal.type_keys("\x03");
        assert_eq!(terminal.wait_for_end_within(Duration::from_secs(3)), 0, "{half:?}");
        assert!(terminal.is_given_back(), "{half:?}");
    }
}

#[test]
fn half_a_key_does_not_hold_up_the_next() {
    for half in ["\x1b[", "\x1b[2", "\x1bO"] {
        for wait in [APART, LONG] {
            let mut terminal = home();
            terminal.type_keys(half);
            thread::sleep(wait);
            see_help(&mut terminal);
        }
    }
}

/// Keys that do something on the first screen: another line, another harp; and the bytes of Delete and F5, which do
/// not.
#[test]
fn what_comes_too_late_to_be_a_key_is_none() {
    for slow in ["\x1b[B", "\x1bOC", "\x1b[1;2C", "\x1b[3~", "\x1b[15~"] {
        let (mut terminal, before) =
            (0..20).find_map(|_| sent_slowly(slow)).expect("a computer with some time");
        thread::sleep(LONG);
        assert_eq!(terminal.screen(), before, "{slow:?}");
        see_help(&mut terminal);
    }
}

/// The first screen after these bytes came one by one, and what was on it before; nothing if this computer was too busy
/// to send them in time.
fn sent_slowly(bytes: &str) -> Option<(Terminal, String)> {
    let mut terminal = home();
    let before = terminal.screen();
    for byte in bytes.bytes() {
        let sent = Instant::now();
        terminal.send(&[byte]);
        thread::sleep(SLOW);
        if sent.elapsed() > SLOW + Duration::from_millis(50) {
            return None;
        }
    }
    Some((terminal, before))
}

#[test]
fn whole_keys_do_something_on_the_first_screen() {
    for whole in ["\x1b[B", "\x1bOC", "\x1b[C"] {
        let mut terminal = home();
        let before = terminal.screen();
        terminal.type_keys(whole);
        terminal.wait_until("another picture", Duration::from_secs(3), |screen| screen != before);
    }
}

#[test]
fn a_burst_is_read_to_its_end() {
    let mut terminal = home();
    // Up and down the list, and the page of keys at the very end.
    terminal.type_keys(&"\x1b[B\x1b[A".repeat(500));
    see_help(&mut terminal);
    terminal.type_keys(&"?".repeat(2_001));
    terminal.wait_until("the first screen", Duration::from_secs(3), |screen| !screen.contains(HELP));
}

#[test]
fn pasted_text_is_no_key() {
    let mut terminal = home();
    assert!(terminal.marks_pasted_text());
    let before = terminal.screen();
    terminal.type_keys("\x1b[200~q?\x1b[C\r\x03qqq\x1b[201~");
    thread::sleep(LONG);
    assert_eq!(terminal.screen(), before);
    see_help(&mut terminal);
    terminal.type_keys("\x03");
    assert_eq!(terminal.wait_for_end(), 0);
    assert!(!terminal.marks_pasted_text(), "the shell wants it otherwise");
}
