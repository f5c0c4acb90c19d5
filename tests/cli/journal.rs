//! The journal through the built binary: what was practised is there the next time, whatever happened to the process or
//! the disk.

use crate::{take, text};
use layout::Harp;
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// The binary with a data folder of its own.
pub(crate) fn program(data: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    command.args(arguments).env_clear().env("HOME", crate::NO_HOME).env("XDG_DATA_HOME", data);
    command
}

pub(crate) fn said(data: &Path, arguments: &[&str]) -> (i32, String, String) {
    let Output { status, stdout, stderr } = program(data, arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (status.code().unwrap_or(-1), text(stdout), text(stderr))
}

pub(crate) fn exported(data: &Path) -> Vec<Value> {
    let (code, out, err) = said(data, &["journal", "export"]);
    assert_eq!(code, 0, "{err}");
    out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

pub(crate) fn of_kind<'a>(lines: &'a [Value], kind: &str) -> Vec<&'a Value> {
    lines.iter().filter(|line| line["kind"] == kind).collect()
}

/// A folder with the twelve tries as a recording and as a drill.
pub(crate) fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("drill.toml"), take::drill()).unwrap();
    let harp = Harp::richter("C".parse().unwrap());
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut wav = hound::WavWriter::create(folder.path().join("take.wav"), spec).unwrap();
    for sample in take::samples(&harp, 16_000.0, 5) {
        wav.write_sample(sample).unwrap();
    }
    wav.finalize().unwrap();
    folder
}

#[test]
fn what_was_practised_is_there_the_next_time() {
    let (folder, data) = (folder(), tempfile::tempdir().unwrap());
    let data = data.path();
    assert!(said(data, &["journal"]).1.starts_with("Nothing is kept yet."));
    let (drill, wav) = (folder.path().join("drill.toml"), folder.path().join("take.wav"));
    let practised = said(data, &["drill", text(&drill), "--from", text(&wav), "--json", "--who", "Ida"]);
    assert_eq!(practised.0, 0, "{}", practised.2);
    assert_eq!(said(data, &["scale", "--from", "player", "--runs", "2", "--plain"]).0, 0);
    assert_eq!(said(data, &["drill", "holes-1-4-6", "--from", "player", "--plain", "--no-journal"]).0, 0);
    let lines = exported(data);
    // What the lines of text said is what is kept.
    let judged: Vec<Value> = practised.1.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let judged: Vec<&Value> = judged.iter().filter(|line| line["event"] == "judged").collect();
    let tries = of_kind(&lines, "try");
    assert_eq!((tries.len(), judged.len()), (12, 12));
    for (kept, told) in tries.iter().zip(judged) {
        assert_eq!(kept["outcome"], told["outcome"], "{kept} {told}");
    }
    assert_eq!((of_kind(&lines, "session").len(), of_kind(&lines, "run").len()), (2, 2));
    let by = |what: &str| {
        let entries = of_kind(&lines, "entry");
        let own: Vec<&str> = entries
            .iter()
            .filter(|entry| entry["entry"] == what)
            .map(|entry| entry["by"].as_str().unwrap())
            .collect();
        (own.len(), own[0].to_owned())
    };
    assert_eq!((by("try"), by("run")), ((12, "recording".to_owned()), (2, "built-in".to_owned())));
    assert_eq!(of_kind(&lines, "session")[0]["player"], "Ida");
    let (code, check, _) = said(data, &["journal", "check"]);
    assert_eq!((code, check.trim()), (0, "All is well: 12 tries and 2 runs."));
    let (code, copied, _) = said(data, &["journal", "backup"]);
    assert!(code == 0 && copied.contains("journal.sqlite.copies"), "{copied}");
}
