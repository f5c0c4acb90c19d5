//! Sound going out: reference tones, the click, whatever else makes samples.

use crate::hosts::Host;
use crate::opening::{self, Running};
use crate::output::{self, Output};
use crate::renderer::{Progress, Renderer};
use crate::watch::{self, OUTPUT_PATIENCE, Seen, Watch};
use crate::worker::{Stop, Worker};
use crate::{Generator, Origin, SoundError};
use ringbuf::traits::{Observer, Producer};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;

/// Sound kept ready for the callback, seconds: enough for a busy machine, little enough for a quick stop.
const AHEAD_SECONDS: f64 = 0.04;
/// How often the ring is topped up.
const TOP_UP_EVERY: Duration = Duration::from_millis(5);
/// Samples that are made at once.
const PORTION: usize = 256;
/// Time between two tries to get a device back.
const RETRY_EVERY: Duration = Duration::from_secs(1);

/// Something happened to the speaker.
#[derive(Clone, Debug, PartialEq)]
pub enum SpeakerEvent {
    /// What was played has come to its end by itself.
    Finished,
    /// The device is gone. It will be reopened when it returns; what was playing is forgotten.
    Lost {
        /// The device.
        device: String,
    },
    /// The device is back, perhaps with another rate: ask [`Speaker::sample_rate`] before the next sound.
    Reopened(Origin),
    /// Something that the player should know; a whole sentence.
    Warning(String),
}

enum Command {
    Play(Box<dyn Generator>),
    Stop,
}

/// An output device that plays one sound at a time.
pub struct Speaker {
    commands: Sender<Command>,
    events: Receiver<SpeakerEvent>,
    rate: Arc<AtomicU64>,
    origin: Origin,
    _worker: Worker,
}

impl Speaker {
    /// Opens an output device by its name, a part of it, or its id as [`crate::devices`] gives it; the default one for
    /// `None`.
    ///
    /// # Errors
    /// Why there is none, as a sentence for the player.
    pub fn open(name: Option<&str>) -> Result<Self, SoundError> {
        let wanted = name.map(str::to_owned);
        let output = try_open(wanted.clone(), None)?;
        let origin = output.running.origin.clone();
        let rate = Arc::new(AtomicU64::new(origin.sample_rate.to_bits()));
        let (commands, orders) = channel();
        let (tell, events) = channel();
        let stop = Stop::default();
        let last_words = tell.clone();
        let desk = Desk { wanted, rate: Arc::clone(&rate), orders, tell, stop: stop.clone() };
        let on_panic = move |why| {
            let _ = last_words.send(SpeakerEvent::Warning(format!("The sound output broke down: {why}.")));
        };
        let worker = Worker::start("speaker", &stop, move || desk.run(output), on_panic)?;
        Ok(Self { commands, events, rate, origin, _worker: worker })
    }

    /// The device as it was opened first.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }

    /// Samples per second that a sound must have now.
    pub fn sample_rate(&self) -> f64 {
        f64::from_bits(self.rate.load(Ordering::Relaxed))
    }

    /// Starts a sound; one that is playing fades out in a hundredth of a second first.
    ///
    /// # Errors
    /// [`SoundError::WrongRate`] when the sound has not the rate of [`Speaker::sample_rate`].
    pub fn play(&self, sound: Box<dyn Generator>) -> Result<(), SoundError> {
        let (has, needs) = (sound.sample_rate(), self.sample_rate());
        if has != needs {
            return Err(SoundError::WrongRate { has, needs });
        }
        // When nobody takes orders any more, an event has told why.
        let _ = self.commands.send(Command::Play(sound));
        Ok(())
    }

    /// Fades out what is playing.
    pub fn stop(&self) {
        let _ = self.commands.send(Command::Stop);
    }

    /// The next event that has not been told yet; never waits.
    pub fn next_event(&self) -> Option<SpeakerEvent> {
        self.events.try_recv().ok()
    }
}

/// The thread's side.
struct Desk {
    wanted: Option<String>,
    rate: Arc<AtomicU64>,
    orders: Receiver<Command>,
    tell: Sender<SpeakerEvent>,
    stop: Stop,
}

impl Desk {
    fn run(&self, mut output: Output) {
        loop {
            let host = output.running.host;
            let device = output.running.origin.name.clone();
            self.serve(&mut output);
            let hangs = opening::close(output.running.stream);
            if self.stop.is_asked() {
                return;
            }
            self.say(SpeakerEvent::Lost { device });
            if let Some(text) = hangs {
                self.say(SpeakerEvent::Warning(text));
            }
            let Some(again) = self.reopen(host) else { return };
            output = again;
        }
    }

    /// Plays until the device is gone or the end is asked for.
    fn serve(&self, output: &mut Output) {
        let Output { running: Running { origin, calls, faults, .. }, ring } = output;
        let ahead = (origin.sample_rate * AHEAD_SECONDS) as usize;
        let mut renderer = Renderer::new(origin.sample_rate);
        let mut watch = Watch::new(Arc::clone(calls), Arc::clone(faults), OUTPUT_PATIENCE);
        let looks_every = watch::LOOK_EVERY.as_millis() / TOP_UP_EVERY.as_millis();
        let mut portion = [0.0; PORTION];
        let mut rounds = 0;
        while self.stop.sleep(TOP_UP_EVERY) {
            for order in self.orders.try_iter() {
                match order {
                    Command::Play(sound) => renderer.play(sound),
                    Command::Stop => renderer.stop(),
                }
            }
            while ring.occupied_len() < ahead {
                let (made, progress) = renderer.render(&mut portion);
                ring.push_slice(&portion[..made]);
                self.report(progress);
                if made == 0 {
                    break;
                }
            }
            rounds += 1;
            if rounds % looks_every == 0 && watch.look() == Seen::Gone {
                return;
            }
        }
    }

    fn report(&self, progress: Progress) {
        match progress {
            Progress::Going => {}
            Progress::Finished => self.say(SpeakerEvent::Finished),
            Progress::Broke(why) => self.say(SpeakerEvent::Warning(format!("A sound broke down: {why}."))),
        }
    }

    /// Tries until the device is back, and lets go of what is ordered meanwhile.
    fn reopen(&self, host: Host) -> Option<Output> {
        while self.stop.sleep(RETRY_EVERY) {
            let again =
                try_open(self.wanted.clone(), Some(host)).or_else(|_| try_open(self.wanted.clone(), None));
            if let Ok(output) = again {
                while self.orders.try_recv().is_ok() {}
                let origin = output.running.origin.clone();
                self.rate.store(origin.sample_rate.to_bits(), Ordering::Relaxed);
                self.say(SpeakerEvent::Reopened(origin));
                return Some(output);
            }
        }
        None
    }

    /// Whoever would hear it may be gone; then the end is near anyway.
    fn say(&self, event: SpeakerEvent) {
        let _ = self.tell.send(event);
    }
}

fn try_open(wanted: Option<String>, only: Option<Host>) -> Result<Output, SoundError> {
    opening::guarded(move || output::open(wanted.as_deref(), only))
}
