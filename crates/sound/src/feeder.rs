//! Keeps the ring of a loudspeaker filled, a little ahead of the callback, and knows which frames are sound.

use crate::Generator;
use crate::host_time::{Anchor, HostTime};
use crate::mixer::{Mixer, Progress};
use crate::outflow::Given;
use crate::own_sound::OwnSound;
use crate::stream_clock::StreamClock;
use ringbuf::HeapProd;
use ringbuf::traits::{Observer, Producer};
use std::collections::VecDeque;
use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// Sound kept ready for the callback, seconds, while it may have to stop or begin at once.
const AHEAD_SECONDS: f64 = 0.04;
/// Sound kept ready while only beats sound or wait, seconds. A missing beat is worse than a beat that still comes after
/// a stop, and a machine that was compiling was seen to hold up a thread for more than 40 ms.
const BEATS_AHEAD_SECONDS: f64 = 0.16;
/// Samples that are made at once.
const PORTION: usize = 256;

/// The side of the ring on which samples are made. Sample n is for frame n of the device, so where there is no sound,
/// silence is put in.
pub(crate) struct Feeder {
    mixer: Mixer,
    ring: HeapProd<f32>,
    given: Arc<Given>,
    own: OwnSound,
    rate: f64,
    pushed: u64,
    /// The frame behind the last one with sound.
    sound_end: u64,
    /// The frames of the tone that was made last, which are kept from the microphone's ear.
    tone: Range<u64>,
    seen: Option<Anchor>,
    /// When frames are handed out.
    clock: StreamClock,
    /// Sounds that wait for their frames, in the order of their moments.
    timed: VecDeque<(HostTime, Box<dyn Generator>)>,
}

impl Feeder {
    pub(crate) fn new(sample_rate: f64, ring: HeapProd<f32>, given: Arc<Given>, own: OwnSound) -> Self {
        Self {
            mixer: Mixer::new(sample_rate),
            ring,
            given,
            own,
            rate: sample_rate,
            pushed: 0,
            sound_end: 0,
            tone: 0..0,
            seen: None,
            clock: StreamClock::new(sample_rate),
            timed: VecDeque::new(),
        }
    }

    /// Starts a tone; one that is playing fades first. Tones are kept from the microphone's ear.
    pub(crate) fn play(&mut self, sound: Box<dyn Generator>) {
        self.mixer.play(sound);
    }

    /// Starts a sound with the frame that is handed out at a moment, beside whatever plays then. The number of that
    /// frame is worked out when it is near, because the device may run faster or slower than its nominal rate.
    pub(crate) fn play_at(&mut self, at: HostTime, sound: Box<dyn Generator>) {
        let place = self.timed.partition_point(|(other, _)| *other <= at);
        self.timed.insert(place, (at, sound));
    }

    /// Fades out what is playing, and forgets what waits for its frame.
    pub(crate) fn stop(&mut self) {
        self.timed.clear();
        self.mixer.stop();
    }

    /// Starts the sounds that wait for their frames, if those are among the next `PORTION`. The part of a sound that is
    /// too late is left out.
    fn begin_timed(&mut self) {
        while let Some(frame) = self.timed.front().and_then(|(at, _)| self.clock.frame_at(*at)) {
            // Rounded to whole frames; PORTION is small enough for the casts.
            let ahead = frame.round() as i64 - self.pushed.cast_signed();
            if ahead >= PORTION.cast_signed() as i64 {
                return;
            }
            let Some((_, mut sound)) = self.timed.pop_front() else { return };
            leave_out(&mut *sound, ahead.min(0).unsigned_abs() as usize);
            self.mixer.join(sound, ahead.max(0) as usize);
        }
    }

    /// Whether frames with sound have not been handed out yet.
    pub(crate) fn is_sounding(&self) -> bool {
        self.handed_out() < self.sound_end
    }

    /// How many frames have been handed out, as far as is known.
    fn handed_out(&self) -> u64 {
        self.seen.map_or(0, |anchor| anchor.frame)
    }

    /// Whether there is anything that has not been handed out to its end yet.
    pub(crate) fn has_more(&self) -> bool {
        self.is_sounding() || !self.timed.is_empty()
    }

    /// What is handed out goes to another device, which runs by a clock of its own.
    pub(crate) fn moved(&mut self) {
        self.clock = StreamClock::new(self.rate);
    }

    /// How long what is kept ready shall last, seconds.
    fn ahead_s(&self) -> f64 {
        let beats = self.mixer.has_beat() || !self.timed.is_empty();
        if beats && !self.mixer.has_tone() { BEATS_AHEAD_SECONDS } else { AHEAD_SECONDS }
    }

    /// Fills the ring up. To be called more often than the ring lasts, which is 40 ms at least.
    pub(crate) fn top_up(&mut self, now: HostTime, mut tell: impl FnMut(Progress)) {
        self.follow_the_callback();
        let late = self.given.late.load(Ordering::Relaxed) as usize;
        let wanted = (self.rate * self.ahead_s()) as usize + late;
        // Frames that have passed already, before their samples were made. While nothing plays they are filled with
        // silence, so that a new sound keeps its beginning.
        let mut passed = late.saturating_sub(self.ring.occupied_len());
        while self.ring.occupied_len() < wanted && self.ring.vacant_len() >= PORTION {
            let mut portion = [0.0; PORTION];
            if passed > 0 && self.mixer.is_silent() {
                let skipped = passed.min(PORTION);
                self.push(&portion[..skipped]);
                passed -= skipped;
                continue;
            }
            self.begin_timed();
            let had_tone = self.mixer.has_tone();
            let (made, progress) = self.mixer.render(&mut portion);
            tell(progress);
            if made > 0 {
                self.mark(made, had_tone || self.mixer.has_tone(), now);
                self.push(&portion[..made]);
            } else {
                self.push(&[0.0; PORTION]);
            }
            passed = passed.saturating_sub(PORTION);
        }
    }

    /// The microphone may hear the next `made` frames from now on.
    fn mark(&mut self, made: usize, has_tone: bool, now: HostTime) {
        self.sound_end = self.pushed + made as u64;
        if has_tone {
            if self.handed_out() >= self.tone.end {
                self.tone.start = self.pushed;
            }
            self.tone.end = self.sound_end;
            self.own.sounded(now, now);
        }
    }

    fn push(&mut self, portion: &[f32]) {
        self.pushed += self.ring.push_slice(portion) as u64;
    }

    /// Notes when frames with sound were handed out. Only the newest callback is seen: the frames since the last one
    /// seen count as handed out at any time between the two.
    fn follow_the_callback(&mut self) {
        let newest = self.given.anchor.load();
        let Some(anchor) = newest.filter(|anchor| self.seen.is_none_or(|seen| anchor.frame > seen.frame))
        else {
            return;
        };
        let (frame, from) = self.seen.map_or((0, anchor.at), |seen| (seen.frame, seen.at));
        if self.tone.start < anchor.frame && frame < self.tone.end {
            self.own.sounded(from, anchor.at);
        }
        self.clock.see(anchor);
        self.seen = Some(anchor);
    }
}

/// Leaves out the first so many samples of a sound.
fn leave_out(sound: &mut dyn Generator, mut late: usize) {
    let mut scrap = [0.0; PORTION];
    while late > 0 {
        let left = late.min(PORTION);
        match sound.fill(&mut scrap[..left]) {
            0 => return,
            made => late -= made,
        }
    }
}

#[cfg(test)]
mod tests;
