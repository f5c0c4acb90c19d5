//! WAV files written byte by byte, by IBM and Microsoft, "Multimedia Programming Interface and Data Specifications 1.0"
//! (1991), chapters 2 and 3.

use sound::{Generator, Recording};
use std::path::PathBuf;
use tempfile::TempDir;

pub(crate) const PCM: u16 = 1;
pub(crate) const FLOAT: u16 = 3;

pub(crate) fn format(tag: u16, channels: u16, rate: u32, bits: u16) -> Vec<u8> {
    let align = channels * bits.div_ceil(8);
    let mut out = Vec::new();
    out.extend(tag.to_le_bytes());
    out.extend(channels.to_le_bytes());
    out.extend(rate.to_le_bytes());
    out.extend((rate * u32::from(align)).to_le_bytes());
    out.extend(align.to_le_bytes());
    out.extend(bits.to_le_bytes());
    out
}

pub(crate) fn chunk(name: [u8; 4], length: u32, body: &[u8]) -> Vec<u8> {
    let mut out = name.to_vec();
    out.extend(length.to_le_bytes());
    out.extend(body);
    if body.len() % 2 == 1 {
        out.push(0);
    }
    out
}

pub(crate) fn riff(chunks: &[Vec<u8>]) -> Vec<u8> {
    let body = chunks.concat();
    let mut out = b"RIFF".to_vec();
    out.extend((body.len() as u32 + 4).to_le_bytes());
    out.extend(b"WAVE");
    out.extend(body);
    out
}

pub(crate) fn wav(format: &[u8], data: &[u8]) -> Vec<u8> {
    riff(&[chunk(*b"fmt ", format.len() as u32, format), chunk(*b"data", data.len() as u32, data)])
}

/// A folder for one recording.
pub(crate) struct Shelf(pub(crate) TempDir);

impl Shelf {
    pub(crate) fn new() -> Self {
        Self(TempDir::new().unwrap())
    }

    pub(crate) fn put(&self, bytes: &[u8]) -> PathBuf {
        let path = self.0.path().join("take.wav");
        std::fs::write(&path, bytes).unwrap();
        path
    }
}

pub(crate) fn all(recording: &mut Recording) -> Vec<f32> {
    let mut out = Vec::new();
    let mut buf = [0.0; 37];
    loop {
        match recording.fill(&mut buf) {
            0 => return out,
            n => out.extend(&buf[..n]),
        }
    }
}

pub(crate) fn samples_of(bytes: &[u8]) -> Vec<f32> {
    let shelf = Shelf::new();
    all(&mut Recording::open(shelf.put(bytes)).unwrap())
}

pub(crate) fn refusal(bytes: &[u8]) -> String {
    let shelf = Shelf::new();
    let path = shelf.put(bytes);
    let text = Recording::open(&path).err().expect("it was read").to_string();
    assert!(text.starts_with(&path.display().to_string()), "the file is not named: {text}");
    assert!(text.contains("WAV files of 8, 16, 24 or 32 bits"), "what is supported is not said: {text}");
    text
}
