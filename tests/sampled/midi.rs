//! Standard MIDI Files of single notes (RP-001, number from memory), written by the crate `midly`.

use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, PitchBend, Smf, Timing, Track, TrackEvent, TrackEventKind,
};

/// Ticks in a quarter note, which lasts half a second: a tick is half a millisecond.
const TICKS: u16 = 1000;

/// The pitch wheel reaches so far to either side, cents: the default of General MIDI.
const WHEEL_CENTS: f64 = 200.0;

/// A note, and how the wheel moves while it sounds.
#[derive(Clone, Debug, Default)]
pub(crate) struct Note {
    /// MIDI key number.
    pub(crate) key: u8,
    /// Seconds from the beginning of the file.
    pub(crate) at_s: f64,
    /// Seconds from key down to key up.
    pub(crate) length_s: f64,
    /// Seconds from the beginning of the file, and cents; the last of them holds on.
    pub(crate) wheel: Vec<(f64, f64)>,
}

/// Notes of a General MIDI program, counted from 0, and some silence behind them.
pub(crate) fn file(program: u8, notes: &[Note], silence_s: f64) -> Vec<u8> {
    let mut events: Vec<(f64, MidiMessage)> = Vec::new();
    for note in notes {
        let key = u7::new(note.key);
        let turned = |(at_s, cents): &(f64, f64)| {
            let bend = PitchBend::from_f64(cents / WHEEL_CENTS);
            (*at_s, MidiMessage::PitchBend { bend })
        };
        events.extend(note.wheel.iter().map(turned));
        events.push((note.at_s, MidiMessage::NoteOn { key, vel: u7::new(100) }));
        events.push((note.at_s + note.length_s, MidiMessage::NoteOff { key, vel: u7::new(0) }));
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let channel =
        |delta, message| TrackEvent { delta, kind: TrackEventKind::Midi { channel: u4::new(0), message } };
    let meta = |delta, message| TrackEvent { delta, kind: TrackEventKind::Meta(message) };
    let now = u28::new(0);
    let mut track: Track = vec![
        meta(now, MetaMessage::Tempo(u24::new(500_000))),
        channel(now, MidiMessage::ProgramChange { program: u7::new(program) }),
    ];
    let mut ticks = 0;
    for (at_s, message) in events {
        let at = (at_s * 2.0 * f64::from(TICKS)).round() as u32;
        track.push(channel(u28::new(at - ticks), message));
        ticks = at;
    }
    track.push(meta(u28::new((silence_s * 2.0 * f64::from(TICKS)) as u32), MetaMessage::EndOfTrack));
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::new(TICKS)));
    let mut bytes = Vec::new();
    Smf { header, tracks: vec![track] }.write_std(&mut bytes).unwrap();
    bytes
}
