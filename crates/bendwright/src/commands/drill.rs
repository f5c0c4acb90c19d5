//! `drill [NAME]`: a drill of ours or of the player's own.

use crate::args::DrillArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::setup::Setup;
use crate::{catalogue, drilling, source, ui};
use sound::Pace;
use std::io::{self, Write};

/// Runs the command. Without a name it is the first drill of the list.
///
/// # Errors
/// If there is no such drill, it has a mistake, or the sound or the output fails.
pub(crate) fn run(args: &DrillArgs, setup: Setup) -> Result<(), Failure> {
    if args.list {
        return list(&setup);
    }
    let first = || practice::built_in().first().map(|(name, _)| (*name).to_owned()).unwrap_or_default();
    let drill = catalogue::find(&setup.library, &args.name.clone().unwrap_or_else(first), &setup.harp)?;
    match Report::new(args.output) {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            drilling::run(drill, &setup, source, report)
        }
        None => ui::run(setup, ui::Start::Drill(drill)),
    }
}

fn list(setup: &Setup) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    for drill in catalogue::all(&setup.library, &setup.harp) {
        writeln!(out, "{:<20} {}", drill.name, drill.title)?;
    }
    Ok(())
}
