//! The way of one sample.

use crate::clear::Clear;
use crate::kalman::Kalman;
use crate::lag::Lag;
use crate::left::{GOOD_DB, Left};
use pitch::History;

/// Length of the filter, seconds: the echo of a room with a reverberation time of 0.6 s has sunk by 30 dB where it
/// ends.
const FILTER_S: f64 = 0.350;
/// Length of a block, seconds; of samples a power of two as near as can be. Blocks of half that cost 4 to 7 dB in rooms
/// of 0.6 s, because a reed then covers twice the bins.
const BLOCK_S: f64 = 0.064;
/// Once at most this much of the echo is left, decibels, what the filter does not expect is the player.
const SETTLED_DB: f32 = -20.0;
/// The estimate is applied once what is left falls below `APPLIES_DB`, and until it exceeds `HARMS_DB`, decibels: while
/// it takes more out than it brings in.
const APPLIES_DB: f32 = -6.0;
const HARMS_DB: f32 = -2.0;
/// Until removal is good, the estimate is not applied after a block that it would have made louder by more than this,
/// as a ratio of powers: what player and echo have in common by chance changes the sum by less. A good estimate too
/// makes a block louder, where player and echo beat.
const LOUDER: f32 = 1.12;
/// So many blocks in which what is sounded changes have to be predicted well before removal is trusted for all that may
/// come: a band makes them within five seconds, and a reference tone has two or three.
const CONFIRMED: u32 = 12;
/// Nothing comes back if so much was sounded and the estimate never took anything out, seconds; an echo that does come
/// back is taken out within one second.
const ABSENT_S: f64 = 5.0;
/// What comes back later than this is learnt in part at best, seconds: the filter has to reach into its room as well.
const LATE_S: f64 = 0.2;
/// How long the application takes to begin or end, seconds.
const FADE_S: f64 = 0.030;
/// What sounds for no longer than this is a click and begins no note, however it comes back, seconds: those of a
/// count-in last 60 ms.
const CLICK_S: f64 = 0.075;
/// A silence of so long ends what sounds, seconds: between two waves of a band there is none.
const ENDS_S: f64 = 0.005;
/// Over how long the power of the echo is taken, and how long its peaks are remembered, seconds: as long as the ear
/// takes a level, and as the ear's windows reach back.
const POWER_S: f64 = 0.010;
const PEAK_S: f64 = 0.050;
/// What is heard has to be so much louder than what is left of the echo by the median of its bins, decibels. The sum of
/// the bins is louder, varies, and has what a loudspeaker that clips makes of a bass: with 12 dB four notes a minute of
/// the trainer's own band are heard in rests, with 16 dB two, with 20 dB less than one.
const CLEAR_DB: f32 = 20.0;
/// Products that are summed side by side.
const LANES: usize = 8;

/// How removal stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// What was sounded has died away, or only clicks sounded, of whose echo nothing is known yet.
    Silent,
    /// What is heard may be the echo as well as the player.
    Learning,
    /// The player can be told from what is left of the echo, by how loud it is.
    Good,
    /// What is sounded does not come back: the player wears headphones.
    Absent,
}

/// Takes what a loudspeaker sounds out of what a microphone hears, sample by sample and without delay. Allocates
/// nothing after `new`.
#[derive(Clone, Debug)]
pub struct Remover {
    block: usize,
    /// Last tap first, as the samples lie.
    filter: Vec<f32>,
    sounded: History,
    output: Vec<f32>,
    echo: Vec<f32>,
    filled: usize,
    kalman: Kalman,
    left: Left,
    lag: Lag,
    /// Samples since anything was sounded.
    silent_for: usize,
    /// Samples since it began to sound, and whether it has sounded for longer than a click.
    sounds_for: usize,
    is_more_than_clicks: bool,
    /// The samples of a click, and of a silence that ends it.
    click: usize,
    ends: usize,
    /// The share of the estimate that is taken out, whether it goes to 1 or to 0, and by how much in a sample.
    share: f32,
    applies: bool,
    step: f32,
    /// Whether removal was good for whatever may come since it began to learn.
    was_known: bool,
    /// Blocks of sound of which nothing was taken out, and how many of them tell that nothing comes back.
    in_vain: u32,
    absent: u32,
    /// By how much the echo has slipped, samples.
    slip: Option<f32>,
    power: f32,
    peak: f32,
    /// How much of a new sample counts for `power`, and how much stays of `peak`.
    newest: f32,
    stays: f32,
}

impl Remover {
    /// For a microphone of so many samples per second, about 16 000: the rate at which the ear listens.
    pub fn new(rate: f64) -> Self {
        let block = 1 << (BLOCK_S * rate).log2().round() as u32;
        let parts = (FILTER_S * rate / f64::from(block)).round().max(1.0) as usize;
        let block = block as usize;
        Self {
            block,
            filter: vec![0.0; parts * block],
            sounded: History::new((parts * block).max(2 * block)),
            output: vec![0.0; block],
            echo: vec![0.0; block],
            filled: 0,
            kalman: Kalman::new(block, parts),
            left: Left::new(block),
            lag: Lag::new(rate),
            silent_for: usize::MAX,
            sounds_for: 0,
            is_more_than_clicks: false,
            click: (CLICK_S * rate) as usize,
            ends: (ENDS_S * rate) as usize,
            share: 0.0,
            applies: false,
            step: (1.0 / (FADE_S * rate)) as f32,
            was_known: false,
            in_vain: 0,
            absent: (ABSENT_S * rate / block as f64) as u32,
            slip: None,
            power: 0.0,
            peak: 0.0,
            newest: (1.0 - (-1.0 / (POWER_S * rate)).exp()) as f32,
            stays: (-1.0 / (PEAK_S * rate)).exp() as f32,
        }
    }

    /// Takes the next sample that was `heard`, and what was `sounded` at its moment or up to a quarter of a second
    /// later than its moment; gives what is left of it. All that does not sound is zero, exactly.
    pub fn remove(&mut self, sounded: f32, heard: f32) -> f32 {
        let sounded = if sounded.is_finite() { sounded } else { 0.0 };
        if sounded != 0.0 {
            self.silent_for = 0;
            self.sounds_for += 1;
            self.is_more_than_clicks |= self.sounds_for > self.click;
        } else if self.is_silent() {
            return heard;
        } else {
            self.silent_for += 1;
            if self.silent_for > self.ends {
                self.sounds_for = 0;
            }
            if self.is_silent() {
                self.pause();
                return heard;
            }
        }
        if !self.is_good() {
            self.lag.push(sounded, heard);
        }
        self.sounded.push(self.kalman.curved(sounded));
        let echo = dot(&self.filter, self.sounded.last(self.filter.len()));
        self.power += self.newest * (echo * echo - self.power);
        self.peak = self.power.max(self.stays * self.peak);
        self.output[self.filled] = if heard.is_finite() { heard - echo } else { 0.0 };
        self.echo[self.filled] = echo;
        self.filled += 1;
        if self.filled == self.block {
            self.filled = 0;
            self.learn();
        }
        let goal = if self.applies { 1.0 } else { 0.0 };
        self.share += (goal - self.share).clamp(-self.step, self.step);
        heard - self.share * echo
    }

    /// Whether nothing that was sounded can be heard any more, as far as the filter reaches.
    fn is_silent(&self) -> bool {
        self.silent_for > self.filter.len() + self.block
    }

    /// What is left of the echo against the echo, decibels: about 0 until something is known, −25 where removal is
    /// good.
    pub fn left_db(&self) -> f32 {
        self.left.db()
    }

    /// Whether the player can be told from what was or will be sounded: removal is good, also for tones that had not
    /// sounded just before; or nothing comes back.
    pub fn is_known(&self) -> bool {
        self.is_good() && self.left.confirmed() >= CONFIRMED || self.is_absent()
    }

    /// How removal stands.
    pub fn state(&self) -> State {
        if self.is_silent() {
            State::Silent
        } else if self.is_good() {
            State::Good
        } else if self.is_absent() {
            State::Absent
        } else if self.is_more_than_clicks {
            State::Learning
        } else {
            State::Silent
        }
    }

    /// What tells the player from what is left of the echo, for what was heard last.
    pub fn clear(&self) -> Clear {
        Clear::above(match self.state() {
            State::Silent | State::Absent => f32::NEG_INFINITY,
            State::Learning => f32::INFINITY,
            State::Good => self.echo_dbfs() + self.left.db() + CLEAR_DB,
        })
    }

    /// How loud the echo is by the estimate, dB relative to a full-scale sine.
    pub(crate) fn echo_dbfs(&self) -> f32 {
        10.0 * (2.0 * self.peak).max(f32::MIN_POSITIVE).log10()
    }

    /// How long what was sounded takes to come back, seconds, where that is too long for the filter: what was sounded
    /// then has to be handed in by so much later.
    pub fn late_s(&self) -> Option<f64> {
        self.lag.seconds().filter(|lag| *lag > LATE_S && !self.is_good())
    }

    /// By how many samples the echo came later than when it was learnt, once for each block that tells it.
    pub(crate) fn take_slip(&mut self) -> Option<f64> {
        self.slip.take().map(f64::from)
    }

    /// Whether nothing comes back, as far as can be told.
    fn is_absent(&self) -> bool {
        self.in_vain >= self.absent && self.lag.seconds().is_none()
    }

    /// Whether removal works well enough to tell the player from what is left.
    fn is_good(&self) -> bool {
        self.left.db() <= GOOD_DB
    }

    /// Forgets what was sounded, not what was learnt.
    fn pause(&mut self) {
        self.kalman.pause();
        self.sounded.reset();
        (self.filled, self.is_more_than_clicks) = (0, false);
        (self.power, self.peak) = (0.0, 0.0);
    }

    fn learn(&mut self) {
        self.slip = self.left.compare(&self.output, &self.echo);
        // If removal was good and no longer is, the way has changed: a microphone was moved, a knob was turned. To
        // learn the new way from nothing is quicker than to unlearn the old one. A filter that is good for the tones so
        // far and not for the next one is still learning.
        self.was_known |= self.is_good() && self.left.confirmed() >= CONFIRMED;
        if self.was_known && !self.is_good() {
            self.kalman.forget();
            self.left.forget();
            self.filter.fill(0.0);
            self.was_known = false;
        }
        let takes_out = self.left.db() < HARMS_DB;
        self.in_vain = if takes_out { 0 } else { self.in_vain.saturating_add(1) };
        let left_db = self.left.db();
        let power = |samples: &mut dyn Iterator<Item = f32>| samples.map(|x| x * x).sum::<f32>();
        let output = power(&mut self.output.iter().copied());
        let heard = power(&mut self.output.iter().zip(&self.echo).map(|(output, echo)| output + echo));
        let takes_out = left_db < if self.applies { HARMS_DB } else { APPLIES_DB };
        self.applies = takes_out && (self.is_good() || output < LOUDER * heard);
        self.kalman.settle(left_db <= SETTLED_DB);
        let (filter, block) = (&mut self.filter, self.block);
        self.kalman.learn(self.sounded.last(2 * block), (&self.output, &self.echo, heard), |part, taps| {
            let latest = filter.len() - part * block;
            for (place, tap) in filter[latest - block..latest].iter_mut().rev().zip(taps) {
                *place = *tap;
            }
        });
    }
}

/// Inner product of whole lanes, with running sums that the compiler keeps in vector registers.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0_f32; LANES];
    for (x, y) in a.as_chunks::<LANES>().0.iter().zip(b.as_chunks::<LANES>().0) {
        for i in 0..LANES {
            sums[i] += x[i] * y[i];
        }
    }
    sums.iter().sum()
}
