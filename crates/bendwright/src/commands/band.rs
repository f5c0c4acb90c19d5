//! `band`: a band, a drone or a recording of the player's own to play over, on the loudspeaker or into a file.

mod asked;
mod on_loudspeaker;
mod recording;
mod tapped;
mod told;
mod wav;

use crate::args::BandArgs;
use crate::failure::Failure;
use crate::outfile;
use crate::setup::Setup;
use asked::Piece;
use std::io::{self, Write};
use told::Told;

/// Sounds or writes what was asked for.
///
/// # Errors
/// If an argument is wrong, there is no loudspeaker, or the file or the output cannot be written.
pub(crate) fn run(args: &BandArgs, setup: &Setup) -> Result<(), Failure> {
    if args.list {
        return list(setup);
    }
    let told = Told::new(args.output, setup.letters());
    asked::check_level(args)?;
    if let Some(file) = args.recording.as_ref().filter(|_| args.tap) {
        return tapped::run(file, args.level, &told);
    }
    let piece = Piece::new(args, setup)?;
    match &args.out {
        Some(file) => {
            outfile::spare(file, args.force)?;
            wav::write(file, piece, &told)
        }
        None => on_loudspeaker::play(piece, &told),
    }
}

/// Lists the progressions with their chords.
fn list(setup: &Setup) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    for form in &setup.library.progressions {
        let bars: Vec<String> = form
            .bars()
            .iter()
            .map(|bar| bar.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "))
            .collect();
        writeln!(out, "{:<24} {}", form.name(), setup.letters().spell(&bars.join(" | ")))?;
    }
    Ok(out.flush()?)
}
