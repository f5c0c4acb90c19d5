//! Standard error of this whole process is sent elsewhere, so this test is alone in it.

#![cfg(unix)]
#![allow(clippy::disallowed_macros, clippy::print_stderr)] // what is tested

use sound::QuietStderr;
use std::fs::{self, File};
use std::io::Write;
use std::process::Command;

#[test]
fn what_anybody_writes_to_standard_error_goes_into_the_log_until_the_guard_is_dropped() {
    let folder = tempfile::tempdir().unwrap();
    let (outer, inner) = (folder.path().join("outer.log"), folder.path().join("inner.log"));
    let terminal = QuietStderr::start(&File::create(&outer).unwrap()).unwrap();
    let quiet = QuietStderr::start(&File::create(&inner).unwrap()).unwrap();
    // A child writes past Rust's own standard error, as a C library does.
    assert!(Command::new("sh").args(["-c", "echo noise >&2"]).status().unwrap().success());
    writeln!(quiet.original().unwrap(), "a report").unwrap();
    drop(quiet);
    assert!(Command::new("sh").args(["-c", "echo afterwards >&2"]).status().unwrap().success());
    drop(terminal);
    assert_eq!(fs::read_to_string(inner).unwrap(), "noise\n");
    assert_eq!(fs::read_to_string(outer).unwrap(), "a report\nafterwards\n");
}
