//! Sentences on standard error.

use std::io::{self, Write};

/// Writes a line. Where nobody reads standard error any more there is nobody left to tell.
pub(crate) fn say(line: &str) {
    let _ = writeln!(io::stderr(), "{line}");
}
