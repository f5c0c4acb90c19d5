//! The forms of WAV files beside the plain one, lengths that are not what they seem, and pipes.

use crate::wav::{FLOAT, PCM, Shelf, all, chunk, format, refusal, riff, samples_of, wav};
use serde_json::Value;
use sound::{Channel, Generator, Recording};
use std::collections::BTreeSet;
use std::io::{self, Read};
use std::path::Path;

/// Files of outside writers and what outside readers hear in them; `tests/references/wav_files.py` names all of these.
const REFERENCES: &str = include_str!("../../../../tests/references/wav-files.json");

/// Brings its bytes one at a time, as a slow pipe may.
struct Drops<R>(R);

impl<R: Read> Read for Drops<R> {
    fn read(&mut self, buf: &mut [u8]) -> io::Result<usize> {
        let room = buf.len().min(1);
        self.0.read(&mut buf[..room])
    }
}

fn piped(bytes: &[u8]) -> Recording {
    Recording::read_from(Drops(io::Cursor::new(bytes.to_vec())), "pipe", Channel::LEFT).unwrap()
}

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
}

#[test]
fn files_of_outside_writers_are_heard_as_outside_readers_hear_them() {
    let references: Value = serde_json::from_str(REFERENCES).unwrap();
    let files = references["files"].as_array().unwrap();
    let mut forms = BTreeSet::new();
    for file in files {
        let written = bytes(file["file"].as_str().unwrap());
        forms.insert(String::from_utf8(written[..4].to_vec()).unwrap());
        let shelf = Shelf::new();
        let path = shelf.put(&written);
        for (n, channel) in [Channel::LEFT, Channel::RIGHT].into_iter().enumerate() {
            let frames = file["samples"].as_array().unwrap().iter();
            let expected: Vec<f32> = frames.map(|frame| frame[n].as_f64().unwrap() as f32).collect();
            let mut recording = Recording::open_channel(&path, channel).unwrap();
            assert_eq!((recording.sample_rate(), recording.channels()), (44_100.0, 2));
            assert_eq!(all(&mut recording), expected, "{}, channel {}", file["name"], n + 1);
            assert_eq!(recording.take_warning(), None, "{}", file["name"]);
            if channel == Channel::LEFT {
                assert_eq!(all(&mut piped(&written)), expected, "{} on a pipe", file["name"]);
            }
        }
    }
    assert_eq!(forms.into_iter().collect::<Vec<_>>(), ["BW64", "RF64", "RIFF", "RIFX"]);
}

/// The lengths of the file and of its samples written over those in a file of one chunk `fmt ` of 16 bytes.
fn with_lengths(mut file: Vec<u8>, riff: u32, data: u32) -> Vec<u8> {
    file.splice(4..8, riff.to_le_bytes());
    file.splice(40..44, data.to_le_bytes());
    file
}

#[test]
fn lengths_that_a_writer_to_a_pipe_could_not_know_mean_all_that_comes() {
    let whole = wav(&format(PCM, 1, 48_000, 16), &[0, 0x40, 0, 0xc0]);
    for (riff, data) in [
        (u32::MAX, u32::MAX),
        (0x7fff_f024, 0x7fff_f000),
        (0x8000_0024, 0x8000_0000),
        (36, 0),
        (0, 0),
        (0, u32::MAX),
        (36, u32::MAX),
    ] {
        let open = with_lengths(whole.clone(), riff, data);
        assert_eq!(samples_of(&open), [0.5, -0.5], "lengths {riff:#x} and {data:#x}");
        let mut recording = piped(&open);
        assert_eq!(all(&mut recording), [0.5, -0.5], "lengths {riff:#x} and {data:#x} on a pipe");
        assert_eq!(recording.take_warning(), None, "nothing is missing where nothing was announced");
    }
}

/// A writer of long files that could not go back leaves `ds64` empty.
#[test]
fn lengths_of_64_bits_that_were_never_filled_in_mean_all_that_comes() {
    let format = format(PCM, 1, 48_000, 16);
    let chunks = [
        chunk(*b"ds64", 28, &[0; 28]),
        chunk(*b"fmt ", 16, &format),
        chunk(*b"data", u32::MAX, &[0, 0x40, 0, 0xc0]),
    ];
    let mut file = riff(&chunks);
    file.splice(..8, *b"RF64\xff\xff\xff\xff");
    assert_eq!(samples_of(&file), [0.5, -0.5]);
    assert_eq!(samples_of(&[&file[..12], &file[48..]].concat()), [0.5, -0.5], "without ds64");
}

#[test]
fn metadata_is_never_heard() {
    let format = format(PCM, 1, 48_000, 16);
    let list = chunk(*b"LIST", 26, b"INFOICMT\x0e\0\0\0some comment\0\0");
    let files = |data: &[u8]| {
        let data = chunk(*b"data", data.len() as u32, data);
        riff(&[chunk(*b"fmt ", 16, &format), data, list.clone()])
    };
    assert_eq!(samples_of(&files(&[0, 0x40])), [0.5]);
    assert_eq!(all(&mut piped(&files(&[0, 0x40]))), [0.5]);
    for riff in [files(&[]).len() as u32 - 8, 36, 0, u32::MAX] {
        assert!(refusal(&with_lengths(files(&[]), riff, 0)).contains("not one sample"), "length {riff:#x}");
    }
    // The same in a long file, whose lengths stand in `ds64` (EBU Tech 3306): file, samples, frames, no table.
    let lengths: Vec<u8> = [98u64, 2, 1].iter().flat_map(|n| n.to_le_bytes()).chain([0; 4]).collect();
    let chunks = [
        chunk(*b"ds64", 28, &lengths),
        chunk(*b"fmt ", 16, &format),
        chunk(*b"data", u32::MAX, &[0, 0x40]),
        list.clone(),
    ];
    for form in [*b"RF64", *b"BW64"] {
        let mut long = riff(&chunks);
        long.splice(..8, [form, [0xff; 4]].concat());
        assert_eq!(samples_of(&long), [0.5], "{form:?}");
    }
}

#[test]
fn a_long_file_whose_lengths_are_cut_short_is_refused() {
    let chunks = [chunk(*b"ds64", 12, &[0; 12]), chunk(*b"data", u32::MAX, &[0; 4])];
    let mut long = riff(&chunks);
    long.splice(..4, *b"RF64");
    assert!(refusal(&long).contains("table of lengths"));
}

#[test]
fn descriptions_that_are_as_large_as_they_can_be_are_read_or_refused() {
    let frame = |channels: u16| vec![0x40; usize::from(channels) * 4];
    let mut extreme = format(FLOAT, 1, 48_000, 32);
    extreme.splice(2..4, 16_383u16.to_le_bytes());
    extreme.splice(12..14, 65_532u16.to_le_bytes());
    let read = samples_of(&wav(&extreme, &frame(16_383).repeat(3)));
    assert_eq!(read, [f32::from_le_bytes([0x40; 4]); 3]);
    extreme.splice(4..8, 768_000u32.to_le_bytes());
    assert!(refusal(&wav(&extreme, &frame(16_383))).contains("a rate of 768000"));
    let mut bytes = format(PCM, 1, 192_000, 8);
    bytes.splice(2..4, u16::MAX.to_le_bytes());
    bytes.splice(12..14, u16::MAX.to_le_bytes());
    assert_eq!(samples_of(&wav(&bytes, &vec![192; 65_535 * 2])), [0.5, 0.5]);
}

#[test]
fn a_pipe_that_never_comes_to_a_sample_is_given_up() {
    let refused = |front: &[u8], byte: u8| {
        let source = io::Cursor::new(front.to_vec()).chain(io::repeat(byte));
        Recording::read_from(source, "pipe", Channel::Auto).err().expect("it was read").to_string()
    };
    assert!(refused(b"", 0).contains("no WAV file"));
    let chunks_without_end = refused(b"RIFF\xff\xff\xff\xffWAVE", 0);
    assert!(chunks_without_end.contains("do not begin within 64 MiB"), "{chunks_without_end}");
    let chunk_without_end = refused(b"RIFF\xff\xff\xff\xffWAVELIST\xff\xff\xff\xff", b'x');
    assert!(chunk_without_end.contains("do not begin within 64 MiB"), "{chunk_without_end}");
}

#[test]
fn a_pipe_that_ends_early_gives_what_came_and_says_so() {
    let whole = wav(&format(PCM, 1, 8_000, 16), &[0x40; 16_000]);
    let mut recording = piped(&whole[..whole.len() - 8_001]);
    assert_eq!(all(&mut recording).len(), 3_999);
    let warning = recording.take_warning().unwrap();
    assert!(
        warning.starts_with("pipe: ") && warning.contains("0.5 seconds are there, 0.5 more"),
        "{warning}"
    );
    let nothing = Recording::read_from(io::empty(), "pipe", Channel::Auto).err().unwrap().to_string();
    assert!(nothing.starts_with("pipe: ") && nothing.contains("empty"), "{nothing}");
}

#[test]
fn a_pipe_that_breaks_is_told_with_its_time() {
    struct Broken;
    impl Read for Broken {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            Err(io::Error::other("the line is cut"))
        }
    }
    let whole = wav(&format(PCM, 1, 8_000, 16), &[0x40; 16_000]);
    let source = io::Cursor::new(whole[..8_044].to_vec()).chain(Broken);
    let mut recording = Recording::read_from(source, "pipe", Channel::Auto).unwrap();
    assert_eq!(all(&mut recording).len(), 4_000);
    let warning = recording.take_warning().unwrap();
    assert!(warning.contains("beyond 0.5 seconds (the line is cut)"), "{warning}");
}

#[test]
fn what_comes_only_once_is_known_as_such() {
    let shelf = Shelf::new();
    assert!(Recording::is_stream(Path::new("-")));
    assert!(!Recording::is_stream(&shelf.put(b"a file")) && !Recording::is_stream(shelf.0.path()));
    assert!(!Recording::is_stream(Path::new("/nonexistent/take.wav")));
    assert!(cfg!(not(unix)) || Recording::is_stream(Path::new("/dev/null")));
}
