//! Files as the program reads and writes them: only regular files, of bounded size, and whole or not at all.

use layout::FileError;
use std::fmt;
use std::fs::{self, File, FileType};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// The largest text that is read, bytes. The longest of our own files has 5 kilobytes; no player writes a file beyond
/// this limit, and reading it would keep the first screen waiting.
const LARGEST: u64 = 256 * 1024;

/// What is wrong with a file, or in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Mistake {
    /// What is wrong, and what to do about it.
    message: String,
    file: PathBuf,
    /// Line and column, from 1, if it is something in the file.
    place: Option<(usize, usize)>,
}

impl Mistake {
    /// Something in a file.
    pub(crate) fn inside(file: &Path, error: FileError) -> Self {
        let FileError { line, column, message } = error;
        Self { message, file: file.to_owned(), place: Some((line, column)) }
    }

    /// Something about a file as a whole.
    pub(crate) fn about(file: &Path, message: impl Into<String>) -> Self {
        Self { message: message.into(), file: file.to_owned(), place: None }
    }

    /// Line and column, if it is something in the file.
    #[cfg(test)]
    pub(crate) fn place(&self) -> Option<(usize, usize)> {
        self.place
    }

    /// The mistake and what the program does about it: "left out".
    pub(crate) fn and(&self, so: &str) -> String {
        self.words(&format!("; {so}"))
    }

    /// The reason first and the place after it, because a narrow screen cuts the end off.
    fn words(&self, so: &str) -> String {
        let Self { message, place, .. } = self;
        let place = place.map(|(line, column)| format!(", line {line}, column {column}")).unwrap_or_default();
        format!("{} ({}{place}{so})", visible(message), shown(&self.file))
    }
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.words(""))
    }
}

/// A path with nothing in it that a terminal would obey.
pub(crate) fn shown(file: &Path) -> String {
    visible(&file.display().to_string())
}

/// A text with nothing in it that a terminal would obey: messages quote what stands in a file.
fn visible(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { char::REPLACEMENT_CHARACTER } else { c }).collect()
}

/// Why the system did not do what it was asked, without the number that only programmers know.
pub(crate) fn reason(error: &io::Error) -> String {
    let said = error.to_string();
    let said = said.split(" (os error").next().unwrap_or_default();
    let mut letters = said.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// Whether the error says that a file is missing, or the folder it would be in.
pub(crate) fn is_missing(error: &io::Error) -> bool {
    matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory)
}

/// The text of a regular file; `None` if there is no such file.
///
/// # Errors
/// If it is no regular file (to read a pipe would wait for its other end), is too large, is no text or cannot be read.
pub(crate) fn read(file: &Path) -> Result<Option<String>, Mistake> {
    let wrong = |message: &str| Err(Mistake::about(file, message));
    let cannot = |error: &io::Error| Mistake::about(file, format!("cannot be read: {}", reason(error)));
    let kind = match fs::metadata(file) {
        Ok(known) => known.file_type(),
        Err(error) if is_missing(&error) => {
            return if fs::symlink_metadata(file).is_ok() {
                wrong("this is a link to a file that is not there")
            } else {
                Ok(None)
            };
        }
        Err(error) => return Err(cannot(&error)),
    };
    if !kind.is_file() {
        return wrong(&format!("{} and not a file", kind_of(kind)));
    }
    let mut bytes = Vec::new();
    let opened = File::open(file).map_err(|error| cannot(&error))?;
    opened.take(LARGEST + 1).read_to_end(&mut bytes).map_err(|error| cannot(&error))?;
    if bytes.len() as u64 > LARGEST {
        return wrong(&format!("the file is too large; at most {} kilobytes are read", LARGEST / 1024));
    }
    text(file, bytes).map(Some)
}

/// What stands in a file as text.
pub(crate) fn text(file: &Path, bytes: Vec<u8>) -> Result<String, Mistake> {
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let text = String::from_utf8_lossy(error.as_bytes());
        Mistake::inside(file, FileError::at(&text, good, "this is no text in UTF-8; save it as such"))
    })
}

/// What stands where a file should.
fn kind_of(kind: FileType) -> &'static str {
    if kind.is_dir() { "this is a folder" } else { special(kind) }
}

#[cfg(unix)]
fn special(kind: FileType) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    if kind.is_fifo() {
        "this is a pipe"
    } else if kind.is_socket() {
        "this is a socket"
    } else {
        "this is a device"
    }
}

#[cfg(not(unix))]
fn special(_: FileType) -> &'static str {
    "this is something else"
}

/// Writes a file whole or not at all: beside it first, and then in its place in one step. A link stays a link, and the
/// rights of a file that is replaced stay as they are.
///
/// # Errors
/// If it cannot be written or is protected against writing; what was there is there still.
pub(crate) fn write(file: &Path, bytes: &[u8]) -> io::Result<()> {
    write_by(file, |new| new.write_all(bytes))
}

/// The same for what is too large to be held as a whole: `fill` writes it into the new file.
///
/// # Errors
/// As [`write()`], and what `fill` says.
pub(crate) fn write_by(file: &Path, fill: impl FnOnce(&mut File) -> io::Result<()>) -> io::Result<()> {
    let target = match fs::canonicalize(file) {
        Ok(target) => target,
        Err(error) if error.kind() == ErrorKind::NotFound && fs::symlink_metadata(file).is_err() => {
            file.to_owned()
        }
        Err(error) => return Err(error),
    };
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let before = fs::metadata(&target).ok().map(|before| before.permissions());
    if before.as_ref().is_some_and(fs::Permissions::readonly) {
        return Err(io::Error::new(ErrorKind::PermissionDenied, "it is protected against writing"));
    }
    let new = beside(folder, fill)?;
    if let Some(before) = before {
        new.as_file().set_permissions(before)?;
    }
    new.persist(&target).map_err(|error| error.error)?;
    Ok(())
}

/// Writes a new file whole or not at all; what is there already stays as it is.
///
/// # Errors
/// If it cannot be written, or something of that name is there already ([`ErrorKind::AlreadyExists`]).
pub(crate) fn write_new(file: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    beside(folder, |new| new.write_all(bytes))?.persist_noclobber(file).map_err(|error| error.error)?;
    Ok(())
}

/// A file under a temporary name, complete and on the disk. It is deleted unless it gets its final name.
fn beside(folder: &Path, fill: impl FnOnce(&mut File) -> io::Result<()>) -> io::Result<NamedTempFile> {
    let mut new = as_usual(tempfile::Builder::new().prefix(".bendwright-")).tempfile_in(folder)?;
    fill(new.as_file_mut())?;
    new.as_file().sync_all()?;
    Ok(new)
}

/// The rights that any new file of the user gets, instead of the narrow ones of a temporary file.
#[cfg(unix)]
fn as_usual<'a, 'b>(builder: &'a mut tempfile::Builder<'b, 'b>) -> &'a mut tempfile::Builder<'b, 'b> {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666))
}

#[cfg(not(unix))]
fn as_usual<'a, 'b>(builder: &'a mut tempfile::Builder<'b, 'b>) -> &'a mut tempfile::Builder<'b, 'b> {
    builder
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(file: &Path) -> String {
        read(file).unwrap_err().to_string()
    }

    #[test]
    fn a_missing_file_is_no_mistake() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(read(&folder.path().join("a.toml")), Ok(None));
        assert_eq!(read(&folder.path().join("no/a.toml")), Ok(None));
        fs::write(folder.path().join("file"), "x").unwrap();
        assert_eq!(read(&folder.path().join("file/a.toml")), Ok(None));
        assert_eq!(read(&folder.path().join("file")), Ok(Some("x".to_owned())));
    }

    #[test]
    fn what_is_no_file_of_text_is_said_and_not_waited_for() {
        let folder = tempfile::tempdir().unwrap();
        assert!(said(folder.path()).starts_with("this is a folder and not a file ("));
        let large = folder.path().join("large");
        fs::write(&large, vec![b' '; 256 * 1024 + 1]).unwrap();
        assert!(said(&large).starts_with("the file is too large; at most 256 kilobytes"));
        fs::write(&large, vec![b' '; 256 * 1024]).unwrap();
        assert!(read(&large).is_ok());
        let odd = folder.path().join("odd");
        fs::write(&odd, b"a = 1\nb = \"\xff\"\n").unwrap();
        assert_eq!(read(&odd).unwrap_err().place(), Some((2, 6)));
    }

    #[cfg(unix)]
    #[test]
    fn pipes_devices_and_links_to_nothing_are_said() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("pipe");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status().unwrap();
        assert!(made.success());
        assert!(said(&pipe).starts_with("this is a pipe and not a file"));
        assert!(said(Path::new("/dev/zero")).starts_with("this is a device"));
        let link = folder.path().join("link\u{1b}");
        std::os::unix::fs::symlink(folder.path().join("nothing"), &link).unwrap();
        let said = said(&link);
        assert!(said.starts_with("this is a link to a file that is not there (/"), "{said}");
        assert!(!said.contains('\u{1b}'), "{said:?}");
    }

    #[test]
    fn reasons_are_for_people() {
        let error = File::open("/nonexistent/file").unwrap_err();
        assert_eq!(reason(&error), "no such file or directory");
        assert_eq!(reason(&io::Error::other("Too bad")), "too bad");
    }

    #[test]
    fn a_new_file_takes_no_name_that_is_taken() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        write_new(&file, b"first").unwrap();
        assert_eq!(write_new(&file, b"second").unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!(fs::read_to_string(&file).unwrap(), "first");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left behind");
    }

    #[test]
    fn a_file_that_is_not_written_to_its_end_is_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        write(&file, b"old").unwrap();
        let half = write_by(&file, |new| {
            new.write_all(b"ne")?;
            Err(io::Error::other("the disk is full"))
        });
        assert_eq!(half.unwrap_err().to_string(), "the disk is full");
        assert_eq!(fs::read_to_string(&file).unwrap(), "old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left behind");
    }

    #[cfg(unix)]
    #[test]
    fn a_file_is_replaced_as_its_owner_has_it() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let mode = |file: &Path| fs::metadata(file).unwrap().permissions().mode() & 0o777;
        let folder = tempfile::tempdir().unwrap();
        let [file, link] = ["file", "link"].map(|name| folder.path().join(name));
        fs::write(&file, "old").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
        symlink(&file, &link).unwrap();
        write(&link, b"new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!((fs::read_to_string(&file).unwrap().as_str(), mode(&file)), ("new", 0o640));
        // As any program would make it: what the mask of the user leaves of 0666.
        let (new, usual) = (folder.path().join("new"), folder.path().join("usual"));
        write(&new, b"").unwrap();
        fs::write(&usual, "").unwrap();
        assert_eq!(mode(&new), mode(&usual));
        fs::set_permissions(&file, fs::Permissions::from_mode(0o444)).unwrap();
        assert_eq!(write(&link, b"x").unwrap_err().kind(), ErrorKind::PermissionDenied);
        assert_eq!(fs::read_to_string(&file).unwrap(), "new");
        fs::remove_file(&file).unwrap();
        assert!(write(&link, b"x").is_err(), "a link to nothing is left alone");
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        let left: Vec<_> =
            fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert_eq!(left.len(), 3, "{left:?}");
    }
}
