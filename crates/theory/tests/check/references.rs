//! The results of general-purpose libraries, made once by the scripts in `tests/references` and committed there.

use serde_json::Value;

/// The scale dictionary of an npm package.
pub(crate) fn tonaljs() -> Value {
    serde_json::from_str(include_str!("../../../../tests/references/tonaljs-scale-types.json")).unwrap()
}

/// Scales, chord kinds, chord symbols and roman numerals of a `PyPI` package.
pub(crate) fn music21() -> Value {
    serde_json::from_str(include_str!("../../../../tests/references/music21-theory.json")).unwrap()
}

pub(crate) fn rows<'a>(file: &'a Value, part: &str) -> &'a Vec<Value> {
    file[part].as_array().unwrap()
}

pub(crate) fn text<'a>(row: &'a Value, field: &str) -> &'a str {
    row[field].as_str().unwrap()
}

pub(crate) fn texts<'a>(row: &'a Value, field: &str) -> Vec<&'a str> {
    row[field].as_array().unwrap().iter().map(|item| item.as_str().unwrap()).collect()
}

#[test]
fn each_file_says_what_made_it() {
    for (file, package, version) in
        [(tonaljs(), "@tonaljs/scale-type", "4.9.3"), (music21(), "music21", "10.5.1")]
    {
        assert_eq!(text(&file["source"], "package"), package);
        assert_eq!(text(&file["source"], "version"), version);
        assert_eq!(text(&file["source"], "date").len(), "2026-11-25".len());
    }
}
