//! `completions SHELL`: what the shell can offer after `bendwright`.

use crate::args::Cli;
use crate::failure::Failure;
use clap::CommandFactory;
use clap_complete::Shell;
use std::io::{self, Write};

/// Prints the completions.
///
/// # Errors
/// If the output cannot be written.
pub(crate) fn run(shell: Shell) -> Result<(), Failure> {
    // The generator panics when it cannot write, so it writes to memory.
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "bendwright", &mut script);
    Ok(io::stdout().write_all(&script)?)
}
