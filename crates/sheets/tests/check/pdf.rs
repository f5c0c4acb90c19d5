//! PDF: its text read back from the operators (ISO 32000-1), and by poppler where that is installed.

use crate::{sheet, tabs};
use sheets::{Paper, Sheet, to_pdf};
use std::process::Command;
use theory::Level;

/// The codes of the drawn font, in order from 33, as its character map has them.
const SIGNS: [char; 5] = ['♭', '♯', '↑', '↓', '\u{fffd}'];

/// The texts of a document: what stands between BT and ET, with codes turned into characters font by font.
fn texts(pdf: &[u8]) -> Vec<String> {
    let latin: String = pdf.iter().map(|byte| char::from(*byte)).collect();
    latin.split("BT\n").skip(1).map(|part| text_object(part.split("ET\n").next().unwrap())).collect()
}

fn text_object(operators: &str) -> String {
    let mut drawn = false;
    let mut text = String::new();
    for line in operators.lines() {
        if line.ends_with(" Tf") {
            drawn = line.starts_with("/F3");
        }
        let Some(string) = line.strip_suffix(" Tj") else { continue };
        for code in codes(string) {
            text.push(match code {
                code if drawn => SIGNS[usize::from(code - 33)],
                0x96 => '–',
                code => char::from(code),
            });
        }
    }
    text
}

/// The bytes of a string object, written in brackets or as hexadecimal digits.
fn codes(string: &str) -> Vec<u8> {
    if let Some(hex) = string.strip_prefix('<') {
        let digits: Vec<char> = hex.trim_end_matches('>').chars().collect();
        let byte = |pair: &[char]| u8::from_str_radix(&pair.iter().collect::<String>(), 16).unwrap();
        return digits.chunks(2).map(byte).collect();
    }
    let inner = string.strip_prefix('(').unwrap().strip_suffix(')').unwrap();
    let mut codes = Vec::new();
    let mut escaped = false;
    for c in inner.chars() {
        if c == '\\' && !escaped {
            escaped = true;
        } else {
            codes.push(u8::try_from(u32::from(c)).unwrap());
            escaped = false;
        }
    }
    codes
}

#[test]
fn every_tab_and_degree_is_real_text() {
    let sheet = sheet("G", 4, "blues", Some(Level::Plain));
    let pdf = to_pdf(&sheet.title, std::slice::from_ref(&sheet), Paper::A4);
    assert!(pdf.starts_with(b"%PDF-1.7") && pdf.ends_with(b"%%EOF"));
    let texts = texts(&pdf);
    assert!(texts.contains(&sheet.title));
    let notes: Vec<_> = sheet.octaves.iter().flat_map(|octave| &octave.notes).collect();
    assert!(notes.len() >= 12 && sheet.chords.len() >= 5, "{sheet:?}");
    for note in notes {
        for said in [&note.degree, &note.name, &note.tab, &note.technique] {
            assert!(texts.contains(said), "{said}");
        }
    }
    for chord in &sheet.chords {
        assert!(texts.contains(&chord.function), "{}", chord.function);
    }
}

#[test]
fn the_drawn_font_tells_which_characters_it_draws() {
    let sheet = sheet("G", 4, "blues", None);
    let pdf = String::from_utf8_lossy(&to_pdf("x", &[sheet], Paper::A4)).into_owned();
    for (code, sign) in (33..).zip(SIGNS) {
        assert!(pdf.contains(&format!("<{code:02X}> <{:04X}>", u32::from(sign))), "{sign}");
    }
}

#[test]
fn a_booklet_has_a_leaf_and_a_bookmark_for_every_sheet() {
    let sheets: Vec<Sheet> = (1..=12).map(|position| sheet("C", position, "blues", None)).collect();
    let pdf = String::from_utf8_lossy(&to_pdf("All positions", &sheets, Paper::Letter)).into_owned();
    assert_eq!(pdf.matches("/Type /Page\n").count(), 24);
    assert_eq!(pdf.matches("/Dest").count(), 12);
    assert!(pdf.contains("/MediaBox [0 0 612 792]"));
}

/// What a program prints, or `None` if it is not installed; a program that fails is a failed test. Where everything is
/// to be checked (`BENDWRIGHT_CHECK_ALL`, set by `.ci/run`) one that is missing is a failed test too.
fn run(program: &str, arguments: &[&str]) -> Option<String> {
    let output = match Command::new(program).args(arguments).output() {
        Ok(output) => output,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            assert!(std::env::var_os("BENDWRIGHT_CHECK_ALL").is_none(), "{program} is not installed");
            return None;
        }
        Err(error) => panic!("{program}: {error}"),
    };
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.is_empty(), "{program}: {said}");
    Some(String::from_utf8(output.stdout).unwrap())
}

/// Runs in full where Debian's poppler-utils is installed; elsewhere the tests above are what there is.
#[test]
fn poppler_opens_it_without_complaint_and_finds_the_tab() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    let file = path.to_str().unwrap();
    let sheets = [sheet("C", 2, "blues", Some(Level::DrawBends)), sheet("F♯", 1, "major", None)];
    std::fs::write(&path, to_pdf("Two sheets", &sheets, Paper::A4)).unwrap();
    if let Some(text) = run("pdftotext", &["-layout", file, "-"]) {
        let words: Vec<&str> = text.split_whitespace().collect();
        for tab in sheets.iter().flat_map(tabs).flat_map(|tab| tab.split(' ')) {
            assert!(words.contains(&tab), "{tab}");
        }
        for word in ["♭3", "B♭4", "A♯4", "Bø7"] {
            assert!(words.contains(&word), "{word}");
        }
    }
    if let Some(info) = run("pdfinfo", &[file]) {
        assert!(
            info.contains("Title:") && info.contains("Two sheets") && info.contains("Pages:           4"),
            "{info}"
        );
    }
    let picture = folder.path().join("page");
    if run("pdftoppm", &["-r", "40", "-png", file, picture.to_str().unwrap()]).is_some() {
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 5, "the document and its four pages");
    }
}
