//! A Standard MIDI File of single notes (RP-001, number from memory), written by the crate `midly`.

use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind};
use std::ops::RangeInclusive;

/// Ticks in a quarter note, which lasts half a second: a tick is half a millisecond.
const TICKS: u16 = 1000;

/// General MIDI program "Harmonica", counted from 0.
const HARMONICA: u8 = 22;

/// The notes one after the other, each of `note_s` seconds and followed by `rest_s` seconds of silence.
pub(crate) fn file(notes: RangeInclusive<u8>, note_s: f64, rest_s: f64) -> Vec<u8> {
    let ticks = |seconds: f64| u28::new((seconds * 2.0 * f64::from(TICKS)) as u32);
    let channel =
        |delta, message| TrackEvent { delta, kind: TrackEventKind::Midi { channel: u4::new(0), message } };
    let meta = |delta, message| TrackEvent { delta, kind: TrackEventKind::Meta(message) };
    let now = u28::new(0);
    let mut track: Track = vec![
        meta(now, MetaMessage::Tempo(u24::new(500_000))),
        channel(now, MidiMessage::ProgramChange { program: u7::new(HARMONICA) }),
    ];
    for (i, note) in notes.enumerate() {
        let key = u7::new(note);
        let rest = if i == 0 { now } else { ticks(rest_s) };
        track.push(channel(rest, MidiMessage::NoteOn { key, vel: u7::new(100) }));
        track.push(channel(ticks(note_s), MidiMessage::NoteOff { key, vel: u7::new(0) }));
    }
    track.push(meta(ticks(rest_s), MetaMessage::EndOfTrack));
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::new(TICKS)));
    let mut bytes = Vec::new();
    Smf { header, tracks: vec![track] }.write_std(&mut bytes).unwrap();
    bytes
}
