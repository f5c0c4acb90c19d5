//! A file that a command writes because `--out` names it.

use crate::failure::Failure;
use crate::files::{self, reason, shown};
use crate::stderr;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::Path;

/// Refuses to write over what is there, unless that is wanted. A pipe or a device loses nothing.
///
/// # Errors
/// If it is refused.
pub(crate) fn spare(file: &Path, force: bool) -> Result<(), Failure> {
    refuse_folder(file)?;
    let would_be_lost = fs::symlink_metadata(file).is_ok() && !is_outlet(file);
    if would_be_lost && !force {
        return Err(Failure::user(format!(
            "--out {}: that file is there already; name another one, or say --force to write over it",
            shown(file)
        )));
    }
    Ok(())
}

/// Whether what is written there goes on to somewhere else, as with `/dev/stdout`.
fn is_outlet(file: &Path) -> bool {
    fs::metadata(file).is_ok_and(|known| !known.is_file() && !known.is_dir())
}

/// Writes a file, whole or not at all, and says so.
///
/// # Errors
/// If it cannot be written.
pub(crate) fn write(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let written = if is_outlet(file) { fs::write(file, bytes) } else { files::write(file, bytes) };
    written.map_err(|error| not_written(file, &error))?;
    say(file);
    Ok(())
}

/// Writes a file piece by piece, whole or not at all, and says so.
///
/// # Errors
/// If it cannot be written, or a part of it cannot be written over afterwards, as the head of a recording has to be.
pub(crate) fn write_by(
    file: &Path,
    fill: impl FnOnce(&mut fs::File) -> io::Result<()>,
) -> Result<(), Failure> {
    if is_outlet(file) {
        return Err(Failure::user(format!("--out {}: this is no file; name a file to write", shown(file))));
    }
    files::write_by(file, fill).map_err(|error| not_written(file, &error))?;
    say(file);
    Ok(())
}

fn say(file: &Path) {
    stderr::say(&format!("bendwright: wrote {}", shown(file)));
}

/// Why a file is not there.
pub(crate) fn not_written(file: &Path, error: &io::Error) -> Failure {
    let sentence = format!("{} cannot be written: {}", shown(file), reason(error));
    match error.kind() {
        ErrorKind::NotFound | ErrorKind::PermissionDenied | ErrorKind::NotADirectory => {
            Failure::user(sentence)
        }
        _ => Failure::world(sentence),
    }
}

/// Refuses a folder.
///
/// # Errors
/// If it is one.
pub(crate) fn refuse_folder(file: &Path) -> Result<(), Failure> {
    if file.is_dir() {
        return Err(Failure::user(format!("--out {}: that is a folder; name a file in it", file.display())));
    }
    Ok(())
}
