//! What stands in front of the samples of a WAV file, read as it comes: nothing here goes back, so a pipe serves as
//! well as a file.
//!
//! * `RIFF`, and `RIFX` with the bytes of every number the other way round: IBM and Microsoft, "Multimedia Programming
//!   Interface and Data Specifications 1.0" (1991), chapters 2 and 3.
//! * The extended format chunk: Microsoft, "Multiple Channel Audio Data and WAVE Files" (2001).
//! * `RF64` and `BW64`, which keep lengths beyond 4 GiB in a chunk `ds64`: EBU Tech 3306 (2009) and ITU-R BS.2088-1
//!   (2019).
//!
//! A program that writes to a pipe cannot go back to say how much it wrote. It leaves a length of 0, of 2³² − 1, or a
//! number near 2³¹; all that comes are then samples. That programs do so is common practice, no source.

use std::io::{self, BufRead, Read};
use std::ops::RangeInclusive;

/// Tags of the formats that are read.
const PCM: u32 = 1;
const FLOAT: u32 = 3;
/// The tag says that the format is told further back in its chunk.
const EXTENSIBLE: u16 = 0xfffe;

/// Sampling rates that the pitch can be told at, hertz.
const RATES: RangeInclusive<u32> = 8_000..=192_000;

/// In place of a length: the length stands in `ds64`, or nobody knows it.
const ELSEWHERE: u32 = u32::MAX;

/// A length from here on may have been left by a program that could not know it, bytes: a little less than 2³¹ is
/// usual.
const LEFT_OPEN: u64 = 0x7fff_0000;

/// The samples must begin within so many bytes. Comments and pictures need far fewer, and a pipe that goes on for ever
/// without a sample must not be followed.
const FARTHEST_START: u64 = 64 << 20;

const NO_WAV: &str = "this is no WAV file";
const NO_SAMPLES: &str = "the WAV file ends before its first sample";
const SHORT_FORMAT: &str = "its description of the samples is cut short";
const SHORT_LENGTHS: &str = "its table of lengths (ds64) is cut short";

/// What a header says.
pub(crate) struct Header {
    /// How the samples are written.
    pub(crate) format: Format,
    /// How many bytes of them there are to be; `None` where all that comes are samples.
    pub(crate) length: Option<u64>,
}

/// How samples are written.
#[derive(Clone, Copy)]
pub(crate) struct Format {
    pub(crate) channels: u16,
    /// Frames a second.
    pub(crate) rate: u32,
    /// Bytes of one sample of every channel.
    pub(crate) frame_bytes: u16,
    pub(crate) coding: Coding,
    /// Whether the first byte of a number is the most significant one.
    pub(crate) big_endian: bool,
}

/// How one sample is written.
#[derive(Clone, Copy)]
pub(crate) enum Coding {
    /// One byte, 128 in the middle.
    Unsigned8,
    Signed16,
    Signed24,
    /// The lower three bytes of four.
    Signed24In32,
    Signed32,
    Float32,
}

/// The lengths in `ds64`, bytes.
#[derive(Clone, Copy)]
struct Lengths {
    riff: u64,
    data: u64,
}

/// Reads as far as the first sample. `size` is that of the whole file in bytes, if it is known. The error is the end of
/// a sentence that begins with the file's name.
pub(crate) fn read(source: &mut impl BufRead, size: Option<u64>) -> Result<Header, String> {
    if source.fill_buf().map_err(unreadable)?.is_empty() {
        return Err("the file is empty".into());
    }
    let mut front = Front { source, at: 0, big_endian: false };
    let (form, riff, kind) = (front.next(NO_WAV)?, front.next(NO_WAV)?, front.next(NO_WAV)?);
    if !matches!(&form, b"RIFF" | b"RIFX" | b"RF64" | b"BW64") || &kind != b"WAVE" {
        return Err(NO_WAV.into());
    }
    front.big_endian = &form == b"RIFX";
    let riff = front.u32(riff);
    let (mut format, mut lengths) = (None, None);
    loop {
        let (name, length) = (front.next(NO_SAMPLES)?, front.next(NO_SAMPLES)?);
        let length = front.u32(length);
        match &name {
            b"data" => {
                let format = format.ok_or("the WAV file does not say how its samples are written")?;
                let at = front.at;
                let there = size.filter(|_| lengths.is_none()).map(|size| size.saturating_sub(at));
                // Metadata right behind a length of 0 means that there are no samples, whatever the length of the file.
                let none = length == 0 && source.fill_buf().map_err(unreadable)?.starts_with(b"LIST");
                let length = if none { Some(0) } else { announced(length, (riff, lengths), at) };
                return Ok(Header { format, length: length.map(|length| unwrapped(length, there)) });
            }
            b"fmt " => format = Some(front.format(length)?),
            b"ds64" if matches!(&form, b"RF64" | b"BW64") => lengths = Some(front.lengths(length)?),
            _ => front.skip(u64::from(length) + u64::from(length % 2))?,
        }
    }
}

/// How many bytes of samples there are to be behind `at`, by the lengths of their chunk and of the whole file; `None`
/// where whoever wrote these did not know.
fn announced(data: u32, (riff, lengths): (u32, Option<Lengths>), at: u64) -> Option<u64> {
    let in_full = |short: u32, long: fn(Lengths) -> u64| {
        lengths.filter(|_| short == ELSEWHERE).map_or(u64::from(short), long)
    };
    let (data, riff) = (in_full(data, |long| long.data), in_full(riff, |long| long.riff));
    let end = at.saturating_add(data).saturating_add(data % 2);
    // Whoever knew that something follows the samples knew how many samples there are.
    let more_follows = riff != u64::from(ELSEWHERE) && riff.saturating_add(8) > end;
    let left_open = data == 0 || (lengths.is_none() && data >= LEFT_OPEN);
    (more_follows || !left_open).then_some(data)
}

/// The true value of a length that may have wrapped round at 2³² while the file was written: the greatest that fits
/// into the file.
fn unwrapped(length: u64, there: Option<u64>) -> u64 {
    let more = there.unwrap_or_default().saturating_sub(length);
    length + (more >> 32 << 32)
}

/// The front of a file.
struct Front<'a, R> {
    source: &'a mut R,
    /// Bytes read so far.
    at: u64,
    big_endian: bool,
}

impl<R: BufRead> Front<'_, R> {
    /// The next bytes; `missing` is the error where the file ends first.
    fn next<const N: usize>(&mut self, missing: &str) -> Result<[u8; N], String> {
        let mut bytes = [0; N];
        self.fill(&mut bytes, missing)?;
        Ok(bytes)
    }

    fn fill(&mut self, bytes: &mut [u8], missing: &str) -> Result<(), String> {
        self.at += bytes.len() as u64;
        self.source.read_exact(bytes).map_err(|error| match error.kind() {
            io::ErrorKind::UnexpectedEof => missing.to_owned(),
            _ => unreadable(error),
        })
    }

    /// Passes over bytes, or to the end.
    fn skip(&mut self, bytes: u64) -> Result<(), String> {
        self.at += bytes;
        if self.at > FARTHEST_START {
            return Err(format!("its samples do not begin within {} MiB", FARTHEST_START >> 20));
        }
        io::copy(&mut self.source.by_ref().take(bytes), &mut io::sink()).map(drop).map_err(unreadable)
    }

    fn u16(&self, bytes: [u8; 2]) -> u16 {
        if self.big_endian { u16::from_be_bytes(bytes) } else { u16::from_le_bytes(bytes) }
    }

    fn u32(&self, bytes: [u8; 4]) -> u32 {
        if self.big_endian { u32::from_be_bytes(bytes) } else { u32::from_le_bytes(bytes) }
    }

    /// A chunk `ds64` of this length.
    fn lengths(&mut self, length: u32) -> Result<Lengths, String> {
        // Behind these two lengths stand the number of samples and the lengths of other chunks beyond 4 GiB.
        let rest = u64::from(length).checked_sub(16).ok_or(SHORT_LENGTHS)?;
        let (riff, data) = (self.next(SHORT_LENGTHS)?, self.next(SHORT_LENGTHS)?);
        self.skip(rest + rest % 2)?;
        Ok(Lengths { riff: u64::from_le_bytes(riff), data: u64::from_le_bytes(data) })
    }

    /// A chunk `fmt ` of this length.
    fn format(&mut self, length: u32) -> Result<Format, String> {
        let mut bytes = [0; 28];
        let known = (length as usize).min(bytes.len());
        if known < 16 {
            return Err(SHORT_FORMAT.into());
        }
        self.fill(&mut bytes[..known], SHORT_FORMAT)?;
        self.skip(u64::from(length) - known as u64 + u64::from(length % 2))?;
        let short = |at: usize| self.u16([bytes[at], bytes[at + 1]]);
        let long = |at: usize| self.u32([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
        // An extended chunk holds the tag at the front of a longer identifier; its samples fill their container from
        // the top.
        let tag = if short(0) == EXTENSIBLE { long(24) } else { short(0).into() };
        let (channels, rate, frame_bytes, bits) = (short(2), long(4), short(12), short(14));
        if channels == 0 || frame_bytes == 0 || !frame_bytes.is_multiple_of(channels) {
            return Err("its description of the samples makes no sense".into());
        }
        if !RATES.contains(&rate) {
            return Err(format!("it claims a rate of {rate} samples a second"));
        }
        let coding = coding(tag, bits, frame_bytes / channels)?;
        Ok(Format { channels, rate, frame_bytes, coding, big_endian: self.big_endian })
    }
}

/// How samples of so many bits in so many bytes are written.
fn coding(tag: u32, bits: u16, bytes: u16) -> Result<Coding, String> {
    match (tag, bits, bytes) {
        (PCM, 8, 1) => Ok(Coding::Unsigned8),
        (PCM, 16, 2) => Ok(Coding::Signed16),
        (PCM, 24, 3) => Ok(Coding::Signed24),
        (PCM, 24, 4) => Ok(Coding::Signed24In32),
        (PCM, 32, 4) => Ok(Coding::Signed32),
        (FLOAT, 32, 4) => Ok(Coding::Float32),
        (PCM, 8 | 16 | 24 | 32, _) | (FLOAT, 32, _) => {
            Err(format!("it claims to keep {bits} bits a sample in {bytes} bytes"))
        }
        (PCM, ..) => Err(format!("it has {bits} bits a sample")),
        (FLOAT, ..) => Err(format!("it has {bits}-bit float samples")),
        _ => Err(format!("its samples are packed in a way (WAV format {tag}) that cannot be read here")),
    }
}

#[allow(clippy::needless_pass_by_value)] // it is handed to `map_err`
pub(crate) fn unreadable(error: io::Error) -> String {
    format!("it cannot be read ({error})")
}

#[cfg(test)]
mod tests {
    use super::*;

    const GIB: u64 = 1 << 30;

    /// The length of the samples in a file of 16 bits and one channel.
    fn length(
        form: [u8; 4],
        riff: u32,
        lengths: Option<[u64; 2]>,
        data: u32,
        size: Option<u64>,
    ) -> Option<u64> {
        let mut file = [form, riff.to_le_bytes(), *b"WAVE"].concat();
        if let Some(lengths) = lengths {
            file.extend(b"ds64\x1c\0\0\0");
            file.extend(lengths.map(u64::to_le_bytes).as_flattened());
            file.extend([0; 12]);
        }
        file.extend(b"fmt \x10\0\0\0\x01\0\x01\0\x80\xbb\0\0\0\x77\x01\0\x02\0\x10\0data");
        file.extend(data.to_le_bytes());
        read(&mut &file[..], size).unwrap().length
    }

    #[test]
    fn lengths_beyond_4_gib_are_taken_from_their_own_chunk() {
        let long = |riff, lengths, data| {
            let size = Some(9 * GIB);
            [*b"RF64", *b"BW64"].map(|form| length(form, riff, lengths, data, size))
        };
        let (riff, data) = (8 * GIB + 72, 8 * GIB);
        assert_eq!(long(u32::MAX, Some([riff, data]), u32::MAX), [Some(data); 2]);
        // `ds64` counts only for the lengths that are all ones; a short length that is not is right.
        assert_eq!(long(u32::MAX, Some([riff, data]), 1_000), [Some(1_000); 2]);
        assert_eq!(long(u32::MAX, Some([u64::MAX; 2]), u32::MAX), [Some(u64::MAX); 2]);
        assert_eq!(long(u32::MAX, Some([0; 2]), u32::MAX), [None; 2]);
        assert_eq!(long(u32::MAX, Some([riff, 0]), u32::MAX), [Some(0); 2]);
        // Only the long forms have that chunk.
        assert_eq!(length(*b"RIFF", u32::MAX, Some([riff, data]), u32::MAX, None), None);
    }

    #[test]
    fn a_length_that_went_round_is_told_by_the_size_of_the_file() {
        let wrapped = |data: u64, more: u64, size| {
            let riff = (36 + data + more) as u32;
            length(*b"RIFF", riff, None, data as u32, size)
        };
        assert_eq!(wrapped(9 * GIB, 0, Some(9 * GIB + 44)), Some(9 * GIB));
        assert_eq!(wrapped(9 * GIB, 26, Some(9 * GIB + 70)), Some(9 * GIB));
        assert_eq!(wrapped(GIB, 26, Some(GIB + 70)), Some(GIB));
        assert_eq!(wrapped(GIB, 0, None), Some(GIB), "a pipe has no size");
        assert_eq!(wrapped(3 * GIB, 26, Some(3 * GIB + 70)), Some(3 * GIB));
    }

    #[test]
    fn a_large_length_is_left_open_only_where_nothing_follows() {
        assert_eq!(length(*b"RIFF", 0x7fff_f024, None, 0x7fff_f000, None), None);
        assert_eq!(length(*b"RIFF", 0x7fff_f024 + 26, None, 0x7fff_f000, None), Some(0x7fff_f000));
        assert_eq!(length(*b"RIFF", 0x7ffe_f024, None, 0x7ffe_f000, None), Some(0x7ffe_f000));
    }
}
