//! The journal through the built binary: what was practised is there the next time, whatever happened to the process or the
//! disk.

#![allow(clippy::print_stdout, reason = "how often it was killed is for whoever runs it with --nocapture")]

use crate::disk::SmallDisk;
use crate::{take, text};
use layout::Harp;
use serde_json::Value;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::thread;
use std::time::Duration;

/// The binary with a data folder of its own.
fn program(data: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    command.args(arguments).env_clear().env("HOME", crate::NO_HOME).env("XDG_DATA_HOME", data);
    command
}

pub(crate) fn said(data: &Path, arguments: &[&str]) -> (i32, String, String) {
    let Output { status, stdout, stderr } = program(data, arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (status.code().unwrap_or(-1), text(stdout), text(stderr))
}

fn exported(data: &Path) -> Vec<Value> {
    let (code, out, err) = said(data, &["journal", "export"]);
    assert_eq!(code, 0, "{err}");
    out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn of_kind<'a>(lines: &'a [Value], kind: &str) -> Vec<&'a Value> {
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

/// The program listening to a pipe through which the take comes ten times as fast as it was played.
fn listening(data: &Path, folder: &Path) -> Child {
    let mut command = program(data, &["drill", text(&folder.join("drill.toml")), "--from", "-", "--json"]);
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let (mut pipe, wav) = (child.stdin.take().unwrap(), fs::read(folder.join("take.wav")).unwrap());
    thread::spawn(move || {
        // A hundredth of a second at ten times 16 000 samples of four bytes.
        for block in wav.chunks(6_400) {
            if pipe.write_all(block).is_err() {
                return;
            }
            thread::sleep(Duration::from_millis(10));
        }
    });
    child
}

/// Killed after so many judged tries and a moment; says how many had been told.
fn killed(data: &Path, folder: &Path, tries: usize, moment: Duration) -> usize {
    let mut child = listening(data, folder);
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut judged = 0;
    while judged < tries {
        let line = lines.next().expect("it goes on").unwrap();
        judged += usize::from(line.contains("\"event\":\"judged\""));
    }
    thread::sleep(moment);
    child.kill().unwrap();
    child.wait().unwrap();
    judged + lines.map_while(Result::ok).filter(|line| line.contains("\"event\":\"judged\"")).count()
}

/// When the process dies, nothing is lost but the try in progress and the one that was judged in the moment before: it is told at
/// once and written by another thread. Here four programs want the same disk ten times as often as players would.
#[test]
fn a_process_that_is_killed_loses_no_more_than_the_try_in_progress() {
    let kills = std::env::var("BENDWRIGHT_KILLS").map_or(8, |kills| kills.parse().unwrap());
    let (folder, data) = (folder(), tempfile::tempdir().unwrap());
    let mut random = oorandom::Rand32::new(7);
    let plan: Vec<(usize, Duration)> = (0..kills)
        .map(|_| {
            (
                1 + random.rand_range(0..4) as usize,
                Duration::from_micros(random.rand_range(5_000..120_000).into()),
            )
        })
        .collect();
    // Four programs write to the same journal at a time.
    let told: usize = plan
        .chunks(4)
        .map(|some| {
            thread::scope(|scope| {
                let runs: Vec<_> = some
                    .iter()
                    .map(|(tries, moment)| {
                        scope.spawn(|| killed(data.path(), folder.path(), *tries, *moment))
                    })
                    .collect();
                runs.into_iter().map(|run| run.join().unwrap()).sum::<usize>()
            })
        })
        .sum();
    let (code, check, err) = said(data.path(), &["journal", "check"]);
    assert_eq!(code, 0, "{err}");
    let kept = of_kind(&exported(data.path()), "try").len();
    println!("killed {kills} times: {told} tries were told, {kept} are kept; {}", check.trim());
    assert!(kept + kills >= told && kept <= told + kills, "{told} told, {kept} kept");
}

#[test]
fn a_full_disk_costs_a_sentence_and_no_practice() {
    let Some(disk) = SmallDisk::new() else { return };
    disk.fill();
    let folder = folder();
    let (drill, wav) = (folder.path().join("drill.toml"), folder.path().join("take.wav"));
    let (code, out, err) = said(disk.path(), &["drill", text(&drill), "--from", text(&wav), "--plain"]);
    assert!(code == 0 && out.contains("summary: done, 4 of 12 landed"), "{code}: {out}{err}");
}

#[test]
fn a_folder_in_the_place_of_the_journal_is_told() {
    let (folder, data) = (folder(), tempfile::tempdir().unwrap());
    let file = data.path().join("bendwright/journal.sqlite");
    fs::create_dir_all(&file).unwrap();
    let (drill, wav) = (folder.path().join("drill.toml"), folder.path().join("take.wav"));
    let (code, out, err) = said(data.path(), &["drill", text(&drill), "--from", text(&wav), "--plain"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("nothing is kept in a journal") && out.contains("no regular file"), "{out}");
    let (code, _, err) = said(data.path(), &["journal"]);
    assert!(code == 1 && err.contains("no regular file"), "{code}: {err}");
}
