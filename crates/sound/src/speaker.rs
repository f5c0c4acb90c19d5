//! Sound going out: reference tones, the click, whatever else makes samples.

use crate::feeder::Feeder;
use crate::handed_out::HandedOut;
use crate::host_time::HostTime;
use crate::mixer::Progress;
use crate::opening::{self, Running};
use crate::output::{self, Output};
use crate::own_sound::OwnSound;
use crate::underruns::Playback;
use crate::watch::{self, OUTPUT_PATIENCE, Seen, Watch};
use crate::worker::{Stop, Worker};
use crate::{Generator, SoundError};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;

/// How often the ring is topped up.
const TOP_UP_EVERY: Duration = Duration::from_millis(5);

/// Something happened to the speaker.
#[derive(Debug)]
pub enum SpeakerEvent {
    /// The device is open, for the first time or after it was lost.
    Opened(Playback),
    /// It could not be opened; what was ordered until now is forgotten, and the next order tries again.
    NotOpened(SoundError),
    /// What was played has come to its end by itself.
    Finished,
    /// The device is gone. What was playing is forgotten, and the next order opens a device again.
    Lost {
        /// The device.
        device: String,
        /// Whether it took a sound with it that had not been played to its end, or not begun.
        was_sounding: bool,
    },
    /// The sound system sends what is played to another device from now on, whose delay may differ.
    Moved,
    /// Something that the player should know; a whole sentence.
    Warning(String),
}

/// Makes a sound for a loudspeaker with so many samples per second, or says in a sentence why it cannot.
type Maker = Box<dyn FnOnce(f64) -> Result<Box<dyn Generator>, String> + Send>;

enum Order {
    Play(Maker),
    /// A sound that begins with the frame that is handed out at this moment.
    PlayAt(HostTime, Maker),
    Stop,
}

/// An output device that plays one tone at a time, and beats beside it. Everything that may take its time, opening the
/// device above all, happens on a thread of its own: no call here waits for anything.
pub struct Speaker {
    // Dropped before the worker, who waits for orders and ends when none can come any more.
    orders: Sender<Order>,
    events: Receiver<SpeakerEvent>,
    own: OwnSound,
    handed_out: Receiver<HandedOut>,
    _worker: Option<Worker>,
}

impl Speaker {
    /// An output device by its name, a part of it, or its id as [`crate::devices`] gives it; the default one for
    /// `None`. It is opened when the first sound is ordered. What comes of that is told by [`Speaker::next_event`].
    pub fn new(name: Option<&str>) -> Self {
        let (orders, taken) = channel();
        let (tell, events) = channel();
        let (hand_over, handed_out) = channel();
        let (stop, own) = (Stop::default(), OwnSound::default());
        let (last_words, no_thread) = (tell.clone(), tell.clone());
        let desk = Desk {
            wanted: name.map(str::to_owned),
            orders: taken,
            tell,
            hand_over,
            own: own.clone(),
            stop: stop.clone(),
        };
        let on_panic = move |why| {
            let _ = last_words.send(SpeakerEvent::Warning(format!("The sound output broke down: {why}.")));
        };
        let worker = Worker::start("speaker", &stop, move || desk.run(), on_panic);
        let worker = worker.map_err(|error| no_thread.send(SpeakerEvent::NotOpened(error))).ok();
        Self { orders, events, own, handed_out, _worker: worker }
    }

    /// Orders a sound, which `make` makes for the device's samples per second; one that is playing fades out in a
    /// hundredth of a second first. A sentence instead of a sound comes back as [`SpeakerEvent::Warning`].
    pub fn play<M>(&self, make: M)
    where
        M: FnOnce(f64) -> Result<Box<dyn Generator>, String> + Send + 'static,
    {
        // When nobody takes orders any more, an event has told why.
        let _ = self.orders.send(Order::Play(Box::new(make)));
    }

    /// Orders a sound whose first sample is for the frame that is handed out at `at`, exact to the sample; what is too
    /// late for its frame is left out, so that the rest is in time. Any number of such sounds may wait, each joins what
    /// sounds then, and [`stop`](Speaker::stop) forgets all that wait. The microphone may hear them: they do not count
    /// as [`own_sound`](Speaker::own_sound).
    pub fn play_at<M>(&self, at: HostTime, make: M)
    where
        M: FnOnce(f64) -> Result<Box<dyn Generator>, String> + Send + 'static,
    {
        let _ = self.orders.send(Order::PlayAt(at, Box::new(make)));
    }

    /// Fades out what is playing.
    pub fn stop(&self) {
        let _ = self.orders.send(Order::Stop);
    }

    /// The next event that has not been told yet; never waits.
    pub fn next_event(&self) -> Option<SpeakerEvent> {
        self.events.try_recv().ok()
    }

    /// What is handed to the device that has just been opened. It is given out once for each device: ask for it when
    /// [`SpeakerEvent::Opened`] is told. Never waits.
    pub fn handed_out(&self) -> Option<HandedOut> {
        self.handed_out.try_iter().last()
    }

    /// When this speaker sounded, for whoever has to tell its sound from the player's.
    pub fn own_sound(&self) -> OwnSound {
        self.own.clone()
    }
}

/// The thread's side.
struct Desk {
    wanted: Option<String>,
    orders: Receiver<Order>,
    tell: Sender<SpeakerEvent>,
    hand_over: Sender<HandedOut>,
    own: OwnSound,
    stop: Stop,
}

impl Desk {
    fn run(&self) {
        while let Ok(order) = self.orders.recv() {
            let first = match order {
                Order::Stop => continue,
                first => first,
            };
            let wanted = self.wanted.clone();
            match opening::guarded(&self.stop, move || output::open(wanted.as_deref())) {
                Ok(output) => self.serve(output, first),
                Err(error) => {
                    // A player who presses a key again while the sound system hangs is answered once.
                    while self.orders.try_recv().is_ok() {}
                    self.say(SpeakerEvent::NotOpened(error));
                }
            }
            if self.stop.is_asked() {
                return;
            }
        }
    }

    /// Plays until the device is gone or the end is asked for.
    fn serve(&self, output: Output, first: Order) {
        let Output { running: Running { stream, origin, calls, faults, .. }, ring, given, handed_out } =
            output;
        // Sent before the event, so that whoever is told of the opening finds it.
        let _ = self.hand_over.send(handed_out);
        let (device, rate) = (origin.name.clone(), origin.sample_rate);
        let mut feeder = Feeder::new(rate, ring, Arc::clone(&given), self.own.clone());
        let mut watch = Watch::new(calls, Arc::clone(&faults), OUTPUT_PATIENCE);
        self.say(SpeakerEvent::Opened(Playback::new(origin, given, faults)));
        self.follow(first, &mut feeder, rate);
        let looks_every = watch::LOOK_EVERY.as_millis() / TOP_UP_EVERY.as_millis();
        let mut rounds = 0;
        while self.stop.sleep(TOP_UP_EVERY) {
            for order in self.orders.try_iter() {
                self.follow(order, &mut feeder, rate);
            }
            feeder.top_up(HostTime::now(), |progress| self.report(progress));
            rounds += 1;
            if rounds % looks_every != 0 {
                continue;
            }
            match watch.look() {
                Seen::Gone => {
                    self.say(SpeakerEvent::Lost { device, was_sounding: feeder.has_more() });
                    break;
                }
                Seen::Moved => {
                    feeder.moved();
                    self.say(SpeakerEvent::Moved);
                }
                Seen::Well | Seen::Xruns => {}
            }
        }
        if let Some(text) = opening::close(stream) {
            self.say(SpeakerEvent::Warning(text));
        }
    }

    fn follow(&self, order: Order, feeder: &mut Feeder, rate: f64) {
        match order {
            Order::Play(make) => match make(rate) {
                Ok(sound) => feeder.play(sound),
                Err(why) => self.say(SpeakerEvent::Warning(why)),
            },
            Order::PlayAt(at, make) => match make(rate) {
                Ok(sound) => feeder.play_at(at, sound),
                Err(why) => self.say(SpeakerEvent::Warning(why)),
            },
            Order::Stop => feeder.stop(),
        }
    }

    fn report(&self, progress: Progress) {
        match progress {
            Progress::Going => {}
            Progress::Finished => self.say(SpeakerEvent::Finished),
            Progress::Broke(why) => self.say(SpeakerEvent::Warning(format!("A sound broke down: {why}."))),
        }
    }

    /// Whoever would hear it may be gone; then the end is near anyway.
    fn say(&self, event: SpeakerEvent) {
        let _ = self.tell.send(event);
    }
}
