//! What the loudspeaker was handed, laid beside what the microphone hears, and taken out of it.

use echo::{Gate, Gated, Pace, Remover, State, Tape};
use pitch::Reading;
use sound::{Block, HandedOut, OwnSound, StreamClock};
use std::sync::{Arc, Mutex, PoisonError};

/// What was handed to the loudspeaker is kept so long, seconds: a listening thread may be held up for two.
const KEPT_S: f64 = 3.0;
/// Longest lag of the tape behind the clocks, seconds. By the clocks frames are handed out one by one, but they become
/// known a block at a time, and later if a callback is late. So the tape is read behind the clocks by as much as was
/// ever missing, up to this; a callback that is later still has stood still. No sound comes back within the lag,
/// because a block does not sound before it was handed out.
const LATEST_S: f64 = 0.060;
/// The lag is this much longer than it has to be, seconds: whenever it grows, everything has to be learnt anew.
const SPARE_S: f64 = 0.004;

/// If the sound comes back later than the filter reaches, the tape is delayed, so that the filter begins this long
/// before the place where the sound was found, seconds.
const BEFORE_S: f64 = 0.03;

/// What the program itself sounds: when, and what. Clones see the same.
#[derive(Clone, Default)]
pub(crate) struct Sounded {
    /// When tones sounded.
    pub(crate) own: OwnSound,
    /// What the loudspeaker that was opened last is handed, and its number among those that were opened.
    handed_out: Arc<Mutex<Option<(u64, HandedOut)>>>,
}

impl Sounded {
    /// Of a loudspeaker that sounds tones as `own` says.
    pub(crate) fn new(own: OwnSound) -> Self {
        Self { own, handed_out: Arc::default() }
    }

    /// A loudspeaker was opened, and is handed this.
    pub(crate) fn opened(&self, handed_out: HandedOut) {
        let mut newest = self.handed_out.lock().unwrap_or_else(PoisonError::into_inner);
        let number = newest.as_ref().map_or(0, |(before, _)| before + 1);
        *newest = Some((number, handed_out));
    }
}

/// Takes what one loudspeaker sounds out of what one microphone hears.
pub(super) struct Removal {
    sounded: Sounded,
    /// Samples of the microphone per second, and per sample that the ear listens to.
    rate: f64,
    factor: usize,
    microphone: StreamClock,
    loudspeaker: Option<Loudspeaker>,
    remover: Remover,
    gate: Gate,
}

struct Loudspeaker {
    number: u64,
    rate: f64,
    clock: StreamClock,
    tape: Tape,
    /// The frame that is sounded at the next sample of the ear.
    pace: Pace,
    /// How far the tape is read behind the clocks, frames, and how much further because the sound comes back so late.
    behind: f64,
    late: f64,
}

impl Removal {
    /// For a microphone of so many samples per second, of which the ear takes one of `factor`.
    pub(super) fn new(sounded: Sounded, rate: f64, factor: usize) -> Self {
        Self {
            sounded,
            rate,
            factor,
            microphone: StreamClock::new(rate),
            loudspeaker: None,
            remover: Remover::new(rate / factor as f64),
            gate: Gate::new(rate),
        }
    }

    /// Whether the player can be told from what is sounded.
    pub(super) fn is_known(&self) -> bool {
        self.remover.is_known()
    }

    /// Takes a reading of what was taken out last.
    pub(super) fn pass(&mut self, reading: Reading) -> Gated {
        self.gate.pass(&self.remover, reading)
    }

    /// Whether the player has not been heard for long through what the loudspeaker sounds.
    pub(super) fn is_poor(&self) -> bool {
        self.gate.is_poor()
    }

    /// A block of the microphone comes: what was handed out until then is read, and its place beside the block is
    /// found.
    pub(super) fn see(&mut self, block: Block) {
        let Some(anchor) = block.anchor else { return };
        self.microphone.see(anchor);
        let ear_rate = self.rate / self.factor as f64;
        let mut newest = self.sounded.handed_out.lock().unwrap_or_else(PoisonError::into_inner);
        let Some((number, handed_out)) = &mut *newest else { return };
        if self.loudspeaker.as_ref().is_none_or(|known| known.number != *number) {
            self.remover = Remover::new(ear_rate);
            self.loudspeaker = None;
        }
        let loudspeaker = self
            .loudspeaker
            .get_or_insert_with(|| Loudspeaker::new(*number, handed_out.sample_rate(), ear_rate));
        loudspeaker.read(handed_out);
        let late = self.remover.late_s().map(|late_s| (late_s - BEFORE_S) * loudspeaker.rate);
        // If the sound no longer comes back, it may come back sooner than before, from another loudspeaker of the same
        // sound system.
        let sooner =
            (loudspeaker.late > 0.0 && self.remover.state() == State::Absent).then_some(-loudspeaker.late);
        if let Some(more) = late.or(sooner) {
            loudspeaker.late += more;
            loudspeaker.pace.lose();
            self.remover = Remover::new(ear_rate);
        }
        let Some(at) = self.microphone.time_of(block.start as f64) else { return };
        if let Some(frame) = loudspeaker.clock.frame_at(at) {
            let drift_ppm = loudspeaker.clock.drift_ppm() - self.microphone.drift_ppm();
            loudspeaker.follow((frame, block.len as f64 / self.rate), drift_ppm);
        }
    }

    /// Takes what was sounded out of the next sample of the ear.
    pub(super) fn remove(&mut self, heard: f32) -> f32 {
        let Some(loudspeaker) = &mut self.loudspeaker else { return self.remover.remove(0.0, heard) };
        loudspeaker.pace.remove(&loudspeaker.tape, &mut self.remover, heard)
    }
}

impl Loudspeaker {
    fn new(number: u64, rate: f64, ear_rate: f64) -> Self {
        Self {
            number,
            rate,
            clock: StreamClock::new(rate),
            tape: Tape::new(rate, ear_rate, (KEPT_S * rate) as usize),
            pace: Pace::new(rate, ear_rate),
            behind: 0.0,
            late: 0.0,
        }
    }

    fn read(&mut self, handed_out: &mut HandedOut) {
        if let Some(anchor) = handed_out.anchor() {
            self.clock.see(anchor);
        }
        let tape = &mut self.tape;
        handed_out.read(|first, frames| {
            // What nobody read in time is missing.
            tape.skip(first.saturating_sub(tape.end()));
            for x in frames {
                tape.push(*x);
            }
        });
    }

    /// Follows the clocks, by which `frame` is handed out with the first sample of a block of the microphone that lasts
    /// so many seconds. The loudspeaker runs by `drift_ppm` millionths faster than the microphone.
    fn follow(&mut self, (frame, lasts_s): (f64, f64), drift_ppm: f64) {
        let missing = frame + lasts_s * self.rate + self.tape.ahead() - self.tape.end() as f64;
        if missing > self.behind && missing <= LATEST_S * self.rate {
            self.behind = missing + SPARE_S * self.rate;
            self.pace.lose();
        }
        self.pace.clocks(frame - self.behind - self.late, drift_ppm * 1e-6);
    }
}
