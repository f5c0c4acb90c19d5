//! A player at one end of a socket, and a server made by the test at the other.

use super::*;
use crate::outflow::Given;
use crate::{Origin, Playback, Underruns};
use protocol::{Request, Underflow};
use ringbuf::HeapRb;
use ringbuf::traits::{Producer, Split};
use std::io::Read;
use std::os::unix::net::UnixStream;
use std::thread;
use std::time::Duration;

const CHANNEL: u32 = 3;

fn say(server: &mut UnixStream, command: &Command) {
    protocol::write_command_message(server, u32::MAX, command, protocol::MAX_VERSION).unwrap();
}

/// Asks for `length` bytes and reads them.
fn fetch(server: &mut UnixStream, length: u32) -> Vec<u8> {
    say(server, &Command::Request(Request { channel: CHANNEL, length }));
    let mut got = Vec::new();
    while got.len() < length as usize {
        let head = protocol::read_descriptor(server).unwrap();
        assert_eq!(head.channel, CHANNEL);
        let mut piece = vec![0; head.length as usize];
        server.read_exact(&mut piece).unwrap();
        got.extend(piece);
    }
    got
}

#[test]
fn a_server_that_ran_dry_is_counted_apart_from_samples_of_ours_that_were_late() {
    let (ours, mut server) = UnixStream::pair().unwrap();
    let (mut ring, samples) = HeapRb::new(100_000).split();
    let (given, faults) = (Arc::new(Given::default()), Arc::new(Faults::default()));
    let origin = Origin { name: "box".into(), host: None, sample_rate: 48_000.0, channels: 2 };
    let playback = Playback::new(origin, Arc::clone(&given), Arc::clone(&faults));
    let mut player = Player::new(CHANNEL, Outflow::new(samples, 2, given), 2);
    let before = HostTime::now();
    let thread = thread::spawn(move || {
        let ended = player.run(&mut Line::to(ours), 0, &faults);
        assert!(ended.is_err(), "the server has hung up");
    });

    ring.push_slice(&vec![0.5; 20_000]);
    let bytes = fetch(&mut server, 8 * 10_000); // ten thousand frames in several pieces
    assert_eq!(bytes[..8], [0, 0, 0, 0x3f, 0, 0, 0, 0x3f], "0.5 on both channels");
    fetch(&mut server, 8 * 9_000);
    assert_eq!(playback.underruns(), Underruns::default());

    say(&mut server, &Command::Underflow(Underflow { channel: CHANNEL, offset: 0 }));
    fetch(&mut server, 8);
    assert_eq!(playback.underruns(), Underruns { system_events: 1, ..Underruns::default() });

    fetch(&mut server, 8 * 1_479); // 999 are there
    let lasted = Duration::from_millis(10);
    assert_eq!(playback.underruns(), Underruns { events: 1, lasted, ongoing: true, system_events: 1 });
    let anchor = playback.anchor().unwrap();
    assert_eq!(anchor.frame, 20_480);
    assert!(before < anchor.at && anchor.at <= HostTime::now());
    drop(server);
    thread.join().unwrap();
}
