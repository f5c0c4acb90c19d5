//! `sheet`: a page or a booklet to print.

use crate::args::{Booklet, Format, PaperName, SheetArgs};
use crate::failure::Failure;
use crate::files;
use crate::outfile::{not_written, refuse_folder, spare, write};
use crate::scale_choice::ScaleChoice;
use crate::setup::Setup;
use sheets::{
    Paper, Request, Sheet, every_key, every_mode, every_position, to_html, to_pdf, to_svg, to_text,
};
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};
use theory::NoteName;

/// Writes the sheets to the file, or to standard output.
///
/// # Errors
/// If an argument is wrong, or the file or the output cannot be written.
pub(crate) fn run(args: &SheetArgs, setup: &Setup) -> Result<(), Failure> {
    let choice = ScaleChoice::new(&args.scale, setup)?;
    let format = format(args)?;
    let request = Request {
        harp: &setup.harp,
        position: choice.position,
        scale: &choice.scale,
        ability: choice.ability.as_ref(),
        tab: &setup.tab,
    };
    let sheets = sheets(args.booklet, &request, &choice, setup);
    let title = title(args.booklet, &choice, &sheets, setup);
    let paper = Paper::from(args.paper);
    match format {
        Format::Text => put(args, to_text(&sheets, setup.letters()).as_bytes()),
        Format::Html => put(args, to_html(&title, &sheets, paper).as_bytes()),
        Format::Pdf => put(args, &to_pdf(&title, &sheets, paper)),
        Format::Svg => {
            let pictures: Vec<String> = sheets.iter().map(|sheet| to_svg(sheet, paper)).collect();
            put_pictures(args, &pictures)
        }
    }
}

/// The most sheets of one name in a folder; a player who has written so many does not look for the next number.
const MOST: usize = 99;

/// Writes one sheet as a PDF into the folder in which the program was started, under a name that tells what it is, with
/// a number if that name is taken. Returns that name.
///
/// # Errors
/// If it cannot be written there.
pub(crate) fn write_pdf(request: &Request<'_>, tonic: NoteName) -> Result<PathBuf, Failure> {
    let sheet = Sheet::written(request, tonic);
    let bytes = to_pdf(&sheet.title, std::slice::from_ref(&sheet), Paper::from(PaperName::A4));
    let first = Path::new(&sheet.file_stem()).with_extension("pdf");
    let numbered = (2..=MOST).map(|n| with_number(&first, n));
    for file in std::iter::once(first.clone()).chain(numbered) {
        match files::write_new(&file, &bytes) {
            Ok(()) => return Ok(file),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(not_written(&file, &error)),
        }
    }
    Err(Failure::user(format!("there are {MOST} sheets of that name already; delete some")))
}

impl From<PaperName> for Paper {
    fn from(name: PaperName) -> Self {
        match name {
            PaperName::A4 => Self::A4,
            PaperName::Letter => Self::Letter,
        }
    }
}

/// The form asked for, or the one that the file's ending tells; text where there is neither.
fn format(args: &SheetArgs) -> Result<Format, Failure> {
    let Some(out) = args.out.as_ref().filter(|_| args.format.is_none()) else {
        return Ok(args.format.unwrap_or(Format::Text));
    };
    refuse_folder(out)?;
    let ending = out.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("txt") => Ok(Format::Text),
        Some("svg") => Ok(Format::Svg),
        Some("html" | "htm") => Ok(Format::Html),
        Some("pdf") => Ok(Format::Pdf),
        _ => Err(Failure::user(format!(
            "--out {}: the ending tells no form; use .txt, .svg, .html or .pdf, or say --format",
            out.display()
        ))),
    }
}

fn sheets(
    booklet: Option<Booklet>,
    request: &Request<'_>,
    choice: &ScaleChoice,
    setup: &Setup,
) -> Vec<Sheet> {
    match booklet {
        None => vec![Sheet::written(request, choice.key.tonic())],
        Some(Booklet::Positions) => every_position(request),
        Some(Booklet::Keys) => every_key(request),
        Some(Booklet::Modes) => every_mode(request, &setup.library.scales),
    }
}

/// What the document is called: a page as it is headed, a booklet by what its pages share.
fn title(booklet: Option<Booklet>, choice: &ScaleChoice, sheets: &[Sheet], setup: &Setup) -> String {
    let (harp, scale) = (setup.harp.key(), choice.scale.name());
    match booklet {
        None => sheets.first().map_or(String::new(), |sheet| sheet.title.clone()),
        Some(Booklet::Positions) => format!("{harp} harp: {scale} in every position"),
        Some(Booklet::Keys) => format!("{}: {scale} in every key", choice.position),
        Some(Booklet::Modes) => format!("{harp} harp: the modes of its natural notes"),
    }
}

/// Writes one document.
fn put(args: &SheetArgs, bytes: &[u8]) -> Result<(), Failure> {
    match &args.out {
        Some(file) => {
            spare(file, args.force)?;
            write(file, bytes)
        }
        None if io::stdout().is_terminal() && !bytes.is_ascii() && bytes.starts_with(b"%PDF") => {
            Err(Failure::user("a PDF is nothing for a terminal; name a file with --out FILE.pdf"))
        }
        None => {
            let mut out = io::stdout();
            out.write_all(bytes)?;
            // A PDF does not end with a line break, so its end waits in a buffer. A flush at the exit would fail in
            // silence.
            Ok(out.flush()?)
        }
    }
}

/// Writes pictures, several of them into files numbered from 1: all of them, or none if one would be written over.
fn put_pictures(args: &SheetArgs, pictures: &[String]) -> Result<(), Failure> {
    match (&args.out, pictures) {
        (_, [picture]) => put(args, picture.as_bytes()),
        (Some(file), _) => {
            let numbered = || (1..).map(|n| with_number(file, n)).zip(pictures);
            numbered().try_for_each(|(file, _)| spare(&file, args.force))?;
            numbered().try_for_each(|(file, picture)| write(&file, picture.as_bytes()))
        }
        (None, _) => Err(Failure::user(format!(
            "these are {} pictures; name a file with --out FILE.svg, they are numbered",
            pictures.len()
        ))),
    }
}

/// `map.svg` becomes `map-03.svg`.
fn with_number(file: &Path, number: usize) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let ending = file.extension().map_or(String::new(), |ending| format!(".{}", ending.to_string_lossy()));
    file.with_file_name(format!("{stem}-{number:02}{ending}"))
}
