//! From the bytes that a terminal sends to keys.
//!
//! A key is one character, or several bytes that begin with Esc: `ESC [ … final` or `ESC O … final` (ECMA-48, 5.4 and
//! 8.3.16; `XTerm` Control Sequences, "PC-Style Function Keys"), or Esc and a character for Alt. Where a sequence ends
//! is found here, because a slow line may break off in the middle of one; what a whole sequence means says `terminput`.

use ratatui::crossterm::event::{KeyCode, KeyEvent};
use std::mem;
use std::time::Duration;

/// The bytes of one key leave the terminal in one go. A longer silence between two of them means that the rest is
/// late or lost; nobody types two keys within this time.
const BURST: Duration = Duration::from_millis(100);

/// How long Esc stands alone, after [`BURST`], until it is the key itself: a line that needs 200 ms for each byte still
/// brings the second byte of an arrow key in time, and an arrow key then does not leave the drill.
const LONE: Duration = Duration::from_millis(200);

/// How long the late rest of a sequence that broke off is still waited for, after [`BURST`].
const REST: Duration = Duration::from_millis(500);

/// More bytes than any key sends; a sequence that goes on longer is noise.
const LONGEST: usize = 32;

const ESC: u8 = 0x1b;
const CTRL_C: u8 = 0x03;
const PASTE: &[u8] = b"\x1b[200~";
const PASTE_END: &[u8] = b"\x1b[201~";

/// What has come of a key so far.
#[derive(Debug, Default, PartialEq)]
enum State {
    /// Nothing.
    #[default]
    Ground,
    /// Esc, just now.
    Escape,
    /// Esc, and nothing for a while.
    LoneEscape,
    /// The beginning of a sequence.
    Sequence(Vec<u8>),
    /// The beginning of a sequence broke off and is dropped; its rest may still come.
    Broken,
    /// The first bytes of a character of several (UTF-8).
    Character(Vec<u8>),
    /// Text pasted into the terminal; the last bytes of it, which may be the beginning of its end.
    Paste(Vec<u8>),
    /// The same, and nothing for a while: its end may be lost.
    StalledPaste(Vec<u8>),
}

/// Turns bytes into keys. Pasted text is no key, and Ctrl-C is one whatever came before it.
#[derive(Debug, Default)]
pub(super) struct Decoder {
    state: State,
}

impl Decoder {
    /// How long to wait for the next byte before [`Decoder::silence`]; without an end if nothing is half done.
    pub(super) fn patience(&self) -> Option<Duration> {
        match self.state {
            State::Ground => None,
            State::Escape | State::Sequence(_) | State::Character(_) | State::Paste(_) => Some(BURST),
            State::LoneEscape => Some(LONE),
            State::Broken | State::StalledPaste(_) => Some(REST),
        }
    }

    /// Nothing came within [`Decoder::patience`].
    pub(super) fn silence(&mut self) -> Option<KeyEvent> {
        self.state = match mem::take(&mut self.state) {
            State::Escape => State::LoneEscape,
            State::LoneEscape => return Some(KeyCode::Esc.into()),
            State::Sequence(_) => State::Broken,
            State::Paste(last) => State::StalledPaste(last),
            State::Ground | State::Broken | State::Character(_) | State::StalledPaste(_) => State::Ground,
        };
        None
    }

    /// The next byte, and what keys it completes.
    pub(super) fn take(&mut self, byte: u8, keys: &mut Vec<KeyEvent>) {
        match mem::take(&mut self.state) {
            State::Paste(last) => self.paste(last, byte),
            // Keys are taken again only when the paste has ended; Ctrl-C is what a player presses who waits for that.
            _ if byte == CTRL_C => keys.extend(key(&[byte])),
            State::StalledPaste(last) => self.paste(last, byte),
            State::Ground => self.begin(byte, keys),
            State::Escape => self.after_escape(byte, keys),
            State::LoneEscape if matches!(byte, b'[' | b'O') => self.state = State::Broken,
            State::LoneEscape => {
                keys.push(KeyCode::Esc.into());
                self.begin(byte, keys);
            }
            State::Sequence(bytes) => self.sequence(bytes, byte, keys),
            State::Broken => self.rest(byte, keys),
            State::Character(bytes) => self.character(bytes, byte, keys),
        }
    }

    fn begin(&mut self, byte: u8, keys: &mut Vec<KeyEvent>) {
        match byte {
            ESC => self.state = State::Escape,
            0x80.. if length(byte).is_none() => {}
            0x80.. => self.state = State::Character(vec![byte]),
            _ => keys.extend(key(&[byte])),
        }
    }

    fn after_escape(&mut self, byte: u8, keys: &mut Vec<KeyEvent>) {
        match byte {
            b'[' | b'O' => self.state = State::Sequence(vec![ESC, byte]),
            ESC => {
                keys.push(KeyCode::Esc.into());
                self.state = State::Escape;
            }
            0x80.. => self.begin(byte, keys),
            _ => keys.extend(key(&[ESC, byte])),
        }
    }

    fn sequence(&mut self, mut bytes: Vec<u8>, byte: u8, keys: &mut Vec<KeyEvent>) {
        bytes.push(byte);
        // The Linux console sends F1 to F5 as ESC [ [ A and so on (console_codes(4) names the quirk).
        let opens_again = bytes == b"\x1b[[";
        match byte {
            _ if bytes.len() > LONGEST => self.state = State::Broken,
            0x20..=0x3f => self.state = State::Sequence(bytes),
            _ if opens_again => self.state = State::Sequence(bytes),
            0x40..=0x7e if bytes == PASTE => self.state = State::Paste(Vec::new()),
            0x40..=0x7e => keys.extend(key(&bytes)),
            // A control character or a letter beyond ASCII ends what cannot go on (ECMA-48, 5.4).
            _ => self.begin(byte, keys),
        }
    }

    /// Drops what can be the rest of a key's sequence: figures and their separators, then one of the signs with which
    /// keys end (`XTerm` Control Sequences; `^`, `$` and `@` by another family of terminals). Everything else is the
    /// next key.
    fn rest(&mut self, byte: u8, keys: &mut Vec<KeyEvent>) {
        match byte {
            b'0'..=b'9' | b':' | b';' => self.state = State::Broken,
            b'~' | b'^' | b'$' | b'@' | b'A'..=b'H' | b'P'..=b'S' | b'Z' => {}
            _ => self.begin(byte, keys),
        }
    }

    fn character(&mut self, mut bytes: Vec<u8>, byte: u8, keys: &mut Vec<KeyEvent>) {
        if !(0x80..0xc0).contains(&byte) {
            return self.begin(byte, keys);
        }
        bytes.push(byte);
        if bytes.first().is_some_and(|first| length(*first) > Some(bytes.len())) {
            self.state = State::Character(bytes);
        } else {
            keys.extend(key(&bytes));
        }
    }

    fn paste(&mut self, mut last: Vec<u8>, byte: u8) {
        last.push(byte);
        if last.ends_with(PASTE_END) {
            return;
        }
        last.drain(..last.len().saturating_sub(PASTE_END.len() - 1));
        self.state = State::Paste(last);
    }
}

/// How many bytes a character beyond ASCII has, by its first (RFC 3629, section 3).
fn length(first: u8) -> Option<usize> {
    match first {
        0xc2..=0xdf => Some(2),
        0xe0..=0xef => Some(3),
        0xf0..=0xf4 => Some(4),
        _ => None,
    }
}

/// What whole bytes mean, if they are a key.
fn key(bytes: &[u8]) -> Option<KeyEvent> {
    match terminput::Event::parse_from(bytes) {
        Ok(Some(terminput::Event::Key(key))) => Some(terminput_crossterm::to_crossterm_key(key)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::crossterm::event::KeyModifiers;

    /// What a person at the other end of the line does: bytes, or a silence of so many milliseconds.
    enum Act {
        Send(&'static [u8]),
        Wait(u64),
    }
    use Act::{Send, Wait};

    fn keys(acts: &[Act]) -> Vec<KeyEvent> {
        let (mut decoder, mut keys) = (Decoder::default(), Vec::new());
        for act in acts {
            match act {
                Send(bytes) => bytes.iter().for_each(|byte| decoder.take(*byte, &mut keys)),
                Wait(ms) => {
                    let mut left = Duration::from_millis(*ms);
                    while let Some(patience) = decoder.patience().filter(|patience| *patience <= left) {
                        left -= patience;
                        keys.extend(decoder.silence());
                    }
                }
            }
        }
        keys
    }

    fn ctrl(letter: char) -> KeyEvent {
        KeyEvent::new(KeyCode::Char(letter), KeyModifiers::CONTROL)
    }

    fn codes(acts: &[Act]) -> Vec<KeyCode> {
        keys(acts).into_iter().map(|key| key.code).collect()
    }

    /// The sequences are those of `XTerm` Control Sequences, "PC-Style Function Keys" and "VT220-Style Function Keys".
    #[test]
    fn keys_are_what_terminals_send() {
        let sent: [(&[u8], KeyCode); 16] = [
            (b"q", KeyCode::Char('q')),
            ("é".as_bytes(), KeyCode::Char('é')),
            ("♭".as_bytes(), KeyCode::Char('♭')),
            (b"\r", KeyCode::Enter),
            (b"\t", KeyCode::Tab),
            (b"\x7f", KeyCode::Backspace),
            (b"\x1b[A", KeyCode::Up),
            (b"\x1bOB", KeyCode::Down),
            (b"\x1b[H", KeyCode::Home),
            (b"\x1b[3~", KeyCode::Delete),
            (b"\x1b[6~", KeyCode::PageDown),
            (b"\x1bOP", KeyCode::F(1)),
            (b"\x1b[[E", KeyCode::F(5)),
            (b"\x1b[24~", KeyCode::F(12)),
            (b"\x1b[1;5C", KeyCode::Right),
            (b"\x1b[Z", KeyCode::BackTab),
        ];
        for (bytes, code) in sent {
            assert_eq!(codes(&[Send(bytes)]), [code], "{bytes:?}");
            let twice = [bytes, bytes].concat();
            assert_eq!(codes(&[Send(twice.leak())]), [code, code], "{bytes:?} twice");
        }
        assert_eq!(keys(&[Send(b"\x1bx")]), [KeyEvent::new(KeyCode::Char('x'), KeyModifiers::ALT)]);
    }

    #[test]
    fn esc_alone_is_a_key_after_a_while() {
        assert_eq!(codes(&[Send(b"\x1b"), Wait(299)]), []);
        assert_eq!(codes(&[Send(b"\x1b"), Wait(301)]), [KeyCode::Esc]);
        assert_eq!(codes(&[Send(b"\x1b\x1b"), Wait(301)]), [KeyCode::Esc, KeyCode::Esc]);
        assert_eq!(codes(&[Send(b"\x1b"), Wait(150), Send(b"q")]), [KeyCode::Esc, KeyCode::Char('q')]);
    }

    #[test]
    fn half_a_sequence_never_holds_up_the_next_key() {
        for half in [&b"\x1b"[..], b"\x1b[", b"\x1b[2", b"\x1b[1;", b"\x1bO", b"\xe2\x99"] {
            assert_eq!(keys(&[Send(half), Send(b"\x03")]), [ctrl('c')], "{half:?}");
            assert_eq!(keys(&[Send(half), Wait(200), Send(b"\x03")]), [ctrl('c')], "{half:?}");
        }
        for half in [&b"\x1b["[..], b"\x1b[2", b"\x1b[1;", b"\x1bO", b"\xe2\x99"] {
            for wait in [150, 2_000] {
                let next = keys(&[Send(half), Wait(wait), Send(b"q")]);
                assert_eq!(next, [KeyCode::Char('q').into()], "{half:?} {wait}");
            }
            assert_eq!(codes(&[Send(half), Wait(150), Send(b"\x1b[A")]), [KeyCode::Up], "{half:?}");
        }
        assert_eq!(keys(&[Send(b"\x1b[2"), Send(b"\r")]), [KeyCode::Enter.into()]);
    }

    #[test]
    fn the_late_rest_of_a_sequence_is_no_key() {
        for whole in [&b"\x1b[A"[..], b"\x1bOP", b"\x1b[3~", b"\x1b[1;5C", b"\x1b[24~", b"\x1b[200;2S"] {
            let slow: Vec<Act> =
                whole.iter().flat_map(|byte| [Send(std::slice::from_ref(byte)), Wait(200)]).collect();
            assert_eq!(codes(&slow), [], "{whole:?}");
        }
    }

    #[test]
    fn pasted_text_is_no_key() {
        assert_eq!(codes(&[Send(b"\x1b[200~qqq\x03\x1b[A\r\x1b[201~n")]), [KeyCode::Char('n')]);
        assert_eq!(codes(&[Send(b"\x1b[200~qq"), Wait(200), Send(b"q\x1b[201~n")]), [KeyCode::Char('n')]);
        // The end of the paste is lost.
        assert_eq!(keys(&[Send(b"\x1b[200~qq"), Wait(200), Send(b"\x03")]), [ctrl('c')]);
        assert_eq!(codes(&[Send(b"\x1b[200~qq"), Wait(700), Send(b"n")]), [KeyCode::Char('n')]);
    }

    /// Bytes out of nowhere neither end the program nor keep Ctrl-C from it.
    #[test]
    fn noise_is_survived() {
        let mut random = oorandom::Rand32::new(1);
        for _ in 0..20_000 {
            let (mut decoder, mut keys) = (Decoder::default(), Vec::new());
            for _ in 0..random.rand_range(0..48) {
                // Half of it is what sequences are made of.
                let signs = b"\x1b[O0123;:<?~uMRABm\xe2\x99\xad";
                let any = random.rand_u32() as u8;
                let sign = signs[random.rand_range(0..signs.len() as u32) as usize];
                let byte = if random.rand_range(0..2) == 0 { any } else { sign };
                decoder.take(byte, &mut keys);
                if random.rand_range(0..16) == 0 {
                    keys.extend(decoder.silence());
                }
            }
            // In the middle of a paste it may take a silence.
            decoder.silence();
            keys.clear();
            decoder.take(CTRL_C, &mut keys);
            assert_eq!(keys, [ctrl('c')]);
        }
    }
}
