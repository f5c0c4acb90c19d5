//! The band on the loudspeaker, until it ends or the player has had enough.

use super::asked::{Grid, Piece};
use super::told::Told;
use crate::failure::Failure;
use crate::signals::Signals;
use crate::stderr;
use crate::tones::Made;
#[cfg(unix)]
use rustix::{process::getpgrp, termios::tcgetpgrp};
use sound::{HostTime, Speaker, SpeakerEvent};
use std::io::{self, IsTerminal};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};
use synth::{Accent, Beat, ClickTrack};

/// How long a loudspeaker may take to open.
const OPENING: Duration = Duration::from_secs(8);
/// From the opening of the loudspeaker to the first sound: its clock is known by then, and the player takes up the
/// harp.
pub(super) const BEFORE: Duration = Duration::from_millis(700);
/// How often the loop looks around; a bar is told no later.
const LOOK_EVERY: Duration = Duration::from_millis(10);
/// A sound that is broken off fades within this.
const FADE: Duration = Duration::from_millis(80);
/// The last chord rings on so long, seconds.
const RING_S: f64 = 0.5;
/// What is said before anything sounds (WHO-ITU H.870: 80 dB for 40 hours a week).
pub(super) const CAUTION: &str = "begin with the volume low and keep it moderate, above all in headphones";

/// Sounds the piece.
///
/// # Errors
/// If there is no loudspeaker or it is lost, the output cannot be written, or a signal asks for the end.
pub(super) fn play(piece: Piece, told: &Told) -> Result<(), Failure> {
    let signals = Signals::watch()?;
    let speaker = Speaker::new(None);
    open(&speaker, &signals)?;
    let enter = enter();
    let how = if enter.is_some() { "; enter or Ctrl-C ends it" } else { "; Ctrl-C ends it" };
    let enough = || enter.as_ref().is_some_and(|enter| enter.try_recv().is_ok());
    told.piece(&piece, how)?;
    told.notice(CAUTION)?;
    let start = HostTime::now() + BEFORE;
    let count_in = if piece.counts_in { piece.grid.as_ref() } else { None };
    if let Some(grid) = count_in {
        count(&speaker, start, grid);
    }
    let first = start + Duration::from_secs_f64(count_in.map_or(0.0, Grid::bar_s));
    speaker.play_at(first, piece.make);
    let ends = piece.seconds.map(|seconds| first + Duration::from_secs_f64(seconds + RING_S));
    let mut bar = 0;
    while ends.is_none_or(|end| HostTime::now() < end) && !enough() {
        if let Err(signal) = signals.check() {
            hush(&speaker);
            return Err(signal);
        }
        follow(&speaker, told)?;
        if let Some(grid) = &piece.grid {
            let begins = first + Duration::from_secs_f64(grid.first_s + bar as f64 * grid.bar_s());
            if HostTime::now() >= begins && grid.bars.is_none_or(|bars| bar < bars) {
                told.bar(grid, bar)?;
                bar += 1;
            }
        }
        thread::sleep(LOOK_EVERY);
    }
    hush(&speaker);
    told.end()
}

/// Opens the loudspeaker with nothing to sound.
pub(super) fn open(speaker: &Speaker, signals: &Signals) -> Result<(), Failure> {
    let _quiet = stderr::hush();
    speaker.play_at(HostTime::now(), |rate| Ok(Box::new(Made::new(rate, |_: &mut [f32]| 0))));
    let since = Instant::now();
    while since.elapsed() < OPENING {
        signals.check()?;
        match speaker.next_event() {
            Some(SpeakerEvent::Opened(_)) => return Ok(()),
            Some(SpeakerEvent::NotOpened(error)) => {
                return Err(Failure::world(format!("{error} --out FILE.wav writes it into a file instead.")));
            }
            Some(SpeakerEvent::Warning(text)) => return Err(Failure::world(text)),
            _ => thread::sleep(LOOK_EVERY),
        }
    }
    Err(Failure::world("the loudspeaker does not start; try again, or write a file with --out FILE.wav"))
}

/// Tells what happened to the loudspeaker.
pub(super) fn follow(speaker: &Speaker, told: &Told) -> Result<(), Failure> {
    while let Some(event) = speaker.next_event() {
        match event {
            SpeakerEvent::Lost { device, .. } => {
                return Err(Failure::world(format!("{device} is gone; begin again when it is back")));
            }
            SpeakerEvent::NotOpened(error) => return Err(Failure::world(error)),
            SpeakerEvent::Warning(text) => told.notice(&text)?,
            SpeakerEvent::Opened(_) | SpeakerEvent::Finished | SpeakerEvent::Moved => {}
        }
    }
    Ok(())
}

/// A bar of clicks.
fn count(speaker: &Speaker, at: HostTime, grid: &Grid) {
    let beat = |beat: u32| Beat {
        at_s: f64::from(beat) * grid.beat_s,
        accent: if beat == 0 { Accent::First } else { Accent::Other },
    };
    let beats: Vec<Beat> = (0..grid.beats).map(beat).collect();
    speaker.play_at(at, move |rate| {
        let mut click = ClickTrack::new(rate, &beats);
        Ok(Box::new(Made::new(rate, move |out: &mut [f32]| click.fill(out))))
    });
}

pub(super) fn hush(speaker: &Speaker) {
    speaker.stop();
    thread::sleep(FADE);
}

/// Whether what is typed comes to this program. A program that reads the terminal in the background of its shell is
/// stopped, and a band may well play in the background.
#[cfg(unix)]
fn may_be_typed() -> bool {
    io::stdin().is_terminal() && tcgetpgrp(io::stdin()).map_or(true, |foreground| foreground == getpgrp())
}

#[cfg(not(unix))]
fn may_be_typed() -> bool {
    io::stdin().is_terminal()
}

/// When the player presses enter, as it comes, if there is somebody to type it; a thread of its own waits for that.
pub(super) fn enter() -> Option<Receiver<HostTime>> {
    if !may_be_typed() {
        return None;
    }
    let (tell, pressed) = channel();
    let wait = move || {
        let mut line = String::new();
        // The end of the input is no line.
        while io::stdin().read_line(&mut line).is_ok_and(|bytes| bytes > 0)
            && tell.send(HostTime::now()).is_ok()
        {}
    };
    thread::Builder::new().name("enter".into()).spawn(wait).ok()?;
    Some(pressed)
}
