//! Plays a generator into a ring at the speed of the music, as a device would.

use crate::host_time::HostTime;
use crate::intake::Intake;
use crate::signal::{Signal, last_words};
use crate::worker::{Stop, Worker};
use crate::{Generator, SoundError};
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

/// Samples that are made at once.
const PORTION: usize = 512;
/// How long to sleep when nothing is due.
const NAP: Duration = Duration::from_millis(4);
/// If the music is this far behind the clock, seconds, it does not catch up: the process or the reader stood still, and
/// the music stood still with it.
const FARTHEST_BEHIND: f64 = 0.25;

pub(crate) fn start(
    mut generator: Box<dyn Generator>,
    mut intake: Intake,
    signals: Sender<Signal>,
) -> Result<Worker, SoundError> {
    let stop = Stop::default();
    let stopped = stop.clone();
    let on_panic = last_words("the source of the sound", &signals);
    let work = move || pump(generator.as_mut(), &mut intake, &signals, &stopped);
    Worker::start("player", &stop, work, on_panic)
}

fn pump(generator: &mut dyn Generator, intake: &mut Intake, signals: &Sender<Signal>, stop: &Stop) {
    let rate = generator.sample_rate();
    let mut portion = [0.0; PORTION];
    let mut began = Instant::now();
    let mut made = 0;
    while !stop.is_asked() {
        let mut due = (began.elapsed().as_secs_f64() * rate) as u64;
        if due > made + (FARTHEST_BEHIND * rate) as u64 {
            began = Instant::now();
            (made, due) = (0, PORTION as u64);
        }
        let wanted = PORTION.min(intake.vacant()).min(due.saturating_sub(made) as usize);
        if wanted == 0 {
            stop.sleep(NAP);
            continue;
        }
        let got = generator.fill(&mut portion[..wanted]);
        intake.take(&portion[..got], HostTime::now());
        made += got as u64;
        if let Some(text) = generator.take_warning() {
            let _ = signals.send(Signal::Warning(text));
        }
        if got == 0 && !generator.is_waiting() {
            return;
        }
    }
}
