//! What was handed to a loudspeaker, for the code that removes its sound from what a microphone hears.

use crate::host_time::{Anchor, HostTime};
use crate::outflow::Given;
use crate::piece::{Piece, STAGE};
use ringbuf::traits::{Consumer, Producer, Split};
use ringbuf::{HeapCons, HeapProd, HeapRb};
use std::sync::Arc;

/// Pieces that wait for whoever listens: at least a second of the smallest blocks that a device asks for, 64 frames.
const WAITING: usize = 1_024;

/// A loudspeaker by hand: whoever has it tells what was handed out. For tests, and for what plays without a device.
pub struct Handing {
    told: HeapProd<Piece>,
    given: Arc<Given>,
    frames: u64,
}

impl Handing {
    /// For a loudspeaker of so many frames per second, and the end at which it is read.
    pub fn new(rate: f64) -> (Self, HandedOut) {
        let given = Arc::<Given>::default();
        let (told, handed_out) = HandedOut::new(rate, Arc::clone(&given));
        (Self { told, given, frames: 0 }, handed_out)
    }

    /// The next frames were handed out, at this moment.
    pub fn hand_out(&mut self, frames: &[f32], at: HostTime) {
        for part in frames.chunks(STAGE) {
            // If there is no room, nobody reads them.
            let _ = self.told.try_push(Piece::new(self.frames, part));
            self.frames += part.len() as u64;
        }
        self.given.anchor.store(Anchor { frame: self.frames, at });
    }
}

/// The frames that one loudspeaker was handed, in order. What nobody read in time is missing.
pub struct HandedOut {
    pieces: HeapCons<Piece>,
    given: Arc<Given>,
    rate: f64,
}

impl HandedOut {
    /// For a loudspeaker of so many frames per second; gives the end for the callback as well.
    pub(crate) fn new(rate: f64, given: Arc<Given>) -> (HeapProd<Piece>, Self) {
        let (told, pieces) = HeapRb::new(WAITING).split();
        (told, Self { pieces, given, rate })
    }

    /// Frames per second, by the loudspeaker's own word.
    pub fn sample_rate(&self) -> f64 {
        self.rate
    }

    /// How many frames have been handed out, and when the newest were; `None` before the first.
    pub fn anchor(&self) -> Option<Anchor> {
        self.given.anchor.load()
    }

    /// Hands on what has not been read yet, piece by piece: the number of the piece's first frame, and its frames.
    /// Never waits.
    pub fn read(&mut self, mut on: impl FnMut(u64, &[f32])) {
        while let Some(piece) = self.pieces.try_pop() {
            on(piece.first, piece.frames());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outflow::Outflow;

    #[test]
    fn what_the_callback_hands_out_is_read_frame_by_frame_with_the_silence_that_stood_in() {
        let given = Arc::<Given>::default();
        let (mut ring, samples) = HeapRb::new(2_000).split();
        let (told, mut handed_out) = HandedOut::new(48_000.0, Arc::clone(&given));
        let mut outflow = Outflow::new(samples, 2, given).telling(told);
        let sound: Vec<f32> = (1..=600).map(|n| n as f32 / 1_000.0).collect();
        ring.push_slice(&sound);
        let mut block = [0.0_f32; 2 * 700];
        outflow.give(&mut block, HostTime::from_nanos(7));
        let (mut read, mut next) = (Vec::new(), 0);
        handed_out.read(|first, frames| {
            assert_eq!(first, next);
            next += frames.len() as u64;
            read.extend_from_slice(frames);
        });
        assert_eq!((&read[..600], &read[600..]), (&sound[..], &[0.0; 100][..]));
        assert_eq!(handed_out.anchor(), Some(Anchor { frame: 700, at: HostTime::from_nanos(7) }));
        // A piece that found no room is missing, and the frames that follow keep their numbers.
        for _ in 0..=WAITING {
            outflow.give(&mut block[..2], HostTime::from_nanos(8));
        }
        handed_out.read(|_, _| ());
        outflow.give(&mut block[..2], HostTime::from_nanos(9));
        let mut firsts = Vec::new();
        handed_out.read(|first, _| firsts.push(first));
        assert_eq!(firsts, [700 + WAITING as u64 + 1]);
    }
}
