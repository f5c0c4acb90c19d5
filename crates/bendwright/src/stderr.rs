//! Sentences on standard error, and silence there.

use sound::QuietStderr;
use std::fs::File;
use std::io::{self, Write};

/// What throws away whatever is written to it.
const NOWHERE: &str = if cfg!(windows) { "NUL" } else { "/dev/null" };

/// Writes a line. Where nobody reads standard error any more there is nobody left to tell.
pub(crate) fn say(line: &str) {
    let _ = writeln!(io::stderr(), "{line}");
}

/// Throws away what anybody in the process prints on standard error until the guard is dropped; nothing where the
/// system refuses, because a line of a C library on the screen is better than no screen.
pub(crate) fn hush() -> Option<QuietStderr> {
    File::options().write(true).open(NOWHERE).and_then(|nowhere| QuietStderr::start(&nowhere)).ok()
}
