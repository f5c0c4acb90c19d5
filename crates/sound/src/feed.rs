//! What the listening thread reads: samples in order, with everything that happens between them.

use crate::event::{Block, Fed, FeedEvent, Origin};
use crate::host_time::Anchor;
use crate::intake::Intake;
use crate::opening::OPEN_LIMIT;
use crate::picker::Picker;
use crate::pump;
use crate::signal::Signal;
use crate::supervisor::{self, Wanted};
use crate::tap::{Arrival, Drawn, Tap};
use crate::worker::Worker;
use crate::{Channel, Generator, Recording, SoundError};
use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;
use std::time::{Duration, Instant};

/// How often a reader that waits looks into the ring. The callback wakes nobody, because waking takes a lock.
const LOOK_EVERY: Duration = Duration::from_millis(4);

/// What to listen to.
pub enum FeedSpec {
    /// An input device.
    Device {
        /// Its name or a part of it, or its id as [`crate::devices`] gives it; `None` for the default one.
        name: Option<String>,
        /// Which channel of it.
        channel: Channel,
    },
    /// A WAV file, or a pipe that brings one.
    Recording {
        /// Where it is; `-` is standard input.
        path: PathBuf,
        /// Which channel of it.
        channel: Channel,
    },
    /// Anything that makes samples, such as the built-in player.
    Generator {
        /// What to call it.
        name: String,
        /// What makes the samples.
        generator: Box<dyn Generator>,
    },
}

/// How fast a recording or generator runs. A device runs at its own pace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// The reader pulls: no thread, no clock, the same samples every time; a pipe gives them as they come.
    AsFastAsPossible,
    /// At the speed of the music, through the same ring as a device.
    InTime,
}

enum Supply {
    Pulled(Box<dyn Generator>),
    Ring(Box<Ring>),
}

struct Ring {
    tap: Option<Tap>,
    signals: Receiver<Signal>,
    held: Option<Signal>,
    _worker: Worker,
}

enum FromRing {
    Samples(usize, Option<Arrival>),
    Gap(u64),
    Signal(Signal),
    /// The thread behind the ring is over, and all that it put in has been read.
    Ended,
    Nothing,
}

impl Ring {
    fn look(&mut self, buf: &mut [f32]) -> FromRing {
        // A signal is received first and told last: samples that went into the ring before the signal was sent are then
        // read before it. The end of the sending thread is treated likewise.
        let mut over = false;
        if self.held.is_none() {
            let signal = self.signals.try_recv();
            over = matches!(signal, Err(TryRecvError::Disconnected));
            self.held = signal.ok();
        }
        if let Some(warning) =
            self.held.take_if(|signal| matches!(signal, Signal::Warning(_) | Signal::Skipped))
        {
            return FromRing::Signal(warning);
        }
        match self.tap.as_mut().map_or(Drawn::Nothing, |tap| tap.draw(buf)) {
            Drawn::Samples(got, arrival) => FromRing::Samples(got, arrival),
            Drawn::Gap(lost) => FromRing::Gap(lost),
            Drawn::Nothing if over => FromRing::Ended,
            Drawn::Nothing => self.held.take().map_or(FromRing::Nothing, FromRing::Signal),
        }
    }
}

/// A stream of samples from a device, a recording or a generator.
pub struct Feed {
    source: Supply,
    origin: Origin,
    news: VecDeque<FeedEvent>,
    /// Samples since the feed began, lost ones and absences included, at the present rate.
    now: u64,
    lost: u64,
    ended: bool,
}

impl Feed {
    /// Opens a feed. Its first word is [`FeedEvent::Opened`].
    ///
    /// A device takes some hundredths of a second, and ten seconds when a sound system hangs: so this is for the
    /// listening thread, not for the one that draws. A pipe is waited for until somebody writes to it.
    ///
    /// # Errors
    /// Whatever keeps the source from being opened, as a sentence for the player.
    pub fn open(spec: FeedSpec, pace: Pace) -> Result<Self, SoundError> {
        match spec {
            FeedSpec::Device { name, channel } => Self::open_device(Wanted { name, channel }),
            FeedSpec::Recording { path, channel } => {
                let recording = Recording::open_channel(&path, channel)?;
                let origin = Origin {
                    name: recording.name().to_owned(),
                    host: None,
                    sample_rate: recording.sample_rate(),
                    channels: recording.channels(),
                };
                Self::from_generator(origin, Box::new(recording), pace)
            }
            FeedSpec::Generator { name, generator } => {
                let origin = Origin { name, host: None, sample_rate: generator.sample_rate(), channels: 1 };
                Self::from_generator(origin, generator, pace)
            }
        }
    }

    fn open_device(wanted: Wanted) -> Result<Self, SoundError> {
        let (tell, signals) = channel();
        let worker = supervisor::start(wanted, tell)?;
        match signals.recv_timeout(OPEN_LIMIT * 2) {
            Ok(Signal::Opened { origin, tap, .. }) => {
                let ring = Ring { tap: Some(tap), signals, held: None, _worker: worker };
                Ok(Self::new(Supply::Ring(Box::new(ring)), origin))
            }
            Ok(Signal::Failed(error)) => Err(error),
            Ok(Signal::Broke(why)) => Err(SoundError::BrokeDown(why)),
            _ => Err(SoundError::NoAnswer),
        }
    }

    fn from_generator(origin: Origin, generator: Box<dyn Generator>, pace: Pace) -> Result<Self, SoundError> {
        let source = match pace {
            Pace::AsFastAsPossible => Supply::Pulled(generator),
            Pace::InTime => {
                let rate = origin.sample_rate;
                let (intake, tap) = Intake::new(Picker::new(Channel::Auto, 1, rate, &origin.name)?, rate);
                let (tell, signals) = channel();
                let worker = pump::start(generator, intake, tell)?;
                Supply::Ring(Box::new(Ring { tap: Some(tap), signals, held: None, _worker: worker }))
            }
        };
        Ok(Self::new(source, origin))
    }

    fn new(source: Supply, origin: Origin) -> Self {
        let news = VecDeque::from([FeedEvent::Opened(origin.clone())]);
        Self { source, origin, news, now: 0, lost: 0, ended: false }
    }

    /// Where the samples come from at present.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }

    /// Samples per second at present.
    pub fn sample_rate(&self) -> f64 {
        self.origin.sample_rate
    }

    /// Reads what comes next into the front of `buf`, waiting for it as long as `patience` says.
    pub fn read(&mut self, buf: &mut [f32], patience: Duration) -> Fed {
        let give_up = Instant::now().checked_add(patience);
        loop {
            let heard = self.look(buf);
            if heard != Fed::Nothing {
                return heard;
            }
            let left = give_up.map_or(LOOK_EVERY, |end| end.saturating_duration_since(Instant::now()));
            if left.is_zero() || buf.is_empty() {
                return Fed::Nothing;
            }
            thread::sleep(left.min(LOOK_EVERY));
        }
    }

    fn look(&mut self, buf: &mut [f32]) -> Fed {
        if let Some(event) = self.news.pop_front() {
            return Fed::Event(event);
        }
        if self.ended {
            return Fed::Event(FeedEvent::Ended);
        }
        match &mut self.source {
            Supply::Pulled(generator) => {
                let got = generator.fill(buf);
                self.news.extend(generator.take_warning().map(FeedEvent::Warning));
                if got == 0 && !buf.is_empty() && !generator.is_waiting() {
                    self.ended = true;
                    self.news.push_back(FeedEvent::Ended);
                }
                self.deliver(got, None)
            }
            Supply::Ring(ring) => match ring.look(buf) {
                FromRing::Samples(got, arrival) => self.deliver(got, arrival),
                FromRing::Gap(samples) => {
                    self.lost += samples;
                    Fed::Event(FeedEvent::Overrun { samples })
                }
                FromRing::Signal(signal) => self.follow(signal),
                FromRing::Ended => {
                    self.ended = true;
                    Fed::Event(FeedEvent::Ended)
                }
                FromRing::Nothing => Fed::Nothing,
            },
        }
    }

    fn deliver(&mut self, len: usize, arrival: Option<Arrival>) -> Fed {
        if len == 0 {
            return self.news.pop_front().map_or(Fed::Nothing, Fed::Event);
        }
        let lost_before = std::mem::take(&mut self.lost);
        let start = self.now + lost_before;
        self.now = start + len as u64;
        let anchor =
            arrival.map(|Arrival { ahead, at }| Anchor { frame: start.saturating_add_signed(ahead), at });
        Fed::Samples(Block { start, len, lost_before, anchor })
    }

    fn follow(&mut self, signal: Signal) -> Fed {
        Fed::Event(match signal {
            Signal::Warning(text) => FeedEvent::Warning(text),
            Signal::Failed(error) => FeedEvent::Warning(error.to_string()),
            Signal::Skipped => FeedEvent::Overrun { samples: 0 },
            Signal::Broke(why) => {
                self.ended = true;
                FeedEvent::Broke(why)
            }
            Signal::Lost => {
                self.attach(None);
                FeedEvent::Lost { device: self.origin.name.clone() }
            }
            Signal::Opened { origin, tap, away } => {
                self.attach(Some(tap));
                let seconds = (self.now + self.lost) as f64 / self.origin.sample_rate + away.as_secs_f64();
                self.lost = 0;
                self.now = (seconds * origin.sample_rate).round() as u64;
                self.origin = origin.clone();
                FeedEvent::Reopened(origin)
            }
        })
    }

    fn attach(&mut self, tap: Option<Tap>) {
        if let Supply::Ring(ring) = &mut self.source {
            ring.tap = tap;
        }
    }
}

#[cfg(test)]
mod tests;
