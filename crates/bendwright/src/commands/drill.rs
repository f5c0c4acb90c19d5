//! `drill [NAME]`: a drill of ours or of the player's own.

use crate::args::DrillArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::setup::Setup;
use crate::{catalogue, lines, source, stderr, ui};
use practice::{Drill, Order};
use sound::Pace;
use std::io::{self, Write};
use theory::Position;

/// A complete drill file, to begin one's own from.
const EXAMPLE: &str = include_str!("../../../../assets/examples/own-drill.toml");

/// Runs the command. Without a name it is the first drill of the list.
///
/// # Errors
/// If there is no such drill, it has a mistake, or the sound or the output fails.
pub(crate) fn run(args: &DrillArgs, setup: Setup) -> Result<(), Failure> {
    if args.example {
        return Ok(io::stdout().write_all(EXAMPLE.as_bytes())?);
    }
    if args.list {
        return list(&setup);
    }
    let drill = match &args.name {
        Some(name) => catalogue::find(&setup.library, name, &setup.harp)?,
        None => first(&setup)?,
    };
    match Report::new(args.output) {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            lines::run(Order::Drill(Box::new(drill)), &setup, source, (report, Position::default()))
        }
        None => ui::run(setup, ui::Start::Drill(drill)),
    }
}

/// The first drill that this harp can play.
fn first(setup: &Setup) -> Result<Drill, Failure> {
    let playable = catalogue::all(&setup.library, &setup.harp).into_iter().next();
    playable
        .ok_or_else(|| Failure::user("no drill fits the reeds of this harp; name a drill file of your own"))
}

fn list(setup: &Setup) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    for drill in catalogue::all(&setup.library, &setup.harp) {
        writeln!(out, "{:<20} {}", drill.name, drill.title)?;
    }
    let beyond = catalogue::beyond(&setup.library, &setup.harp);
    if !beyond.is_empty() {
        let tuning = setup.harp.tuning().name();
        stderr::say(&format!("bendwright: not for {tuning} tuning: {}", beyond.join(", ")));
    }
    Ok(())
}
