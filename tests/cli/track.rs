//! `track`: the CSV and what stands in it.

use crate::take::{samples_of, write};
use crate::{printed, run, text};
use layout::{Breath, Harp, HarpKey, Technique, Way};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use synth::{Gesture, SimulatedPlayer};

#[test]
fn one_row_a_hop_with_the_columns_promised() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("one.wav");
    let harp = Harp::richter("C".parse::<HarpKey>().unwrap());
    write(&path, &samples_of(&harp, 48_000.0, 5, &[("-4", 0.0, "landed")]), 48_000);
    let run = run(&["track", text(&path), "--harp", "C"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let mut rows = run.out.lines();
    assert_eq!(rows.next(), Some("known_s,time_s,hz,clarity,level_dbfs,onset,sigma_cents"));
    let rows: Vec<Vec<f64>> =
        rows.map(|row| row.split(',').map(|cell| cell.parse().unwrap_or(f64::NAN)).collect()).collect();
    let onsets = rows.iter().filter(|row| row[5] == 1.0).count();
    assert_eq!(onsets, 1, "one note has one onset");
    for pair in rows.windows(2) {
        let hop = pair[1][0] - pair[0][0];
        assert!(hop > 0.0 && hop < 0.003, "a hop of {hop} s");
        assert!(pair[1][1] <= pair[1][0], "described before it was known");
    }
    // Where there is a pitch there is an uncertainty.
    assert!(rows.iter().all(|row| row[2].is_finite() == (row[6] > 0.0)));
    // D5 at A4 = 440 is 587.3295 Hz (MIDI tuning formula).
    let voiced: Vec<f64> = rows.iter().map(|row| row[2]).filter(|hz| hz.is_finite()).collect();
    let near = voiced.iter().filter(|hz| (1200.0 * (**hz / 587.3295).log2()).abs() < 5.0).count();
    assert!(near * 100 > voiced.len() * 95, "{near} of {}", voiced.len());
}

/// A split, a leak at −14 dB and a note alone, half a second each with half a second between.
fn together(folder: &tempfile::TempDir, rate: u32) -> std::path::PathBuf {
    let path = folder.path().join("together.wav");
    let harp = Harp::richter("C".parse::<HarpKey>().unwrap());
    let draw = |hole| Way::new(hole, Breath::Draw, Technique::Natural);
    let gestures = [
        Gesture::chord(&[draw(4), draw(5)]),
        Gesture::new(draw(4)).leak(5, -14.0),
        Gesture::new(Way::new(3, Breath::Draw, Technique::Bend(1))),
    ];
    let mut player = SimulatedPlayer::new(&harp, f64::from(rate), 5);
    let mut samples = Vec::new();
    for gesture in gestures {
        player.play(gesture.seconds(0.5).rest(0.5)).unwrap();
    }
    while !player.is_idle() {
        let mut block = [0.0; 480];
        player.fill(&mut block);
        samples.extend(block);
    }
    write(&path, &samples, rate);
    path
}

const REED_COLUMNS: &str = "known_s,time_s,voices,tab_1,hz_1,level_dbfs_1,tab_2,hz_2,level_dbfs_2,\
                            tab_3,hz_3,level_dbfs_3,tab_4,hz_4,level_dbfs_4,tab_5,hz_5,level_dbfs_5";

/// The rows about the time from `from` to `to`, seconds, as cells.
fn reed_rows(out: &str, (from, to): (f64, f64)) -> Vec<Vec<&str>> {
    let mut lines = out.lines();
    assert_eq!(lines.next(), Some(REED_COLUMNS));
    let rows = lines.map(|row| row.split(',').collect::<Vec<_>>());
    rows.inspect(|row| assert_eq!(row.len(), 18, "{row:?}"))
        .filter(|row| (from..to).contains(&row[1].parse::<f64>().unwrap()))
        .collect()
}

#[test]
fn reeds_that_sound_together_are_printed_with_tab_and_level() {
    let folder = tempfile::tempdir().unwrap();
    let path = together(&folder, 48_000);
    let out = printed(&["track", text(&path), "--reeds", "--harp", "C"]);
    let number = |cell: &str| cell.parse::<f64>().unwrap();
    let split = reed_rows(&out, (0.65, 0.9));
    assert!(split.len() > 20);
    for row in split {
        let mut tabs = [row[3], row[6]];
        tabs.sort_unstable();
        assert_eq!((row[2], tabs), ("2", ["-4", "-5"]));
    }
    let leak: Vec<f64> = reed_rows(&out, (1.65, 1.9))
        .into_iter()
        .map(|row| {
            assert_eq!((row[2], row[3], row[6], row[9]), ("2", "-4", "-5", ""));
            // D5 and F5 at A4 = 440 (MIDI tuning formula).
            assert!((number(row[4]) - 587.33).abs() < 3.0 && (number(row[7]) - 698.46).abs() < 6.0);
            number(row[5]) - number(row[8])
        })
        .collect();
    let mean = leak.iter().sum::<f64>() / leak.len() as f64;
    assert!((mean - 14.0).abs() < 1.0, "{mean} dB below");
    assert!(reed_rows(&out, (2.65, 2.9)).iter().all(|row| row[2] == "1" && row[3] == "-3'"));
}

#[test]
fn without_a_harp_two_pitches_are_printed_and_no_tab() {
    let folder = tempfile::tempdir().unwrap();
    let path = together(&folder, 44_100);
    let out = printed(&["track", text(&path), "--reeds"]);
    for row in reed_rows(&out, (0.65, 0.9)) {
        let mut hz = [row[4], row[7]].map(|cell| cell.parse::<f64>().unwrap());
        hz.sort_by(f64::total_cmp);
        assert!((hz[0] - 587.33).abs() < 3.0 && (hz[1] - 698.46).abs() < 3.0, "{row:?}");
        assert_eq!((row[2], row[3], row[6]), ("2", "", ""));
    }
}

#[test]
fn rows_do_not_depend_on_the_blocks() {
    let folder = tempfile::tempdir().unwrap();
    let path = together(&folder, 48_000);
    for more in [&["--reeds", "--harp", "C"][..], &["--reeds"], &[]] {
        let rows = |block| {
            let arguments = [&["track", text(&path), "--block", block][..], more].concat();
            printed(&arguments)
        };
        assert!(rows("512") == rows("77"), "{more:?}");
    }
}

#[test]
fn a_sample_rate_too_low_for_reeds_is_said_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("low.wav");
    write(&path, &vec![0.0; 8_000], 8_000);
    let refused = run(&["track", text(&path), "--reeds"]);
    assert_eq!((refused.code, refused.out.as_str()), (2, ""));
    assert!(
        refused.err.contains("8000 samples a second") && refused.err.contains("12000"),
        "{}",
        refused.err
    );
    assert_eq!(run(&["track", text(&path)]).code, 0, "the pitch can be told there");
}

/// The program listening to a pipe, which is in the hand of the test.
fn on_a_pipe(arguments: &[&str]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_bendwright"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// What is printed of a recording that is written to a pipe.
fn printed_of(arguments: &[&str], recording: Vec<u8>) -> String {
    let mut child = on_a_pipe(arguments);
    let mut pipe = child.stdin.take().unwrap();
    let writer = std::thread::spawn(move || pipe.write_all(&recording));
    let Output { stdout, stderr, status } = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(status.success() && stderr.is_empty(), "{}", String::from_utf8_lossy(&stderr));
    String::from_utf8(stdout).unwrap()
}

#[test]
fn a_recording_on_standard_input_gives_the_same_rows() {
    let folder = tempfile::tempdir().unwrap();
    let path = together(&folder, 48_000);
    let whole = std::fs::read(&path).unwrap();
    let from_file = printed(&["track", text(&path), "--reeds", "--harp", "C"]);
    for name in ["-", "/dev/stdin"] {
        let arguments = ["track", name, "--reeds", "--harp", "C"];
        assert!(printed_of(&arguments, whole.clone()) == from_file, "{name} as a pipe");
        let stdin = std::fs::File::open(&path).unwrap();
        let child = Command::new(env!("CARGO_BIN_EXE_bendwright")).args(arguments).stdin(stdin).output();
        assert!(child.unwrap().stdout == from_file.as_bytes(), "{name} as a file");
    }
    // The lengths as programs leave them that cannot go back.
    let at = whole.windows(4).position(|name| name == b"data").unwrap();
    for lengths in [(u32::MAX, u32::MAX), (0, 0)] {
        let mut open = whole.clone();
        open.splice(4..8, lengths.0.to_le_bytes());
        open.splice(at + 4..at + 8, lengths.1.to_le_bytes());
        let rows = printed_of(&["track", "-", "--reeds", "--harp", "C"], open);
        assert!(rows == from_file, "{lengths:?}");
    }
}

#[test]
fn a_named_pipe_is_listened_to_as_a_file_is() {
    let folder = tempfile::tempdir().unwrap();
    let (path, pipe) = (together(&folder, 48_000), folder.path().join("pipe"));
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let lines = |path: &Path| printed(&["listen", "--plain", "--harp", "C", "--from", text(path)]);
    let writer = std::thread::spawn({
        let (path, pipe) = (path.clone(), pipe.clone());
        move || std::fs::write(pipe, std::fs::read(path).unwrap())
    });
    let piped = lines(&pipe);
    writer.join().unwrap().unwrap();
    assert_eq!(piped.replace(text(&pipe), ""), lines(&path).replace(text(&path), ""));
}

#[test]
fn rows_come_as_the_recording_does() {
    let folder = tempfile::tempdir().unwrap();
    let whole = std::fs::read(together(&folder, 48_000)).unwrap();
    let mut child = on_a_pipe(&["track", "-"]);
    let mut pipe = child.stdin.take().unwrap();
    // A second of float samples, and the pipe stays open.
    pipe.write_all(&whole[..200_000]).unwrap();
    let mut rows = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
    rows.next();
    let known = |row: String| row.split(',').next().unwrap().parse::<f64>().unwrap();
    assert!(rows.by_ref().map(known).any(|known| known > 0.9), "the rows ended before the pipe did");
    drop(pipe);
    assert!(rows.map(known).all(|known| known < 1.1));
    let Output { stderr, status, .. } = child.wait_with_output().unwrap();
    assert!(status.success() && String::from_utf8_lossy(&stderr).contains("standard input: "));
}

/// A pipe that brings nothing more keeps nobody from ending the program.
#[cfg(unix)]
#[test]
fn ctrl_c_ends_listening_to_a_pipe_that_says_nothing() {
    use rustix::process::{Pid, Signal, kill_process};
    let folder = tempfile::tempdir().unwrap();
    let whole = std::fs::read(together(&folder, 48_000)).unwrap();
    let mut child = on_a_pipe(&["listen", "--plain", "--harp", "C", "--from", "-"]);
    child.stdin.as_mut().unwrap().write_all(&whole[..400_000]).unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
    assert!(lines.any(|line| line.starts_with("together:")), "nothing was heard");
    kill_process(Pid::from_child(&child), Signal::INT).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(130));
}
