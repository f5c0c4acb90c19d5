//! Broken WAV files of every form, read as files and as pipes: a sentence or samples, whatever the header says. This
//! test is alone in its program, because it watches how much memory the process takes.
//!
//! `MUTATIONS=100000 cargo test -p sound --test mutations -- --nocapture` breaks each file so many times and tells how
//! many could still be read.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros)] // the lists are for callbacks
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "figures for whoever asks")]

use oorandom::Rand32;
use serde_json::Value;
use sound::{Channel, Generator, Recording, SoundError};
use std::fs::File;
use std::io::{Cursor, Seek, Write};

/// How many times each file is broken if `MUTATIONS` says nothing.
const TIMES: u64 = 1_000;

/// Memory that the process may take beyond what it had at first, KiB: blocks, and frames of up to 65535 channels, four
/// numbers each. A buffer as long as any header announces would be far larger.
const ROOM_KIB: u64 = 16 * 1024;

/// Files of outside writers; `tests/references/wav_files.py` names them.
const REFERENCES: &str = include_str!("../../../tests/references/wav-files.json");

/// Names of chunks and forms, which a mutation may exchange.
const NAMES: [&[u8; 4]; 10] =
    [b"RIFF", b"RIFX", b"RF64", b"BW64", b"WAVE", b"fmt ", b"data", b"ds64", b"LIST", b"fact"];

/// Numbers at which lengths, rates and counts turn over.
const EDGES: [u32; 12] =
    [0, 1, 2, 15, 16, 0x7fff, 0xffff, 768_000, 0x7fff_0000, 0x8000_0000, 0xffff_fffe, 0xffff_ffff];

fn hex(text: &str) -> Vec<u8> {
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).unwrap()).collect()
}

/// The files of outside writers, and the plain one of them as a writer to a pipe and as a recorder of 24 bits in four
/// bytes leaves it.
fn files() -> Vec<(String, Vec<u8>)> {
    let references: Value = serde_json::from_str(REFERENCES).unwrap();
    let files = references["files"].as_array().unwrap().iter();
    let mut files: Vec<_> = files
        .map(|file| (file["name"].as_str().unwrap().to_owned(), hex(file["file"].as_str().unwrap())))
        .collect();
    let plain = files.iter().find(|(name, _)| name == "wave").unwrap().1.clone();
    let mut changed = |name: &str, changes: &[(usize, &[u8])]| {
        let mut file = plain.clone();
        for (at, bytes) in changes {
            file.splice(at..&(at + bytes.len()), bytes.iter().copied());
        }
        files.push((name.to_owned(), file));
    };
    changed("lengths left open", &[(4, &[0xff; 4]), (40, &[0xff; 4])]);
    changed("no lengths", &[(4, &[36, 0, 0, 0]), (40, &[0; 4])]);
    changed("24 bits in 32", &[(28, &[32, 98, 5, 0, 8, 0, 24, 0])]);
    files
}

fn below(random: &mut Rand32, end: usize) -> usize {
    random.rand_range(0..end.max(1) as u32) as usize
}

/// Breaks `file` in one place.
fn mutate(file: &mut Vec<u8>, random: &mut Rand32) {
    let at = below(random, file.len());
    let to = at + below(random, file.len() - at);
    let mut put = |bytes: &[u8]| file.iter_mut().skip(at).zip(bytes).for_each(|(old, new)| *old = *new);
    match random.rand_range(0..9) {
        0 => put(&[random.rand_u32() as u8]),
        1 => put(&random.rand_u32().to_le_bytes()),
        2 => put(&EDGES[below(random, EDGES.len())].to_le_bytes()),
        3 => put(&EDGES[below(random, EDGES.len())].to_be_bytes()),
        4 => put(NAMES[below(random, NAMES.len())]),
        5 => file.truncate(at),
        6 => drop(file.drain(at..to)),
        7 => {
            let again = file[at..to].to_vec();
            file.splice(at..at, again);
        }
        _ => {
            // The header's own fields, where a change goes deepest.
            let header = (below(random, 12) * 2 + 20).min(file.len());
            let edge = EDGES[below(random, EDGES.len())].to_le_bytes();
            file.iter_mut().skip(header).zip(edge).for_each(|(old, new)| *old = new);
        }
    }
}

/// Reads all there is; says whether it could be read.
fn read(recording: Result<Recording, SoundError>, size: usize) -> bool {
    let mut recording = match recording {
        Ok(recording) => recording,
        Err(error) => {
            let text = error.to_string();
            assert!(text.contains("take.wav: ") && text.contains("at 8 to 192 kHz"), "{text}");
            return false;
        }
    };
    assert!((8_000.0..=192_000.0).contains(&recording.sample_rate()) && recording.channels() > 0);
    let (mut block, mut samples) = ([0.0; 37], 0);
    loop {
        let got = recording.fill(&mut block);
        if got == 0 {
            break;
        }
        assert!(block[..got].iter().all(|x| x.is_finite()));
        samples += got;
        assert!(samples * usize::from(recording.channels()) <= size, "more samples than bytes");
    }
    assert!(samples > 0, "a recording without a sample was opened");
    while let Some(warning) = recording.take_warning() {
        assert!(warning.contains("take.wav: ") && warning.ends_with('.'), "{warning}");
    }
    true
}

/// The most address space that this process has had, KiB, where the system tells.
fn peak_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|line| line.strip_prefix("VmPeak:")?.trim().strip_suffix(" kB")?.parse().ok())
}

#[test]
fn whatever_a_header_says_there_are_samples_or_a_sentence_and_no_more_memory() {
    let times = std::env::var("MUTATIONS").map_or(TIMES, |times| times.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("take.wav");
    // It stays open and is never emptied, because some file systems go to the disk for that every time.
    let mut disk = File::create(&path).unwrap();
    let files = files();
    assert!(files.len() > 20);
    let mut peak = None;
    for (seed, (name, file)) in files.iter().enumerate() {
        let mut random = Rand32::new(seed as u64);
        let mut could_be_read = 0;
        for _ in 0..times {
            let mut broken = file.clone();
            for _ in 0..random.rand_range(1..5) {
                mutate(&mut broken, &mut random);
            }
            disk.rewind().unwrap();
            disk.write_all(&broken).unwrap();
            disk.set_len(broken.len() as u64).unwrap();
            let is_read = read(Recording::open(&path), broken.len());
            let size = broken.len();
            let pipe = Recording::read_from(Cursor::new(broken), "take.wav", Channel::Mix);
            let is_read_piped = read(pipe, size);
            assert_eq!(is_read, is_read_piped, "a file of less than 4 GiB is no other on a pipe");
            could_be_read += u64::from(is_read);
            peak = peak.or_else(peak_kib);
        }
        println!("{name}: {could_be_read} of {times} could be read");
        assert!(could_be_read > times / 20, "{name}: hardly any mutation went deep");
        assert!(could_be_read < times - times / 20, "{name}: hardly any mutation broke it");
    }
    if let (Some(peak), Some(now)) = (peak, peak_kib()) {
        println!("{} KiB more than after the first file", now - peak);
        assert!(now - peak < ROOM_KIB, "{} KiB more than after the first file", now - peak);
    }
}
