//! Bad input: a clear sentence, exit code 2, and what there is of good sound is used.

use crate::{run, text};
use hound::{SampleFormat, WavSpec, WavWriter};
use std::f32::consts::TAU;
use std::fs;
use std::path::{Path, PathBuf};

const A4: f32 = 440.0;

fn spec(channels: u16, sample_rate: u32, bits: u16, format: SampleFormat) -> WavSpec {
    WavSpec { channels, sample_rate, bits_per_sample: bits, sample_format: format }
}

/// Two seconds of a tone with three harmonics in every channel.
fn tone(path: &Path, spec: WavSpec) {
    let mut writer = WavWriter::create(path, spec).unwrap();
    for n in 0..2 * spec.sample_rate {
        let phase = TAU * A4 * n as f32 / spec.sample_rate as f32;
        let value = 0.3 * phase.sin() + 0.1 * (2.0 * phase).sin() + 0.05 * (3.0 * phase).sin();
        for _ in 0..spec.channels {
            match spec.sample_format {
                SampleFormat::Float => writer.write_sample(value).unwrap(),
                SampleFormat::Int => {
                    let full = 2f32.powi(i32::from(spec.bits_per_sample) - 1) - 1.0;
                    writer.write_sample((value * full) as i32).unwrap();
                }
            }
        }
    }
    writer.finalize().unwrap();
}

/// Median of the `hz` column and number of voiced rows of a track.
fn tracked(path: &Path) -> (f64, usize) {
    let run = run(&["track", text(path)]);
    assert_eq!(run.code, 0, "{}", run.err);
    let mut hz: Vec<f64> =
        run.out.lines().skip(1).filter_map(|row| row.split(',').nth(2)?.parse().ok()).collect();
    hz.sort_by(f64::total_cmp);
    (hz.get(hz.len() / 2).copied().unwrap_or(f64::NAN), hz.len())
}

fn folder_with(name: &str, content: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    fs::write(&path, content).unwrap();
    (folder, path)
}

#[test]
fn every_usual_wav_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let kinds = [
        ("8k.wav", spec(1, 8_000, 16, SampleFormat::Int)),
        ("8-channels.wav", spec(8, 48_000, 16, SampleFormat::Int)),
        ("8-bit.wav", spec(1, 44_100, 8, SampleFormat::Int)),
        ("24-bit.wav", spec(2, 44_100, 24, SampleFormat::Int)),
        ("32-bit.wav", spec(1, 96_000, 32, SampleFormat::Int)),
        ("float.wav", spec(1, 48_000, 32, SampleFormat::Float)),
    ];
    for (name, spec) in kinds {
        let path = folder.path().join(name);
        tone(&path, spec);
        let (hz, rows) = tracked(&path);
        let cents = 1200.0 * (hz / f64::from(A4)).log2();
        assert!(cents.abs() < 1.0 && rows > 400, "{name}: {hz} Hz in {rows} rows");
    }
}

#[test]
fn what_is_no_recording_is_said_in_a_sentence() {
    let cases: [(&str, &[u8]); 3] = [
        ("poem.wav", b"this is no sound at all, only words"),
        ("empty.wav", b""),
        ("riff.wav", b"RIFF\x04\0\0\0WAVE"),
    ];
    for (name, content) in cases {
        let (_folder, path) = folder_with(name, content);
        for arguments in [vec!["track", text(&path)], vec!["drill", "--plain", "--from", text(&path)]] {
            let run = run(&arguments);
            assert_eq!(run.code, 2, "{name}: {}", run.err);
            assert!(run.err.contains(name) && run.err.contains("WAV"), "{name}: {}", run.err);
            assert!(!run.err.contains("panicked"), "{}", run.err);
        }
    }
    let missing = run(&["track", "no/such/file.wav"]);
    assert!(missing.code == 2 && missing.err.contains("no/such/file.wav"), "{}", missing.err);
}

#[test]
fn not_a_number_is_silence() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("nan.wav");
    let mut writer = WavWriter::create(&path, spec(1, 48_000, 32, SampleFormat::Float)).unwrap();
    (0..48_000).for_each(|_| writer.write_sample(f32::NAN).unwrap());
    writer.finalize().unwrap();
    let (_, rows) = tracked(&path);
    assert_eq!(rows, 0);
}

#[test]
fn a_recording_cut_in_the_middle_gives_what_there_is() {
    let folder = tempfile::tempdir().unwrap();
    let whole = folder.path().join("whole.wav");
    tone(&whole, spec(1, 48_000, 16, SampleFormat::Int));
    let bytes = fs::read(&whole).unwrap();
    let cut = folder.path().join("cut.wav");
    fs::write(&cut, &bytes[..=bytes.len() / 2]).unwrap();
    let run = run(&["track", text(&cut)]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.err.contains("cut.wav"), "the cut is not mentioned: {}", run.err);
    assert!(tracked(&cut).1 > 200);
}

#[test]
fn a_drill_with_a_mistake_names_file_line_and_column() {
    let cases = [
        ("hole.toml", "title = \"x\"\n[[item]]\nplay = \"-11\"\n", "line 3", "10"),
        (
            "deep.toml",
            "title = \"x\"\n[[item]]\nplay = \"-1'''\"\n",
            "line 3",
            "1 draw bends a half step at most",
        ),
        ("key.toml", "title = \"x\"\ntempo = 3\n[[item]]\nplay = \"-4\"\n", "line 2", "tempo"),
        ("syntax.toml", "title = \"x\n", "line 1", "syntax.toml"),
    ];
    for (name, content, line, word) in cases {
        let (_folder, path) = folder_with(name, content.as_bytes());
        let run = run(&["drill", text(&path), "--plain", "--from", "player"]);
        assert_eq!(run.code, 2, "{name}: {}", run.err);
        assert!(!run.err.starts_with("bendwright: /"), "the reason comes first: {}", run.err);
        for part in [name, line, "column", word] {
            assert!(run.err.contains(part), "{name} does not say {part}: {}", run.err);
        }
    }
}

#[test]
fn wrong_options_are_user_errors() {
    for (arguments, word) in [
        (vec!["drill", "--plain", "--harp", "H"], "H"),
        (vec!["drill", "--plain", "--a4", "300"], "400"),
        (vec!["drill", "--plain", "no-such-drill"], "no-such-drill"),
        (vec!["drill", "--plain", "--tuning", "odd"], "Richter"),
        (vec!["track"], "FILE"),
        (vec!["track", "/dev/null"], "empty"),
        (vec!["practise"], "practise"),
    ] {
        let run = run(&arguments);
        assert_eq!(run.code, 2, "{arguments:?}: {}", run.err);
        assert!(run.err.contains(word), "{arguments:?}: {}", run.err);
    }
}

#[test]
fn absurd_numbers_are_no_fault_of_the_program() {
    let huge = run(&["drill", "long-tones", "--from", "player", "--plain", "--block", "99999999999999"]);
    assert_eq!(huge.code, 0, "{}", huge.err);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tone.wav");
    tone(&path, spec(1, 8_000, 16, SampleFormat::Int));
    // Longer than any clock runs; the recording ends first. There may be no sound system to list, which is no panic.
    let long = run(&["sound", "--seconds", "1e19", "--from", text(&path)]);
    assert!(!long.err.contains("panicked") && long.code == 0, "{}", long.err);
}

#[test]
fn a_broken_config_is_reported_and_the_program_goes_on() {
    let content = b"harp = \"A\"\r\na4 = \"high\"\r\n[tab]\r\nstyle = \"odd\"\r\ndraw = \"d\"\r\n";
    let (_folder, path) = folder_with("config.toml", content);
    let run = run(&["--config", text(&path), "map"]);
    assert_eq!(run.code, 0);
    // What is right beside it is used.
    assert!(run.out.starts_with("A harp") && run.out.contains("d4"), "{}", run.out);
    for said in [
        "a number is wanted, not the text \"high\"",
        "line 2, column 6; left out",
        "line 4, column 9; left out",
    ] {
        assert!(run.err.contains(said), "no {said}: {}", run.err);
    }
    assert_eq!(fs::read(&path).unwrap(), content);
}

#[cfg(unix)]
fn named_pipe(folder: &Path, name: &str) -> PathBuf {
    let pipe = folder.join(name);
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    pipe
}

/// Nobody writes to these pipes, so whoever opened one would wait for ever.
#[cfg(unix)]
#[test]
fn a_pipe_is_refused_where_a_recording_has_to_begin_anew() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = named_pipe(folder.path(), "take.wav");
    for from in [text(&pipe), "-"] {
        let run = run(&["sound", "--from", from]);
        assert_eq!(run.code, 2, "{}", run.err);
        assert!(
            run.err.contains(&format!("{from} is no file")) && run.err.contains("--plain"),
            "{}",
            run.err
        );
    }
}

/// Nothing that is read needs a place to write.
#[test]
fn recordings_need_no_place_for_temporary_files() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tone.wav");
    tone(&path, spec(1, 48_000, 16, SampleFormat::Int));
    let path = text(&path);
    for arguments in
        [&["track", path][..], &["listen", "--plain", "--from", path], &["drill", "--plain", "--from", path]]
    {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_bendwright"));
        let output = command.args(arguments).env_clear().env("TMPDIR", "/nonexistent").output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && said.is_empty(), "{arguments:?}: {said}");
        assert!(!output.stdout.is_empty(), "{arguments:?}");
    }
}

/// File names of Linux are bytes, whatever letters they mean.
#[cfg(target_os = "linux")]
#[test]
fn a_file_name_in_no_alphabet_is_taken_everywhere() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(OsStr::from_bytes(b"t\xf6ne.wav"));
    tone(&path, spec(1, 48_000, 16, SampleFormat::Int));
    for arguments in [&["track"][..], &["listen", "--plain", "--from"]] {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_bendwright"));
        let output = command.args(arguments).arg(&path).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{arguments:?}: {said}");
        let heard = String::from_utf8_lossy(&output.stdout);
        assert!(heard.contains("440.0") || heard.contains("A4"), "{arguments:?}: {heard}");
    }
}

#[test]
fn a_device_and_a_source_that_is_none_are_not_taken_together() {
    for from in ["player", "take.wav"] {
        let run = run(&["listen", "--plain", "--device", "Jack", "--from", from]);
        assert_eq!((run.code, run.out.as_str()), (2, ""));
        assert!(
            run.err.contains("--device Jack") && run.err.contains(&format!("--from {from}")),
            "{}",
            run.err
        );
    }
    // The settings listen to the player; a device on the command line has the say.
    let (_folder, path) = folder_with("config.toml", b"[input]\nfrom = \"player\"\n");
    let run = run(&["--config", text(&path), "listen", "--plain", "--device", "no such microphone"]);
    assert_eq!((run.code, run.out.as_str()), (1, ""), "{}", run.err);
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    use std::process::{Command, Stdio};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tone.wav");
    tone(&path, spec(1, 48_000, 16, SampleFormat::Int));
    let mut child = Command::new(env!("CARGO_BIN_EXE_bendwright"))
        .args(["track", text(&path)])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}
