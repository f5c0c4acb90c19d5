//! The same cases played by fluidsynth with the General MIDI sound fonts of Debian.

use crate::cases::Case;
use layout::Harp;
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind};
use std::path::Path;
use std::process::{Command, Stdio};

/// Each case sounds and rests this long, seconds.
const NOTE_S: f64 = 0.6;
const REST_S: f64 = 0.6;
/// Silence before the first.
const LEAD_S: f64 = 0.3;
const RATE: u32 = 48_000;

/// All cases in one stream: the samples and where each begins. The beginning is that of the sound: the first sample
/// above a hundredth of the note's peak, since a sample may have silence before it.
pub(crate) fn render(harp: &Harp, cases: &[Case], font: &str, program: u8) -> (Vec<f32>, Vec<usize>) {
    let folder = std::env::temp_dir().join(format!("sounding-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let (midi, wav) = (folder.join("cases.mid"), folder.join("cases.wav"));
    std::fs::write(&midi, file(harp, cases, program)).expect("a MIDI file");
    play(font, &midi, &wav);
    let mut reader = hound::WavReader::open(&wav).expect("a WAV file");
    let channels = usize::from(reader.spec().channels);
    let all: Vec<f32> = reader.samples::<i16>().map(|s| f32::from(s.expect("a sample")) / 32_768.0).collect();
    let mono: Vec<f32> = all.chunks(channels).map(|f| f.iter().sum::<f32>() / channels as f32).collect();
    let begins = (0..cases.len()).map(|i| begin(&mono, LEAD_S + i as f64 * (NOTE_S + REST_S))).collect();
    std::fs::remove_dir_all(&folder).expect("the folder goes");
    (mono, begins)
}

fn play(font: &str, midi: &Path, wav: &Path) {
    let font = format!("/usr/share/sounds/sf2/{font}");
    let mut command = Command::new("fluidsynth");
    command.args(["-n", "-i", "-q", "-R", "0", "-C", "0", "-g", "0.4", "-r", &RATE.to_string()]);
    command.arg("-F").arg(wav).arg(font).arg(midi).stdout(Stdio::null()).stderr(Stdio::null());
    assert!(command.status().expect("fluidsynth is installed").success());
}

fn begin(mono: &[f32], planned_s: f64) -> usize {
    let from = (planned_s * f64::from(RATE)) as usize;
    let note = &mono[from..from + (NOTE_S * f64::from(RATE)) as usize];
    let peak = note.iter().fold(0.0_f32, |most, x| most.max(x.abs()));
    from + note.iter().position(|x| x.abs() > 0.01 * peak).unwrap_or(0)
}

fn file(harp: &Harp, cases: &[Case], program: u8) -> Vec<u8> {
    let ticks = |seconds: f64| u28::new((seconds * 2_000.0) as u32);
    let channel =
        |delta, message| TrackEvent { delta, kind: TrackEventKind::Midi { channel: u4::new(0), message } };
    let meta = |delta, message| TrackEvent { delta, kind: TrackEventKind::Meta(message) };
    let now = u28::new(0);
    let mut track: Track = vec![
        meta(now, MetaMessage::Tempo(u24::new(500_000))),
        channel(now, MidiMessage::ProgramChange { program: u7::new(program) }),
    ];
    for (i, case) in cases.iter().enumerate() {
        let keys = || case.ways.iter().map(|way| u7::new(harp.note(*way).expect("a note").midi()));
        for (j, key) in keys().enumerate() {
            let rest = if j > 0 { now } else { ticks(if i == 0 { LEAD_S } else { REST_S }) };
            track.push(channel(rest, MidiMessage::NoteOn { key, vel: u7::new(100) }));
        }
        for (j, key) in keys().enumerate() {
            let held = if j > 0 { now } else { ticks(NOTE_S) };
            track.push(channel(held, MidiMessage::NoteOff { key, vel: u7::new(0) }));
        }
    }
    track.push(meta(ticks(REST_S), MetaMessage::EndOfTrack));
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::new(1_000)));
    let mut bytes = Vec::new();
    Smf { header, tracks: vec![track] }.write_std(&mut bytes).expect("written to memory");
    bytes
}
