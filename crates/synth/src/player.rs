//! A player who does exactly what is asked, and knows what was played.

use crate::envelope::RELEASE_S;
use crate::error::{SynthError, brought_within};
use crate::gesture::Gesture;
use crate::noise::{Breath, Pink};
use crate::score::Played;
use crate::take::{MAX_VOICES, Planner, Take};
use crate::voice::Voice;
use layout::Harp;
use std::borrow::Borrow;

/// Level of the room by default, dBFS: a quiet one.
const ROOM_DBFS: f64 = -72.0;

/// Renders gestures one after another, without end: while none is queued, the quiet room is heard.
///
/// Gestures may be added at any time. One begins when the one before it has ended and its own rest has gone
/// by; the first (or one that is added when nothing is left to play) counts its rest from the samples
/// rendered so far.
#[derive(Clone, Debug)]
pub struct SimulatedPlayer {
    planner: Planner,
    /// Everything played and to be played, oldest first; never shortened, so that the truth stays known.
    takes: Vec<(Played, Take)>,
    /// The first take that has not ended.
    current: usize,
    /// Its voices, once it sounds; in place, so that starting one allocates nothing.
    voices: [Option<Voice>; MAX_VOICES],
    position: u64,
    /// Where the plan stands, in samples with fractions, so that a long phrase keeps its tempo.
    planned: f64,
    room: Pink,
    breath: Breath,
}

impl SimulatedPlayer {
    /// A player of this harp. Sample rates outside 8 to 192 kHz are brought into that range.
    pub fn new(harp: &Harp, sample_rate: f64, seed: u64) -> Self {
        let sample_rate = brought_within(sample_rate, 8_000.0, 192_000.0);
        Self {
            planner: Planner { harp: harp.clone(), sample_rate, seed },
            takes: Vec::new(),
            current: 0,
            voices: [None; MAX_VOICES],
            position: 0,
            planned: 0.0,
            room: Pink::new(sample_rate, ROOM_DBFS, seed),
            breath: Breath::new(sample_rate, seed),
        }
    }

    /// The same player in a room with this much (pink) noise, dBFS; −∞ for none.
    #[must_use]
    pub fn with_room(self, dbfs: f64) -> Self {
        let Planner { sample_rate, seed, .. } = self.planner;
        Self { room: Pink::new(sample_rate, dbfs, seed), ..self }
    }

    /// Queues a gesture and tells when it will happen.
    ///
    /// # Errors
    /// If the harp can't play it, a number is out of its range, or the pitch is too high for the sample rate.
    pub fn play(&mut self, gesture: impl Borrow<Gesture>) -> Result<Played, SynthError> {
        let gesture = gesture.borrow();
        let index = self.takes.len();
        let mut take = self.planner.take(gesture, index as u64)?;
        let Some(leader) = take.plans.first() else { return Err(SynthError::Chord) };
        let rate = self.planner.sample_rate;
        let plan = self.planned.max(self.position as f64) + gesture.rest_s * rate;
        let began = plan.round() as u64;
        let ended = plan + take.ended_s * rate;
        let played = Played {
            index,
            way: leader.way,
            hz: leader.path.hz,
            cents_off: gesture.cents_off,
            began,
            settled: began + (take.settled_s * rate).round() as u64,
            // A note that is not held at all is released where it began, whichever way the two are rounded.
            released: ((ended - RELEASE_S * rate).round() as u64).max(began),
            ended: ended.round() as u64,
        };
        self.planned = ended;
        take.release_at((played.released - began) as f64 / rate);
        self.takes.push((played, take));
        Ok(played)
    }

    /// Queues a gesture that begins at sample `begins`, which may have a fraction, or later, as soon as everything
    /// queued before it has ended.
    ///
    /// # Errors
    /// As for [`SimulatedPlayer::play`].
    pub fn play_at(&mut self, gesture: &Gesture, begins: f64) -> Result<Played, SynthError> {
        let free = self.planned.max(self.position as f64);
        let rest_s = (begins - free).max(0.0) / self.planner.sample_rate;
        self.play(gesture.clone().rest(rest_s))
    }

    /// Stops playing: what sounds is released now, what is queued is forgotten.
    pub fn hush(&mut self) {
        let (now, rate) = (self.position, self.planner.sample_rate);
        let sounding = self.takes.get(self.current).is_some_and(|(played, _)| played.began < now);
        self.takes.truncate(self.current + usize::from(sounding));
        self.planned = now as f64;
        let Some((played, take)) = self.takes.get_mut(self.current) else { return };
        self.planned = played.ended as f64;
        if now < played.released {
            played.ended = now + (played.ended - played.released);
            played.released = now;
            played.settled = played.settled.min(played.ended);
            self.planned = played.ended as f64;
            let held_until = (now - played.began) as f64 / rate;
            take.release_at(held_until);
            self.voices.iter_mut().flatten().for_each(|voice| voice.release_at(held_until));
        }
    }

    /// Renders the next samples.
    pub fn fill(&mut self, out: &mut [f32]) {
        for sample in out {
            *sample = self.next().clamp(-1.0, 1.0) as f32;
        }
    }

    fn next(&mut self) -> f64 {
        let room = self.room.sample();
        let breath = self.breath.sample();
        let sound = self.sound(breath);
        self.position += 1;
        self.finish();
        room + sound
    }

    /// What the current take contributes to this sample; `breath` is noise of RMS 1.
    fn sound(&mut self, breath: f64) -> f64 {
        let Some((played, take)) = self.takes.get(self.current) else { return 0.0 };
        let step_s = self.planner.sample_rate.recip();
        if self.position < played.began {
            return breath * take.inhaling((played.began - self.position) as f64 * step_s);
        }
        if self.position == played.began {
            let rate = self.planner.sample_rate;
            self.voices = std::array::from_fn(|i| take.plans.get(i).map(|plan| Voice::new(plan, rate)));
        }
        let n = self.position - played.began;
        let reeds: f64 = self.voices.iter_mut().flatten().map(|voice| voice.next(n, step_s)).sum();
        take.mixed(n as f64 * step_s, reeds, breath, self.planner.sample_rate)
    }

    /// Goes on to the next take when the current one has ended.
    fn finish(&mut self) {
        if self.takes.get(self.current).is_some_and(|(played, _)| self.position >= played.ended) {
            self.current += 1;
            self.voices = [None; MAX_VOICES];
        }
    }

    /// True when nothing is sounding or queued.
    pub fn is_idle(&self) -> bool {
        self.current == self.takes.len()
    }

    /// Number of samples rendered so far.
    pub fn position(&self) -> u64 {
        self.position
    }

    /// Samples per second.
    pub fn sample_rate(&self) -> f64 {
        self.planner.sample_rate
    }

    /// The harp it plays.
    pub fn harp(&self) -> &Harp {
        &self.planner.harp
    }

    /// Every gesture so far, also those still to come, oldest first.
    pub fn played(&self) -> impl ExactSizeIterator<Item = &Played> {
        self.takes.iter().map(|(played, _)| played)
    }

    /// The fundamental of the leading voice at a sample, hertz; `None` where nothing is played (or planned).
    pub fn truth(&self, at: u64) -> Option<f64> {
        let (played, take) = self.take_at(at)?;
        Some(take.plans.first()?.path.hz_at(at - played.began, self.planner.sample_rate))
    }

    fn take_at(&self, at: u64) -> Option<&(Played, Take)> {
        let after = self.takes.partition_point(|(played, _)| played.began <= at);
        self.takes.get(after.checked_sub(1)?).filter(|(played, _)| at < played.ended)
    }
}
