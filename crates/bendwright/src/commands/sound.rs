//! `sound`: the devices there are, and how loud the input is.

use crate::args::SoundArgs;
use crate::failure::Failure;
use crate::pipeline::Heard;
use crate::setup::{HearFrom, Setup};
use crate::signals::Signals;
use crate::source::{self, BLOCK};
use crate::{delay, stderr, words};
use journal::{Noted, When};
use screen::Notice;
use sound::{DeviceInfo, Direction, FeedSpec, Pace};
use std::io::{self, Write};
use std::time::{Duration, Instant};

/// Lists the devices, then says in words how loud the input is, whenever that changes.
///
/// # Errors
/// If the output cannot be written or the input cannot be opened.
pub(crate) fn run(args: &SoundArgs, mut setup: Setup) -> Result<(), Failure> {
    if args.delay {
        return measure_delay(&mut setup);
    }
    list(&devices()?)?;
    if args.seconds > 0.0 { watch(args.seconds, &setup) } else { Ok(()) }
}

/// Measures the delay of the microphone and the loudspeaker in use, says it, and remembers it.
fn measure_delay(setup: &mut Setup) -> Result<(), Failure> {
    let HearFrom::Mic(name) = setup.microphone() else {
        return Err(Failure::user("--delay needs a microphone"));
    };
    let input = FeedSpec::Device { name, channel: setup.channel };
    let quiet = stderr::hush();
    let measured = delay::measure(input)?;
    drop(quiet);
    let ms = (measured.delay_s * 10_000.0).round() / 10.0;
    let (heard, of) = measured.heard;
    let (input, output) = (&measured.input.name, &measured.output.name);
    let kept = setup.state.remember_delay(input, output, measured.delay_s);
    writeln!(io::stdout(), "delay: {ms} ms from {output} to {input}; {heard} of {of} chirps agree")?;
    if measured.dry > 0 {
        let often = words::often(measured.dry);
        writeln!(io::stdout(), "the loudspeaker ran dry {often} meanwhile; this computer was too busy")?;
    }
    let delay = Noted::delay((input, output), measured.delay_s, When::now());
    let noted = setup.journal.as_ref().map_or(Ok(()), |place| place.keep(delay));
    for sentence in kept.err().into_iter().chain(noted.err().map(|error| error.to_string())) {
        stderr::say(&format!("bendwright: {sentence}"));
    }
    Ok(())
}

/// Listing makes C libraries talk on standard error; nobody needs to read that.
fn devices() -> Result<Vec<DeviceInfo>, Failure> {
    let _quiet = stderr::hush();
    sound::devices().map_err(Failure::world)
}

fn list(devices: &[DeviceInfo]) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    for (direction, title) in [(Direction::Input, "inputs"), (Direction::Output, "outputs")] {
        writeln!(out, "{title}:")?;
        let mut none = true;
        for device in devices.iter().filter(|device| device.direction == direction) {
            none = false;
            let default = if device.is_default { "  (taken if none is named)" } else { "" };
            let monitor = if device.is_monitor { "  (what this computer plays)" } else { "" };
            writeln!(out, "  {}  [{}]{default}{monitor}", device.name, device.host)?;
        }
        if none {
            writeln!(out, "  none")?;
        }
    }
    Ok(out.flush()?)
}

fn watch(seconds: f64, setup: &Setup) -> Result<(), Failure> {
    let signals = Signals::watch()?;
    let mut pipeline = source::open(&setup.from, setup, Pace::InTime, BLOCK)?.pipeline;
    // A time too long for the clock means until the player stops it.
    let end = Duration::try_from_secs_f64(seconds).ok().and_then(|time| Instant::now().checked_add(time));
    let mut written = Ok(());
    while end.is_none_or(|end| Instant::now() < end) {
        signals.check()?;
        let goes_on = pipeline.step(&mut |heard| {
            let sentences: Vec<String> = match heard {
                Heard::Feed(event) => {
                    words::feed_notices(event, false).iter().filter_map(Notice::sentence).collect()
                }
                Heard::Level(loudness) => vec![format!("level: {loudness}")],
                _ => Vec::new(),
            };
            for sentence in sentences {
                if written.is_ok() {
                    written = writeln!(io::stdout(), "{sentence}");
                }
            }
        })?;
        std::mem::replace(&mut written, Ok(()))?;
        if !goes_on {
            break;
        }
    }
    Ok(())
}
