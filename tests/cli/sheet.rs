//! `sheet`: pages in every form, and where they are written.

use crate::disk::SmallDisk;
use crate::{printed, run, text};
use std::fs;
use std::process::Command;

#[test]
fn text_goes_to_standard_output() {
    let out = printed(&["sheet", "--scale", "major", "--position", "1"]);
    assert!(out.starts_with("C harp, 1st position: C major\n"), "{out}");
    // C4 to C5 on a C harp: common practice, no source; it follows from the Richter layout (OEIS A291810).
    assert!(out.contains("F4") && out.contains("-2''"), "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 80));
    assert!(printed(&["sheet", "--ascii"]).is_ascii());
    // Six flats or six sharps: both are written (circle of fifths), and the player's choice stands.
    for (tonic, title) in [("Gb", "G♭ major"), ("F#", "F♯ major")] {
        let out = printed(&["sheet", "--tonic", tonic, "--scale", "major"]);
        assert!(out.starts_with(&format!("C harp, 7th position: {title}\n")), "{out}");
    }
}

#[test]
fn the_ending_tells_the_form() {
    let folder = tempfile::tempdir().unwrap();
    for (name, begins) in
        [("a.txt", "C harp"), ("a.svg", "<svg"), ("a.HTML", "<!DOCTYPE html>"), ("a.pdf", "%PDF-")]
    {
        let file = folder.path().join(name);
        let run = run(&["sheet", "--out", text(&file)]);
        assert_eq!((run.code, run.out.as_str()), (0, ""), "{name}: {}", run.err);
        assert!(run.err.contains("wrote") && run.err.contains(name), "{}", run.err);
        assert!(fs::read(&file).unwrap().starts_with(begins.as_bytes()), "{name}");
    }
    let file = folder.path().join("b.pdf");
    assert_eq!(run(&["sheet", "--format", "text", "--out", text(&file)]).code, 0);
    assert!(fs::read(&file).unwrap().starts_with(b"C harp"), "--format goes before the ending");
}

#[test]
fn booklets_have_their_pages() {
    let titles = |booklet: &str| {
        let out = printed(&["sheet", "--booklet", booklet, "--scale", "blues"]);
        let titles = out.split('\u{c}').map(|page| page.lines().next().unwrap_or_default().to_owned());
        titles.collect::<Vec<_>>()
    };
    let positions = titles("positions");
    assert_eq!(positions.len(), 12);
    assert_eq!(
        (positions[0].as_str(), positions[11].as_str()),
        ("C harp, 1st position: C blues", "C harp, 12th position: F blues")
    );
    let keys = titles("keys");
    assert_eq!((keys.len(), keys[0].as_str()), (12, "G harp, 2nd position: D blues"));
    // The modes of the natural notes: a list archive of the trade, 2012; seven of the twelve home notes are natural.
    let modes = titles("modes");
    assert_eq!(modes.len(), 7);
    assert_eq!(modes[1], "C harp, 2nd position: G Mixolydian");
}

#[test]
fn pictures_of_a_booklet_are_numbered() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("harp.svg");
    assert_eq!(run(&["sheet", "--booklet", "positions", "--out", text(&file)]).code, 0);
    let title = fs::read_to_string(folder.path().join("harp-03.svg")).unwrap();
    assert!(title.contains("<title id=\"t1\">C harp, 3rd position: D blues</title>"), "{title}");
    let written = (1..=12).filter(|n| folder.path().join(format!("harp-{n:02}.svg")).exists()).count();
    assert_eq!(written, 12);
    let refused = run(&["sheet", "--booklet", "keys", "--format", "svg"]);
    assert!(refused.code == 2 && refused.err.contains("--out FILE.svg"), "{}", refused.err);
}

#[test]
fn a_pdf_carries_real_text() {
    if Command::new("pdftotext").arg("-v").output().is_err() {
        // The machines that build every change have it (and say so); a player's need not.
        assert!(std::env::var_os("BENDWRIGHT_CHECK_ALL").is_none(), "pdftotext is not installed");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("blues.pdf");
    let arguments = ["sheet", "--able", "everything", "--paper", "letter", "--out", text(&file)];
    assert_eq!(run(&arguments).code, 0);
    let read = Command::new("pdftotext").args(["-layout", text(&file), "-"]).output().unwrap();
    let read = String::from_utf8(read.stdout).unwrap();
    for tab in ["-3'", "-2''", "6o", "-7o"] {
        assert!(read.contains(tab), "no {tab} in\n{read}");
    }
}

#[test]
fn what_is_there_is_written_over_only_where_that_is_wanted() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.txt");
    fs::write(&file, "mine").unwrap();
    let refused = run(&["sheet", "--out", text(&file)]);
    assert!(refused.code == 2 && refused.err.contains("--force"), "{}", refused.err);
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    assert_eq!(run(&["sheet", "--force", "--out", text(&file)]).code, 0);
    assert!(fs::read_to_string(&file).unwrap().starts_with("C harp"));
    // Of several pictures none is written if one is there.
    fs::write(folder.path().join("b-12.svg"), "mine").unwrap();
    let pictures = folder.path().join("b.svg");
    let refused = run(&["sheet", "--booklet", "positions", "--out", text(&pictures)]);
    assert!(refused.code == 2 && refused.err.contains("b-12.svg"), "{}", refused.err);
    assert!(!folder.path().join("b-01.svg").exists());
}

#[cfg(unix)]
#[test]
fn links_rights_and_outlets_stay_what_they_are() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = tempfile::tempdir().unwrap();
    let [file, link] = ["a.txt", "link.txt"].map(|name| folder.path().join(name));
    fs::write(&file, "old").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
    symlink(&file, &link).unwrap();
    assert_eq!(run(&["sheet", "--force", "--out", text(&link)]).code, 0);
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert!(fs::read_to_string(&file).unwrap().starts_with("C harp"));
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    fs::set_permissions(&file, fs::Permissions::from_mode(0o400)).unwrap();
    let refused = run(&["sheet", "--force", "--out", text(&file)]);
    assert!(refused.code == 2 && refused.err.contains("protected against writing"), "{}", refused.err);
    // A pipe is there already and loses nothing.
    let piped = run(&["sheet", "--format", "text", "--out", "/dev/stdout"]);
    assert!(piped.code == 0 && piped.out.starts_with("C harp"), "{}", piped.err);
    let full = run(&["sheet", "--format", "pdf", "--out", "/dev/full"]);
    assert!(full.code == 1 && full.err.contains("no space left"), "{}", full.err);
}

#[test]
fn a_full_disk_leaves_what_was_there() {
    let Some(disk) = SmallDisk::new() else { return };
    let file = disk.path().join("a.pdf");
    let write = |arguments: &[&str]| run(&[&["sheet", "--force", "--out", text(&file)], arguments].concat());
    assert_eq!(write(&[]).code, 0);
    let whole = fs::read(&file).unwrap();
    disk.fill();
    let booklet = write(&["--booklet", "positions"]);
    assert!(booklet.code == 1 && booklet.err.contains("no space left on device"), "{}", booklet.err);
    assert!(fs::read(&file).unwrap() == whole);
    let left: Vec<_> = fs::read_dir(disk.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left.len(), 2, "a piece is left behind: {left:?}");
}

#[test]
fn nothing_is_written_in_the_wrong_place() {
    let folder = tempfile::tempdir().unwrap();
    let inside = folder.path().join("folder.pdf");
    fs::create_dir(&inside).unwrap();
    let missing = folder.path().join("no/such/a.pdf");
    let strange = folder.path().join("a.doc");
    for (file, word) in
        [(&inside, "that is a folder"), (&missing, "cannot be written"), (&strange, ".html or .pdf")]
    {
        let run = run(&["sheet", "--out", text(file)]);
        assert_eq!(run.code, 2, "{}", run.err);
        assert!(run.err.contains(word), "{}", run.err);
    }
    assert!(inside.is_dir() && !strange.exists());
}
