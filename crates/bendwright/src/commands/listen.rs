//! `listen`: free playing.

use crate::args::ListenArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::setup::Setup;
use crate::{lines, source, ui};
use practice::Order;
use sound::Pace;

/// Runs the command: a line for each note with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If the sound or the output fails, or a signal ends the program.
pub(crate) fn run(args: &ListenArgs, setup: Setup) -> Result<(), Failure> {
    let Some(report) = Report::new(args.output) else { return ui::run(setup, ui::Start::Listen) };
    let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
    let position = args.position.unwrap_or_default();
    lines::run(vec![Order::PlayFreely], &setup, source, (report, position))
}
