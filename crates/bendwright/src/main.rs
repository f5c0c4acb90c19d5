//! The program: it joins the command line, the settings, the sound and the screen.

mod args;
mod catalogue;
mod clicks;
mod coach;
mod commands;
mod complaint;
mod config;
mod delay;
mod ear_sound;
mod failure;
mod fault;
mod files;
mod input;
mod keeping;
mod keyboard;
mod library;
mod lines;
mod listener;
mod model;
#[cfg(test)]
mod mutations;
mod outfile;
mod own_recording;
mod page;
mod pipeline;
mod practising;
mod report;
mod results;
mod scale_choice;
mod setup;
mod signals;
mod source;
mod state;
mod stderr;
mod terminal;
mod tones;
#[cfg(unix)]
mod tty;
#[cfg(not(unix))]
#[path = "tty/console.rs"]
mod tty;
mod ui;
mod words;

use args::{Cli, Task};
use clap::Parser;
use failure::Failure;
use setup::Setup;
use std::io::{self, Write};
use std::process::ExitCode;

fn main() -> ExitCode {
    let done = match Cli::try_parse() {
        Ok(cli) => run(cli),
        Err(mistake) if mistake.use_stderr() => mistake.exit(),
        // Help is output as any other: if it cannot be written, that is said.
        Err(help) => help.print().and_then(|()| io::stdout().flush()).map_err(Failure::from),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            if let Some(message) = failure.message() {
                stderr::say(&format!("bendwright: {message}"));
            }
            failure.exit_code()
        }
    }
}

fn run(cli: Cli) -> Result<(), Failure> {
    if let Some(Task::Completions { shell }) = cli.command {
        return commands::completions::run(shell);
    }
    let mut setup = Setup::new(&cli.common)?;
    if matches!(cli.command, None | Some(Task::Drill(_) | Task::Phrase(_) | Task::Programme(_))) {
        setup.check_own();
    }
    // The full screen shows the last of them in its one line; all stand in the shell when it closes.
    setup.warnings.iter().for_each(|warning| stderr::say(&format!("bendwright: {warning}")));
    match cli.command {
        None => ui::run(setup, ui::Start::Home),
        Some(Task::Drill(args)) => commands::drill::run(&args, setup),
        Some(Task::Phrase(args)) => commands::phrase::run(&args, setup),
        Some(Task::Scale(args)) => commands::scale::run(&args, setup),
        Some(Task::Ear(args)) => commands::ear::run(&args, setup),
        Some(Task::Jam(args)) => commands::jam::run(&args, setup),
        Some(Task::Listen(args)) => commands::listen::run(&args, setup),
        Some(Task::Map(args)) => commands::map::run(&args, &setup),
        Some(Task::Choose(args)) => commands::choose::run(&args, &setup),
        Some(Task::Sheet(args)) => commands::sheet::run(&args, &setup),
        Some(Task::Track(args)) => commands::track::run(&args, &cli.common, &setup),
        Some(Task::Band(args)) => commands::band::run(&args, &setup),
        Some(Task::Sound(args)) => commands::sound::run(&args, setup),
        Some(Task::Programme(args)) => commands::programme::run(&args, setup),
        Some(Task::Journal(args)) => commands::journal::run(&args, &setup),
        Some(Task::Config(args)) => commands::config::run(&args, &setup),
        Some(Task::Picture) => commands::picture::run(&setup),
        Some(Task::Completions { shell }) => commands::completions::run(shell),
    }
}
