//! Finds the samples of a WAV file and writes the plain header that the decoder wants in front of them.
//!
//! Files in the wild have odd chunks with a pad byte, lengths of 0 or 2³² − 1 written by a program that could not seek
//! back, extended format chunks, and ends that never came. All of these hold good samples.

use std::io::{self, Chain, Cursor, Read, Seek, SeekFrom, Take};

const PCM: u16 = 1;
const FLOAT: u16 = 3;
const EXTENSIBLE: u16 = 0xfffe;

/// What stands behind a header that was put right.
pub(crate) struct Mended<R> {
    /// A plain header, then the samples.
    pub(crate) reader: Chain<Cursor<Vec<u8>>, Take<R>>,
    /// Whole frames that are there.
    pub(crate) frames: u64,
    /// Frames that the file says it has, when that is more.
    pub(crate) missing: u64,
}

#[derive(Clone, Copy)]
struct Format {
    tag: u16,
    channels: u16,
    rate: u32,
    frame_bytes: u16,
    bits: u16,
}

/// Reads as far as the samples. The error is the end of a sentence that begins with the file's name.
pub(crate) fn mend<R: Read + Seek>(mut file: R) -> Result<Mended<R>, String> {
    let size = file.seek(SeekFrom::End(0)).and_then(|n| file.rewind().map(|()| n)).map_err(unreadable)?;
    if size == 0 {
        return Err("the file is empty".into());
    }
    let mut riff = [0; 12];
    let whole = read_exact(&mut file, &mut riff)?;
    if !whole || !(riff.starts_with(b"RIFF") || riff.starts_with(b"RF64")) || !riff.ends_with(b"WAVE") {
        return Err("this is no WAV file".into());
    }
    let mut format = None;
    loop {
        let mut head = [0; 8];
        if !read_exact(&mut file, &mut head)? {
            return Err("the WAV file ends before its first sample".into());
        }
        let [a, b, c, d, length @ ..] = head;
        let length = u32::from_le_bytes(length);
        match (&[a, b, c, d], format) {
            (b"fmt ", _) => format = Some(read_format(&mut file, length)?),
            (b"data", Some(format)) => return plain(file, format, length, size),
            (b"data", None) => return Err("the WAV file does not say how its samples are written".into()),
            _ => skip(&mut file, i64::from(length) + i64::from(length % 2))?,
        }
    }
}

fn plain<R: Read + Seek>(mut file: R, format: Format, length: u32, size: u64) -> Result<Mended<R>, String> {
    let here = file.stream_position().map_err(unreadable)?;
    let frame = u64::from(format.frame_bytes);
    let there = size.saturating_sub(here) / frame;
    // A program that writes to a pipe cannot know the length: it leaves one of these, or some other huge number.
    let said = if length == 0 || length >= 0x7fff_0000 { there } else { u64::from(length) / frame };
    let frames = said.min(there).min(u64::from(u32::MAX) / frame);
    if frames == 0 {
        return Err("there is not one sample in it".into());
    }
    let bytes = frames * frame;
    Ok(Mended {
        reader: Cursor::new(header(format, bytes as u32)).chain(file.take(bytes)),
        frames,
        missing: said.saturating_sub(there),
    })
}

fn header(format: Format, bytes: u32) -> Vec<u8> {
    let mut out = Vec::with_capacity(44);
    out.extend_from_slice(b"RIFF");
    out.extend_from_slice(&bytes.saturating_add(36).to_le_bytes());
    out.extend_from_slice(b"WAVEfmt \x10\0\0\0");
    out.extend_from_slice(&format.tag.to_le_bytes());
    out.extend_from_slice(&format.channels.to_le_bytes());
    out.extend_from_slice(&format.rate.to_le_bytes());
    out.extend_from_slice(&(format.rate * u32::from(format.frame_bytes)).to_le_bytes());
    out.extend_from_slice(&format.frame_bytes.to_le_bytes());
    out.extend_from_slice(&format.bits.to_le_bytes());
    out.extend_from_slice(b"data");
    out.extend_from_slice(&bytes.to_le_bytes());
    out
}

fn read_format<R: Read + Seek>(file: &mut R, length: u32) -> Result<Format, String> {
    let mut bytes = [0; 26];
    let known = length.min(bytes.len() as u32);
    let (front, _) = bytes.split_at_mut(known as usize);
    if known < 16 || !read_exact(file, front)? {
        return Err("its description of the samples is cut short".into());
    }
    skip(file, i64::from(length) + i64::from(length % 2) - i64::from(known))?;
    let word = |at: usize| u16::from_le_bytes([bytes[at], bytes[at + 1]]);
    // An extended chunk repeats the tag as the front of a longer name; its samples fill their container from the top.
    let tag = if word(0) == EXTENSIBLE { word(24) } else { word(0) };
    let rate = u32::from_le_bytes([bytes[4], bytes[5], bytes[6], bytes[7]]);
    check(Format { tag, channels: word(2), rate, frame_bytes: word(12), bits: word(14) })
}

fn check(format: Format) -> Result<Format, String> {
    let Format { tag, channels, rate, frame_bytes, bits } = format;
    if channels == 0 || frame_bytes == 0 || !frame_bytes.is_multiple_of(channels) {
        return Err("its description of the samples makes no sense".into());
    }
    if !(1_000..=768_000).contains(&rate) {
        return Err(format!("it claims a rate of {rate} samples a second, which is no rate for sound"));
    }
    // The decoder takes 24 bits in three bytes or four, everything else in as few as it needs.
    let bytes = frame_bytes / channels;
    match (tag, bits, bytes) {
        (PCM, 8, 1) | (PCM, 16, 2) | (PCM, 24, 3 | 4) | (PCM | FLOAT, 32, 4) => Ok(format),
        (PCM, 8 | 16 | 24 | 32, _) | (FLOAT, 32, _) => {
            Err(format!("it claims to keep {bits} bits a sample in {bytes} bytes"))
        }
        (PCM, ..) => Err(format!("it has {bits} bits a sample")),
        (FLOAT, ..) => Err(format!("it has {bits}-bit float samples")),
        _ => Err(format!("its samples are packed in a way (WAV format {tag}) that cannot be read here")),
    }
}

/// Fills `out`; false when the file ends first.
fn read_exact<R: Read>(file: &mut R, out: &mut [u8]) -> Result<bool, String> {
    match file.read_exact(out) {
        Ok(()) => Ok(true),
        Err(e) if e.kind() == io::ErrorKind::UnexpectedEof => Ok(false),
        Err(e) => Err(unreadable(e)),
    }
}

fn skip<R: Seek>(file: &mut R, bytes: i64) -> Result<(), String> {
    file.seek_relative(bytes).map_err(unreadable)
}

#[allow(clippy::needless_pass_by_value)] // it is handed to `map_err`
fn unreadable(error: io::Error) -> String {
    format!("it cannot be read ({error})")
}
