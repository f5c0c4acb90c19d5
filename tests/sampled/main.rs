//! Tones that are not ours: the reeds of a General MIDI sound font, rendered by fluidsynth. `track` against a
//! least-squares fit over a long window of the same file; and, in `timed.rs`, onsets and notes of runs against the MIDI
//! file.
//!
//! Needs the Debian packages fluidsynth and fluid-soundfont-gm, so it runs only when it is named:
//! `cargo test --release --package bendwright --test sampled`.

#![allow(clippy::print_stdout, reason = "the figures are for whoever reads the run")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../time/figures.rs"]
mod figures;
mod fit;
#[path = "../time/heard.rs"]
mod heard;
mod midi;
mod timed;
#[path = "../time/written.rs"]
mod written;

use midi::Note;
use std::path::Path;
use std::process::{Command, Stdio};

/// General MIDI program "Harmonica", counted from 0.
const HARMONICA: u8 = 22;

/// The lowest and the highest note, as MIDI key numbers.
const LOWEST: u8 = 53;
const HIGHEST: u8 = 96;

/// Each note sounds this long and is followed by this much silence, seconds.
const NOTE_S: f64 = 2.0;
const REST_S: f64 = 1.0;

/// What of a note is judged, seconds after its beginning: past the attack, short of the end.
const JUDGED_S: (f64, f64) = (0.08, 1.9);

/// The part that the fit measures: settled, and long enough for a hundredth of a cent.
const FITTED_S: (f64, f64) = (0.5, 1.9);

const RATE: u32 = 48_000;

fn render(midi: &Path, wav: &Path) {
    let font = "/usr/share/sounds/sf2/FluidR3_GM.sf2";
    assert!(Path::new(font).exists(), "{font} is missing; install fluid-soundfont-gm");
    let mut command = Command::new("fluidsynth");
    command.args(["-n", "-i", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", &RATE.to_string()]);
    command.arg("-F").arg(wav).arg(font).arg(midi).stdout(Stdio::null()).stderr(Stdio::null());
    assert!(command.status().expect("fluidsynth is installed").success());
}

/// (time, hertz) of the voiced rows.
fn track(wav: &Path) -> Vec<(f64, f64)> {
    let output = Command::new(env!("CARGO_BIN_EXE_bendwright")).arg("track").arg(wav).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    let cells = text.lines().skip(1).map(|row| row.split(',').collect::<Vec<_>>());
    cells.filter_map(|row| Some((row[1].parse().ok()?, row[2].parse().ok()?))).collect()
}

fn mono(wav: &Path) -> Vec<f64> {
    let mut reader = hound::WavReader::open(wav).unwrap();
    let channels = usize::from(reader.spec().channels);
    let samples: Vec<f64> = reader.samples::<i16>().map(|s| f64::from(s.unwrap()) / 32_768.0).collect();
    samples.chunks(channels).map(|frame| frame.iter().sum::<f64>() / channels as f64).collect()
}

#[test]
fn a_sampled_harmonica_is_tracked_within_five_cents_without_an_octave_error() {
    let folder = tempfile::tempdir().unwrap();
    let (midi, wav) = (folder.path().join("scale.mid"), folder.path().join("scale.wav"));
    let note =
        |(i, key)| Note { key, at_s: f64::from(i) * (NOTE_S + REST_S), length_s: NOTE_S, wheel: Vec::new() };
    let notes: Vec<Note> = (0..).zip(LOWEST..=HIGHEST).map(note).collect();
    std::fs::write(&midi, midi::file(HARMONICA, &notes, REST_S)).unwrap();
    render(&midi, &wav);
    let (samples, rows) = (mono(&wav), track(&wav));
    let (mut judged, mut near, mut octaves, mut worst) = (0_u32, 0_u32, 0_u32, 0.0_f64);
    for (i, note) in (LOWEST..=HIGHEST).enumerate() {
        let began = i as f64 * (NOTE_S + REST_S);
        let within = |(from, to): (f64, f64)| (began + from)..(began + to);
        let nominal = 440.0 * ((f64::from(note) - 69.0) / 12.0).exp2();
        let fitted = within(FITTED_S);
        let samples =
            &samples[(fitted.start * f64::from(RATE)) as usize..(fitted.end * f64::from(RATE)) as usize];
        let truth = fit::fundamental(samples, f64::from(RATE), nominal);
        let (mut of_note, mut near_note) = (0_u32, 0_u32);
        for (_, hz) in rows.iter().filter(|(time, _)| within(JUDGED_S).contains(time)) {
            let cents = 1200.0 * (hz / truth).log2();
            of_note += 1;
            near_note += u32::from(cents.abs() <= 5.0);
            octaves += u32::from(cents.abs() > 600.0);
            worst = if cents.abs() > worst.abs() { cents } else { worst };
        }
        assert!(of_note > 500, "MIDI {note}: only {of_note} voiced rows");
        if near_note * 100 < of_note * 99 {
            println!("MIDI {note}: {near_note} of {of_note} rows within 5 cents of {truth:.3} Hz");
        }
        judged += of_note;
        near += near_note;
    }
    let share = f64::from(near) / f64::from(judged);
    println!(
        "{judged} voiced rows, {:.3} % within 5 cents, worst {worst:+.1} cents, {octaves} octave errors",
        100.0 * share
    );
    assert_eq!(octaves, 0);
    assert!(share >= 0.99, "{share}");
}
