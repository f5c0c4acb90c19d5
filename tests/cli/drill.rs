//! Drills without a screen: the whole path from a recording to verdicts.

use crate::take::{TRIES, drill, samples, write};
use crate::{Run, run, text};
use layout::{Harp, HarpKey};
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

/// The folder with the take on a harp of this key and the drill that goes with it.
fn take(key: &str, rate: u32) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let harp = Harp::richter(key.parse::<HarpKey>().unwrap());
    write(&folder.path().join("take.wav"), &samples(&harp, f64::from(rate), 11), rate);
    fs::write(folder.path().join("twelve.toml"), drill()).unwrap();
    folder
}

fn judge(folder: &TempDir, key: &str, form: &str, block: usize) -> Run {
    let wav = folder.path().join("take.wav");
    let drill = folder.path().join("twelve.toml");
    let block = block.to_string();
    let run = run(&["drill", text(&drill), "--harp", key, "--from", text(&wav), form, "--block", &block]);
    assert_eq!(run.code, 0, "{}", run.err);
    run
}

fn lines(run: &Run, event: &str) -> Vec<Value> {
    let all = run.out.lines().map(|line| serde_json::from_str::<Value>(line).expect("a line of JSON"));
    all.inspect(|line| assert_eq!(line["schema"], "bendwright/lines/1"))
        .filter(|line| line["event"] == event)
        .collect()
}

fn check_twelve(run: &Run) {
    let judged = lines(run, "judged");
    assert_eq!(judged.len(), TRIES.len(), "{}", run.out);
    for (line, (tab, error, verdict)) in judged.iter().zip(TRIES) {
        assert_eq!(line["tab"], tab);
        assert_eq!(line["outcome"], verdict, "{tab} played {error:+} cents off: {line}");
        let off = line["cents_off"].as_f64().expect("a figure");
        assert!((off - error).abs() < 3.0, "{tab}: played {error:+}, measured {off:+}");
    }
    let summary = &lines(run, "summary")[0];
    assert_eq!((summary["tries"].as_u64(), summary["landed"].as_u64()), (Some(12), Some(4)));
    assert_eq!(summary["complete"], true);
}

#[test]
fn twelve_tries_with_known_errors_are_judged_rightly() {
    for (key, rate) in [("C", 48_000), ("low F", 44_100), ("high G", 48_000)] {
        check_twelve(&judge(&take(key, rate), key, "--json", 512));
    }
}

#[test]
fn the_block_size_changes_nothing() {
    let folder = take("C", 48_000);
    let expected = judge(&folder, "C", "--json", 512).out;
    for block in [1, 37, 4096, 100_000] {
        assert_eq!(judge(&folder, "C", "--json", block).out, expected, "block of {block}");
    }
}

#[test]
fn plain_says_the_same_in_sentences() {
    let folder = take("C", 48_000);
    let plain = judge(&folder, "C", "--plain", 512);
    let judged: Vec<&str> = plain.out.lines().filter(|line| line.starts_with("judged:")).collect();
    assert_eq!(judged.len(), 12);
    for (line, (tab, _, verdict)) in judged.iter().zip(TRIES) {
        assert!(line.contains(&format!(": {tab}: {verdict}")), "{line}");
    }
    // A bend between two depths names both distances.
    assert!(
        judged[1].contains("60.0 cents below 3 draw") && judged[1].contains("40.0 cents above"),
        "{}",
        judged[1]
    );
}

#[test]
fn the_built_in_player_goes_through_every_drill() {
    let list = run(&["drill", "--list"]);
    let names: Vec<&str> = list.out.lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert!(names.len() >= 7, "{}", list.out);
    for name in names {
        let run = run(&["drill", name, "--from", "player", "--json"]);
        assert_eq!(run.code, 0, "{name}: {}", run.err);
        // A drill of chords has lines of its own, and lands nothing.
        let chords = lines(&run, "chord").into_iter().filter(|line| line["kind"] == "summary");
        let summaries: Vec<Value> = lines(&run, "summary").into_iter().chain(chords).collect();
        let [summary] = &summaries[..] else { panic!("{name}: {summaries:?}") };
        assert_eq!(summary["complete"], true, "{name}");
        let good = summary["landed"].as_u64().or(summary["right"].as_u64());
        assert!(good > Some(0), "{name}: {summary}");
    }
}

#[test]
fn a_harp_of_other_reeds_is_offered_what_it_can_play() {
    // Solo tuning has no half step on 4 draw (its reeds are B4 and C5), so the first drill of the list is not for it.
    let list = run(&["drill", "--list", "--tuning", "solo"]);
    assert!(!list.out.contains("first-half-steps") && list.out.contains("long-tones"), "{}", list.out);
    assert!(list.err.contains("not for solo tuning: first-half-steps"), "{}", list.err);
    let first = run(&["drill", "--tuning", "solo", "--from", "player", "--json"]);
    assert_eq!((first.code, lines(&first, "summary").len()), (0, 1), "{}", first.err);
}

#[test]
fn a_recording_that_ends_early_keeps_what_was_judged() {
    let folder = take("C", 48_000);
    let long = folder.path().join("long.toml");
    fs::write(&long, format!("{}\n[[item]]\nplay = \"-5\"\n", drill())).unwrap();
    let run = run(&["drill", text(&long), "--from", text(&folder.path().join("take.wav")), "--json"]);
    assert_eq!(lines(&run, "judged").len(), 12);
    assert_eq!(lines(&run, "summary")[0]["complete"], false);
}

#[test]
fn free_playing_is_named() {
    let run = run(&["listen", "--from", "player", "--plain"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let first = run.out.lines().find(|line| line.starts_with("note:")).expect("a note");
    // The built-in player begins on 2 draw, which on a C harp is G4, the home note of 2nd position.
    assert!(first.contains("-2") && first.contains("G4") && first.contains("degree 1"), "{first}");
}

/// A pipe that brings nothing more keeps nobody from ending the drill, and what was played is told.
#[cfg(unix)]
#[test]
fn ctrl_c_on_a_silent_pipe_ends_a_drill_with_its_summary() {
    use rustix::process::{Pid, Signal, kill_process};
    use std::io::{BufRead, BufReader, Write};
    use std::process::{Command, Stdio};
    let folder = take("C", 48_000);
    let wav = fs::read(folder.path().join("take.wav")).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_bendwright"))
        .args(["drill", text(&folder.path().join("twelve.toml")), "--harp", "C", "--from", "-", "--json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut pipe = child.stdin.take().unwrap();
    let mut told = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
    // Seven seconds of float samples: enough for the verdict on the first try.
    pipe.write_all(&wav[..4 * 7 * 48_000]).unwrap();
    assert!(told.any(|line| line.contains("\"judged\"")), "nothing was judged");
    kill_process(Pid::from_child(&child), Signal::INT).unwrap();
    let summary: Value = serde_json::from_str(&told.last().expect("a summary")).unwrap();
    assert_eq!((&summary["event"], summary["tries"].as_u64()), (&"summary".into(), Some(1)));
    assert_eq!(child.wait().unwrap().code(), Some(130));
    drop(pipe);
}

/// When feedback has faded, tries are told five together; none is lost.
#[test]
fn tries_are_told_together_when_feedback_has_faded() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("long.toml");
    fs::write(&file, "title = 'Long'\nhold = 0.4\ntries = 18\n[[item]]\nplay = '-4'\n").unwrap();
    let said = |feedback: &str| {
        let run = run(&["drill", text(&file), "--from", "player", "--plain", "--feedback", feedback]);
        assert_eq!(run.code, 0, "{}", run.err);
        let kept = |line: &&str| line.starts_with("asked: ") || line.starts_with("judged: ");
        run.out.lines().filter(kept).map(str::to_owned).collect::<Vec<_>>()
    };
    let of = |lines: &[String], what: &str| -> Vec<String> {
        lines.iter().filter(|line| line.starts_with(what)).cloned().collect()
    };
    let [always, fading, after] = ["always", "fading", "after"].map(said);
    assert_eq!(of(&always, "judged: ").len(), 18, "{always:#?}");
    assert_eq!((of(&fading, "judged: "), &after), (of(&always, "judged: "), &always));
    // The first fifteen are told each before the next is asked for, the rest at the end.
    assert_eq!(fading[..31], always[..31]);
    assert!(fading[31..33].iter().all(|line| line.starts_with("asked: ")), "{fading:#?}");
    assert!(fading[33..].iter().all(|line| line.starts_with("judged: ")), "{fading:#?}");

    let mistake = run(&["drill", text(&file), "--feedback", "never", "--plain"]);
    assert_eq!(mistake.code, 2);
    assert!(mistake.err.contains("there are: always, fading, after"), "{}", mistake.err);
}
