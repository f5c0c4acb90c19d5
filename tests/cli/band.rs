//! `band`: what it writes, what it says, what it refuses.

use crate::{NO_HOME, run, text};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Command;

/// The samples of a WAV file and its rate, read by a library of its own.
fn samples(file: &Path) -> (Vec<f64>, f64) {
    let mut wav = hound::WavReader::open(file).unwrap();
    let spec = wav.spec();
    assert_eq!((spec.channels, spec.bits_per_sample), (1, 16));
    let samples = wav.samples::<i16>().map(|x| f64::from(x.unwrap()) / 32_768.0).collect();
    (samples, f64::from(spec.sample_rate))
}

fn lines(out: &str) -> Vec<Value> {
    let lines: Vec<Value> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(lines.iter().all(|line| line["schema"] == "bendwright/band/1"));
    lines
}

/// A recording of one channel for the program to read.
fn recorded(file: &Path, seconds: f64, hz: f64) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 44_100,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(file, spec).unwrap();
    for n in 0..(seconds * 44_100.0) as u32 {
        let x = (std::f64::consts::TAU * hz * f64::from(n) / 44_100.0).sin();
        wav.write_sample((x * 20_000.0) as i16).unwrap();
    }
    wav.finalize().unwrap();
}

#[test]
fn a_form_is_written_with_its_bars() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("band.wav");
    let arguments =
        ["band", "--key", "A", "--tempo", "240", "--choruses", "1", "--json", "--without", "kit, chords"];
    let run = run(&[&arguments[..], &["--out", text(&file)]].concat());
    assert_eq!(run.code, 0, "{}", run.err);
    let lines = lines(&run.out);
    assert_eq!(
        (&lines[0]["event"], &lines[0]["bars"], &lines[0]["bar_s"]),
        (&"band".into(), &13.into(), &1.0.into())
    );
    let bars: Vec<&Value> = lines.iter().filter(|line| line["event"] == "bar").collect();
    // The twelve-bar form in A: common practice, no source.
    let chords: Vec<&str> = bars.iter().map(|bar| bar["chords"][0].as_str().unwrap()).collect();
    let form = ["A7", "A7", "A7", "A7", "D7", "D7", "A7", "A7", "E7", "D7", "A7", "E7", "A7"];
    assert_eq!(chords, form);
    // The bass alone is silent before each bar line, where a note begins.
    let (sound, rate) = samples(&file);
    for bar in bars {
        let at = (bar["at_s"].as_f64().unwrap() * rate).round() as usize;
        assert!(sound[at.saturating_sub(100)..=at].iter().all(|x| *x == 0.0), "{bar}");
        assert!(sound[at..at + 20].iter().any(|x| *x != 0.0), "{bar}");
    }
    let peak = sound.iter().fold(0.0_f64, |peak, x| peak.max(x.abs()));
    assert!(peak > 0.01 && 20.0 * peak.log10() <= -15.0, "{peak}");
}

#[test]
fn the_same_arguments_write_the_same_file_and_nothing_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    let write = |name: &str, seed: &str| {
        let file = file(name);
        let args = ["band", "--form", "I7 | IV7 V7", "--feel", "waltz", "--choruses", "1", "--seed", seed];
        run(&[&args[..], &["--out", text(&file)]].concat())
    };
    for (name, seed) in [("a.wav", "1"), ("b.wav", "1"), ("c.wav", "2")] {
        let written = write(name, seed);
        assert_eq!(written.code, 0, "{}", written.err);
        assert!(written.out.starts_with("I7 | IV7 V7 in G, waltz at 108, once\n"), "{}", written.out);
        assert!(written.out.contains("| G7        | C7 D7     |"), "{}", written.out);
    }
    let bytes = |name: &str| fs::read(file(name)).unwrap();
    assert!(bytes("a.wav") == bytes("b.wav") && bytes("a.wav") != bytes("c.wav"));
    let refused = write("a.wav", "2");
    assert!(refused.code == 2 && refused.err.contains("--force"), "{}", refused.err);
    assert!(bytes("a.wav") == bytes("b.wav"));
    let nowhere = run(&["band", "--choruses", "1", "--out", text(&folder.path().join("no/a.wav"))]);
    assert!(nowhere.code == 2 && nowhere.err.contains("cannot be written"), "{}", nowhere.err);
}

#[test]
fn a_drone_is_a_degree_below_the_harp() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("drone.wav");
    let drone = ["band", "--harp", "D", "--drone", "b7", "--seconds", "2", "--out", text(&file)];
    let run = run(&drone);
    // 2nd position of a D harp is A, its flat seventh G: G3 is 196 Hz, below D4.
    assert!(
        run.code == 0 && run.out.contains("a drone on G, the ♭7 of A, 196.0 Hz"),
        "{} {}",
        run.out,
        run.err
    );
    let (sound, rate) = samples(&file);
    let middle = &sound[(0.5 * rate) as usize..(1.5 * rate) as usize];
    let rising = middle.windows(2).filter(|pair| pair[0] <= 0.0 && pair[1] > 0.0).count();
    assert!((195..=197).contains(&rising), "{rising}");
    let peak = sound.iter().fold(0.0_f64, |peak, x| peak.max(x.abs()));
    assert!(peak > 0.01 && 20.0 * peak.log10() <= -20.0, "{peak}");
}

#[test]
fn forms_are_listed() {
    let listed = run(&["band", "--list", "--ascii"]);
    assert!(listed.code == 0 && listed.out.is_ascii());
    for name in ["twelve-bar", "minor twelve-bar", "ii-V-I", "I-IV", "one chord"] {
        assert!(listed.out.lines().any(|line| line.starts_with(name)), "{name}: {}", listed.out);
    }
}

#[test]
fn bad_input_is_a_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let wav = folder.path().join("own.wav");
    recorded(&wav, 1.0, 200.0);
    let silent = folder.path().join("silent.wav");
    recorded(&silent, 1.0, 0.0);
    let (wav, silent) = (text(&wav), text(&silent));
    let cases: [(&[&str], &[&str]); 17] = [
        (&["--form", "twelf-bar"], &["did you mean \"twelve-bar\"?", "numeral 1"]),
        (&["--form", "I7 | H7"], &["numeral 2 of 2", "\"H7\" is no chord"]),
        (&["--feel", "shufle"], &["did you mean \"shuffle\"?", "slow 12/8"]),
        (&["--key", "H"], &["--key", "is no note"]),
        (&["--tempo", "300"], &["--tempo", "30 to 240"]),
        (&["--tempo", "fast"], &["--tempo", "fast"]),
        (&["--metre", "7/8"], &["--metre", "12/8"]),
        (&["--without", "drums"], &["there is no player of the band \"drums\"", "kit"]),
        (&["--level", "-6"], &["--level", "-60 to -12"]),
        (&["--drone", "x"], &["--drone", "x"]),
        (&["--drone", "1", "--seconds", "0"], &["--seconds", "out of range"]),
        (&["--recording", wav], &["--first-beat", "--tempo", "nobody knows where its beats are"]),
        (&["--recording", wav, "--tempo", "100"], &["--first-beat"]),
        (&["--recording", wav, "--tap"], &["--tap", "needs a terminal"]),
        (&["--recording", silent, "--tap"], &["nothing but silence"]),
        (&["--recording", wav, "--tempo", "100", "--first-beat", "3"], &["--first-beat", "1.0"]),
        (&["--recording", silent, "--tempo", "100", "--first-beat", "0"], &["nothing but silence"]),
    ];
    for (arguments, said) in cases {
        let run = run(&[&["band"], arguments].concat());
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{arguments:?}: {}", run.err);
        for words in said {
            assert!(run.err.contains(words), "{arguments:?}: {}", run.err);
        }
    }
    let long = folder.path().join("long.wav");
    let refused = run(&["band", "--tempo", "30", "--choruses", "1000", "--out", text(&long)]);
    assert!(refused.code == 2 && refused.err.contains("take fewer") && !long.exists(), "{}", refused.err);
}

#[test]
fn a_form_of_ones_own_with_a_wrong_chord_is_named_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("progressions.toml");
    fs::write(&own, "[[progression]]\nname = \"mine\"\nbars = \"I7 | J7\"\n").unwrap();
    let settings = folder.path().join("config.toml");
    fs::write(&settings, "").unwrap();
    let run = run(&["band", "--config", text(&settings), "--form", "mine"]);
    assert_eq!(run.code, 2, "{}", run.err);
    for words in ["progressions.toml", "line 3, column 14", "\"J7\" is no chord"] {
        assert!(run.err.contains(words), "{words}: {}", run.err);
    }
}

#[test]
fn without_a_loudspeaker_it_says_what_to_do() {
    // No sound server is found without a home, and no card without ALSA's own settings.
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    command.args(["band", "--choruses", "1"]).env_clear().env("HOME", NO_HOME);
    let output = command.env("ALSA_CONFIG_PATH", "/dev/null").output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), output.stdout.len()), (Some(1), 0), "{said}");
    assert!(said.contains("loudspeaker") && said.contains("--out FILE.wav"), "{said}");
}
