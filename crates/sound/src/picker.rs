//! Frames of several channels to one: real-time safe, and the same for any block size because it counts in frames.

#![deny(clippy::indexing_slicing, clippy::disallowed_methods, clippy::disallowed_macros)]

use crate::{Channel, SoundError};
use cpal::{FromSample, Sample};

/// Another channel takes over when it carries this many times the power of the current one (6 dB).
const TAKE_OVER: f32 = 4.0;
/// Powers are compared this many times a second …
const LOOKS_PER_SECOND: f64 = 100.0;
/// … and an old one fades by this factor each time, which makes a memory of about a second.
const MEMORY: f32 = 0.99;

/// How one channel's recent power is gathered.
#[derive(Clone, Copy, Default)]
struct Power {
    sum: f32,
    squares: f32,
    recent: f32,
}

enum Mode {
    Only(usize),
    Mix,
    Loudest,
}

/// Turns frames into samples of the chosen channel.
pub(crate) struct Picker {
    mode: Mode,
    channels: usize,
    current: usize,
    powers: Vec<Power>,
    gathered: u32,
    per_look: u32,
    non_finite: u64,
}

impl Picker {
    /// `source` names the device or file in the error for a channel that it does not have.
    #[allow(clippy::disallowed_macros)] // made before the callback runs
    pub(crate) fn new(choice: Channel, channels: u16, rate: f64, source: &str) -> Result<Self, SoundError> {
        let mode = match choice {
            _ if channels <= 1 && matches!(choice, Channel::Auto | Channel::Mix | Channel::RIGHT) => {
                Mode::Only(0)
            }
            Channel::Auto => Mode::Loudest,
            Channel::Mix => Mode::Mix,
            Channel::Only(n) if (1..=channels).contains(&n) => Mode::Only(usize::from(n) - 1),
            Channel::Only(n) => {
                return Err(SoundError::NoSuchChannel {
                    wanted: n,
                    has: channels,
                    source: source.to_owned(),
                });
            }
        };
        let channels = usize::from(channels.max(1));
        Ok(Self {
            mode,
            channels,
            current: 0,
            powers: vec![Power::default(); channels],
            gathered: 0,
            per_look: (rate / LOOKS_PER_SECOND).ceil() as u32,
            non_finite: 0,
        })
    }

    /// Samples in one frame.
    pub(crate) fn channels(&self) -> usize {
        self.channels
    }

    /// How many samples so far were NaN or infinite; they count as silence.
    pub(crate) fn non_finite(&self) -> u64 {
        self.non_finite
    }

    /// The chosen sample of one frame.
    pub(crate) fn pick<T>(&mut self, frame: &[T]) -> f32
    where
        T: Sample,
        f32: FromSample<T>,
    {
        match self.mode {
            Mode::Only(channel) => frame.get(channel).map_or(0.0, |&x| self.clean(x)),
            // In double precision, because the sum of the largest samples would overflow.
            Mode::Mix => {
                (frame.iter().map(|&x| f64::from(self.clean(x))).sum::<f64>() / self.channels as f64) as f32
            }
            Mode::Loudest => self.loudest(frame),
        }
    }

    fn loudest<T>(&mut self, frame: &[T]) -> f32
    where
        T: Sample,
        f32: FromSample<T>,
    {
        let mut chosen = 0.0;
        for (channel, &sample) in frame.iter().enumerate() {
            let x = self.clean(sample);
            if channel == self.current {
                chosen = x;
            }
            if let Some(power) = self.powers.get_mut(channel) {
                power.sum += x;
                power.squares += x * x;
            }
        }
        self.gathered += 1;
        if self.gathered >= self.per_look {
            self.look();
        }
        chosen
    }

    /// Compares the channels by their variance, so that a constant offset does not pass for sound.
    fn look(&mut self) {
        let frames = self.gathered as f32;
        self.gathered = 0;
        for power in &mut self.powers {
            let variance = (power.squares - power.sum * power.sum / frames).max(0.0);
            *power = Power { recent: power.recent * MEMORY + variance, ..Power::default() };
        }
        let now = self.powers.get(self.current).map_or(0.0, |p| p.recent);
        let best = self.powers.iter().enumerate().max_by(|a, b| a.1.recent.total_cmp(&b.1.recent));
        if let Some((channel, power)) = best
            && power.recent > now * TAKE_OVER
        {
            self.current = channel;
        }
    }

    fn clean<T>(&mut self, sample: T) -> f32
    where
        T: Sample,
        f32: FromSample<T>,
    {
        let x = f32::from_sample(sample);
        if x.is_finite() {
            x
        } else {
            self.non_finite += 1;
            0.0
        }
    }
}
