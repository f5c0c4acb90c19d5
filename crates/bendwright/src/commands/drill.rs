//! `drill [NAME]`: a drill of ours or of the player's own.

use crate::args::DrillArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::setup::Setup;
use crate::{catalogue, lines, source, ui};
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
pub(crate) fn run(args: &DrillArgs, mut setup: Setup) -> Result<(), Failure> {
    if args.example {
        return Ok(io::stdout().write_all(EXAMPLE.as_bytes())?);
    }
    if args.list {
        let named = |drill: &Drill| (drill.name.clone(), drill.title.clone());
        return catalogue::list(&setup.library, &setup.harp, named);
    }
    let drill: Drill = match &args.name {
        Some(name) => catalogue::find(&setup.library, name, &setup.harp)?,
        None => catalogue::first(&setup.library, &setup.harp)?,
    };
    setup.feedback = args.feedback.unwrap_or(setup.feedback);
    match Report::new(args.output) {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            lines::run(vec![Order::Drill(Box::new(drill))], &setup, source, (report, Position::default()))
        }
        None => ui::run(setup, ui::Start::Drill(drill)),
    }
}
