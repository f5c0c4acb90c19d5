//! Recordings against WAV files that are written byte by byte as the format's own papers say: IBM and Microsoft,
//! "Multimedia Programming Interface and Data Specifications 1.0" (1991), chapter 3, and Microsoft,
//! "Multiple Channel Audio Data and WAVE Files" (2001) for the extended format chunk.

use crate::wav::{FLOAT, PCM, Shelf, all, chunk, format, refusal, riff, samples_of, wav};
use sound::{Channel, Fed, Feed, FeedEvent, FeedSpec, Generator, Pace, Recording};
use std::time::Duration;

#[test]
fn every_width_of_integer_has_its_full_scale_at_one() {
    assert_eq!(samples_of(&wav(&format(PCM, 1, 48_000, 8), &[0, 64, 128, 192])), [-1.0, -0.5, 0.0, 0.5]);
    let words: Vec<u8> = [i16::MIN, 0, 16_384].iter().flat_map(|x| x.to_le_bytes()).collect();
    assert_eq!(samples_of(&wav(&format(PCM, 1, 48_000, 16), &words)), [-1.0, 0.0, 0.5]);
    let three = [0, 0, 0x80, 0, 0, 0, 0, 0, 0x40];
    assert_eq!(samples_of(&wav(&format(PCM, 1, 48_000, 24), &three)), [-1.0, 0.0, 0.5]);
    let four: Vec<u8> = [i32::MIN, 0, 1 << 30].iter().flat_map(|x| x.to_le_bytes()).collect();
    assert_eq!(samples_of(&wav(&format(PCM, 1, 48_000, 32), &four)), [-1.0, 0.0, 0.5]);
}

#[test]
fn floats_come_as_they_are_and_what_is_no_number_is_silence() {
    let floats = [0.25, f32::NAN, -0.5, f32::INFINITY, 1.5];
    let bytes: Vec<u8> = floats.iter().flat_map(|x| x.to_le_bytes()).collect();
    let shelf = Shelf::new();
    let mut recording = Recording::open(shelf.put(&wav(&format(FLOAT, 1, 44_100, 32), &bytes))).unwrap();
    assert_eq!(all(&mut recording), [0.25, 0.0, -0.5, 0.0, 1.5]);
    assert_eq!(recording.non_finite(), 2);
    assert!(recording.take_warning().unwrap().contains("no numbers"));
    assert_eq!(recording.take_warning(), None);
    // Nor is the mix of the largest numbers infinite.
    let large: Vec<u8> = [f32::MAX; 2].iter().flat_map(|x| x.to_le_bytes()).collect();
    let path = shelf.put(&wav(&format(FLOAT, 2, 44_100, 32), &large));
    assert_eq!(all(&mut Recording::open_channel(path, Channel::Mix).unwrap()), [f32::MAX]);
}

#[test]
fn an_extended_format_chunk_is_read() {
    let mut extended = format(0xfffe, 2, 96_000, 24);
    extended.extend(22u16.to_le_bytes());
    extended.extend(20u16.to_le_bytes()); // valid bits, at the top of the 24
    extended.extend(3u32.to_le_bytes());
    extended.extend([1, 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71]);
    let shelf = Shelf::new();
    let path = shelf.put(&wav(&extended, &[0, 0, 0x40, 0, 0, 0xc0, 0, 0, 0x20, 0, 0, 0]));
    let mut right = Recording::open_channel(path, Channel::RIGHT).unwrap();
    assert_eq!((right.sample_rate(), right.channels()), (96_000.0, 2));
    assert_eq!(all(&mut right), [-0.5, 0.0]);
}

#[test]
fn a_comment_of_odd_length_before_the_samples_is_passed_over_with_its_pad_byte() {
    let format = format(PCM, 1, 8_000, 16);
    let file = riff(&[
        chunk(*b"LIST", 5, b"hello"),
        chunk(*b"fmt ", 16, &format),
        chunk(*b"junk", 3, b"abc"),
        chunk(*b"data", 2, &[0, 0x40]),
    ]);
    assert_eq!(samples_of(&file), [0.5]);
}

#[test]
fn a_file_cut_in_the_middle_gives_what_is_there_and_says_so() {
    let whole = wav(&format(PCM, 2, 8_000, 16), &vec![0x40; 32_000]);
    let shelf = Shelf::new();
    let path = shelf.put(&whole[..whole.len() - 16_002]);
    let mut recording = Recording::open(path).unwrap();
    assert_eq!(all(&mut recording).len(), 3_999, "half a frame is left out");
    let warning = recording.take_warning().unwrap();
    assert!(warning.contains("cut short") && warning.contains("0.5 seconds are there"), "{warning}");
}

#[test]
fn what_is_no_recording_is_refused_in_one_sentence() {
    assert!(refusal(b"").contains("empty"));
    assert!(refusal(b"ID3\x03 this is some other kind of music file").contains("no WAV file"));
    assert!(refusal(b"RIFF").contains("no WAV file"));
    assert!(refusal(&wav(&format(PCM, 1, 48_000, 16), &[])).contains("not one sample"));
    assert!(refusal(&wav(&format(PCM, 1, 48_000, 16), &[1])).contains("not one sample"));
    assert!(refusal(&wav(&format(PCM, 0, 48_000, 16), &[0; 8])).contains("no sense"));
    for rate in [0, 7_999, 192_001, u32::MAX] {
        let mut other = format(PCM, 1, 48_000, 16);
        other.splice(4..8, rate.to_le_bytes());
        let text = refusal(&wav(&other, &[0; 8]));
        assert!(text.contains(&format!("a rate of {rate} ")) && text.contains("at 8 to 192 kHz"), "{text}");
    }
    assert!(refusal(&wav(&format(PCM, 1, 48_000, 12), &[0; 8])).contains("12 bits"));
    assert!(refusal(&wav(&format(FLOAT, 1, 48_000, 64), &[0; 8])).contains("64-bit float"));
    let mut roomy = format(PCM, 1, 48_000, 8);
    roomy[12] = 4; // bytes of a frame
    assert!(refusal(&wav(&roomy, &[0; 8])).contains("8 bits a sample in 4 bytes"));
    assert!(refusal(&wav(&format(17, 1, 48_000, 16), &[0; 8])).contains("WAV format 17"));
    assert!(refusal(&riff(&[chunk(*b"data", 4, &[0; 4])])).contains("does not say"));
    assert!(refusal(&riff(&[chunk(*b"fmt ", 4, &[0; 4])])).contains("cut short"));
    assert!(refusal(&riff(&[chunk(*b"LIST", 900, b"too short")])).contains("ends before"));
}

#[test]
fn no_file_and_a_folder_are_refused_too() {
    let shelf = Shelf::new();
    let missing = Recording::open(shelf.0.path().join("none.wav")).err().unwrap().to_string();
    assert!(missing.contains("cannot be opened"), "{missing}");
    let folder = Recording::open(shelf.0.path()).err().unwrap().to_string();
    assert!(folder.contains("folder"), "{folder}");
}

#[test]
fn a_channel_is_chosen_by_word_or_number() {
    let shelf = Shelf::new();
    let path = shelf.put(&wav(&format(PCM, 3, 48_000, 8), &[192, 128, 160, 192, 128, 160]));
    let hear = |choice: &str| {
        Recording::open_channel(&path, choice.parse().unwrap()).map(|mut recording| all(&mut recording)[0])
    };
    assert_eq!(hear("left").unwrap(), 0.5);
    assert_eq!(hear("right").unwrap(), 0.0);
    assert_eq!(hear("3").unwrap(), 0.25);
    assert_eq!(hear("mix").unwrap(), 0.25);
    let text = hear("4").unwrap_err().to_string();
    assert!(text.contains("3 channels") && text.contains("no channel 4"), "{text}");
    for bad in ["0", "-1", "both", ""] {
        assert!(bad.parse::<Channel>().is_err(), "{bad} passed for a channel");
    }
}

/// Channel 2 carries a tone, channel 1 a constant and, later, a louder tone.
#[test]
fn auto_follows_the_loudest_channel_whatever_the_block_size() {
    let mut data = Vec::new();
    for n in 0..96_000 {
        let tone = (f64::from(n) * 0.06).sin();
        let first = if n < 48_000 { 0.9 } else { 0.8 * tone };
        for x in [first, 0.1 * tone] {
            data.extend((x as f32).to_le_bytes());
        }
    }
    let shelf = Shelf::new();
    let path = shelf.put(&wav(&format(FLOAT, 2, 48_000, 32), &data));
    let heard = all(&mut Recording::open(&path).unwrap());
    let peak = |part: &[f32]| part.iter().fold(0f32, |a, b| a.max(b.abs()));
    assert!(
        (peak(&heard[480..48_000]) - 0.1).abs() < 1e-3,
        "the tone is taken after a hundredth of a second"
    );
    assert!((peak(&heard[72_000..]) - 0.8).abs() < 1e-3, "the louder channel is taken later");
    for size in [1, 480, 4_001] {
        let mut recording = Recording::open(&path).unwrap();
        let mut out = vec![0.0; 96_000];
        for part in out.chunks_mut(size) {
            assert_eq!(recording.fill(part), part.len());
        }
        assert!(out == heard, "block size {size} chose otherwise");
    }
}

#[test]
fn a_feed_of_a_recording_tells_its_rate_its_samples_its_warning_and_its_end() {
    let whole = wav(&format(PCM, 1, 16_000, 8), &[192; 1_000]);
    let shelf = Shelf::new();
    let path = shelf.put(&whole[..whole.len() - 100]);
    for pace in [Pace::AsFastAsPossible, Pace::InTime] {
        let spec = FeedSpec::Recording { path: path.clone(), channel: Channel::Auto };
        let mut feed = Feed::open(spec, pace).unwrap();
        let mut buf = [0.0; 256];
        let (mut next, mut events) = (0, Vec::new());
        loop {
            match feed.read(&mut buf, Duration::from_secs(5)) {
                Fed::Samples(block) => {
                    assert_eq!((block.start, block.lost_before), (next, 0));
                    assert!(buf[..block.len].iter().all(|&x| x == 0.5));
                    next += block.len as u64;
                }
                Fed::Event(FeedEvent::Ended) => break,
                Fed::Event(event) => events.push(event),
                Fed::Nothing => panic!("nothing came for five seconds"),
            }
        }
        assert_eq!(next, 900);
        assert!(matches!(&events[0], FeedEvent::Opened(origin) if origin.sample_rate == 16_000.0));
        assert!(matches!(&events[1], FeedEvent::Warning(text) if text.contains("cut short")));
        assert_eq!(events.len(), 2);
        assert_eq!(
            feed.read(&mut buf, Duration::ZERO),
            Fed::Event(FeedEvent::Ended),
            "the end is said again"
        );
    }
}

/// Leaves out more than a block holds, and more than the file holds.
#[test]
fn samples_are_left_out_as_if_they_had_been_read() {
    let count = 100_000_u32;
    let bytes: Vec<u8> = (0..count)
        .flat_map(|n| {
            let left = (n % 30_000) as i16;
            [left.to_le_bytes(), [0, 0]].concat()
        })
        .collect();
    let shelf = Shelf::new();
    let path = shelf.put(&wav(&format(PCM, 2, 48_000, 16), &bytes));
    let open = || Recording::open_channel(&path, Channel::Only(1)).unwrap();
    let whole = all(&mut open());
    for skipped in [0, 1, 16_383, 16_384, 70_001, 99_999, 100_000, 200_000] {
        let mut recording = open();
        recording.skip(skipped);
        let rest = whole.get(skipped as usize..).unwrap_or_default();
        assert_eq!(all(&mut recording), rest, "{skipped}");
        assert_eq!(recording.take_warning(), None, "{skipped}");
    }
    let mut recording = open();
    let mut some = [0.0; 1_000];
    assert_eq!(recording.fill(&mut some), 1_000);
    recording.skip(40_000);
    assert_eq!(all(&mut recording), whole[41_000..]);
}
