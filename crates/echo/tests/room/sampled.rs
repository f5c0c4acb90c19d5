//! A player who is not ours: the harmonica of a General MIDI sound font, rendered by fluidsynth.

use crate::place::RATE;
use crate::playing::{Playing, harp, lengths};
use layout::Technique;
use oorandom::Rand64;
use std::process::{Command, Stdio};
use synth::{Gesture, SimulatedPlayer};

#[path = "../../../../tests/sampled/midi.rs"]
mod midi;

/// General MIDI program "Harmonica", counted from 0.
const HARMONICA: u8 = 22;

/// Natural notes in the rhythm of the simulated player, by the sound font of this file.
pub(crate) fn playing(font: &str, seed: u64, (begins_s, seconds): (f64, f64)) -> Playing {
    let mut random = Rand64::new(u128::from(seed) + 177);
    let harp = harp();
    let natural: Vec<_> = harp.ways().filter(|way| way.technique == Technique::Natural).collect();
    // It only says which notes are asked for, and when.
    let mut silent = SimulatedPlayer::new(&harp, RATE, seed);
    let (mut notes, mut played) = (Vec::new(), Vec::new());
    for (at_s, length_s) in lengths(&mut random, (begins_s, seconds)) {
        let way = natural[random.rand_range(0..natural.len() as u64) as usize];
        let key = harp.note(way).unwrap().midi();
        notes.push(midi::Note { key, at_s, length_s, wheel: Vec::new() });
        played.push(silent.play_at(&Gesture::new(way).seconds(length_s), at_s * RATE).unwrap());
    }
    let folder = std::env::temp_dir().join(format!("room-{}-{seed}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let (file, wav) = (folder.join("notes.mid"), folder.join("notes.wav"));
    std::fs::write(&file, midi::file(HARMONICA, &notes, 3.0)).unwrap();
    let mut command = Command::new("fluidsynth");
    command.args(["-n", "-i", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", &RATE.to_string()]);
    command.arg("-F").arg(&wav).arg(font).arg(&file).stdout(Stdio::null()).stderr(Stdio::null());
    assert!(command.status().unwrap().success(), "fluidsynth is installed");
    let mut reader = hound::WavReader::open(&wav).unwrap();
    let all: Vec<f32> = reader.samples::<i16>().map(|x| f32::from(x.unwrap()) / 32_768.0).collect();
    let mut samples: Vec<f32> = all.chunks(2).map(|frame| f32::midpoint(frame[0], frame[1])).collect();
    samples.resize((seconds * RATE) as usize, 0.0);
    std::fs::remove_dir_all(&folder).unwrap();
    Playing { harp, samples, played }
}
