//! Opens an input device.

use crate::found::{Direction, Found, Handle, Host};
use crate::host_time::HostTime;
use crate::hosts;
use crate::intake::{Intake, Tally};
use crate::opening::{self, BUILD_LIMIT, Running, with_sample_type};
use crate::picker::Picker;
#[cfg(target_os = "linux")]
use crate::pulse;
use crate::tap::Tap;
use crate::watch::Faults;
use crate::{Channel, Origin, SoundError};
use cpal::traits::DeviceTrait;
use cpal::{BufferSize, Device, FromSample, SizedSample, Stream, StreamConfig};
use std::sync::Arc;

/// Block sizes in frames, in the order in which they are tried. ALSA is given room for two blocks, and a machine that
/// is busy for longer loses samples, so the blocks are not small.
const SIZES: [BufferSize; 3] = [BufferSize::Fixed(1024), BufferSize::Fixed(2048), BufferSize::Default];
/// Rates that the ear can work at.
#[cfg(target_os = "linux")]
const RATES: (u32, u32) = (16_000, 192_000);

/// An input device that is running.
pub(crate) struct Input {
    pub(crate) running: Running,
    pub(crate) tap: Tap,
    pub(crate) tally: Arc<Tally>,
    pub(crate) warnings: Vec<String>,
    /// Whether a stream of zeros is normal: a monitor hears nothing while nothing is played.
    pub(crate) may_be_silent: bool,
}

/// Opens the first device that fits and lets itself be opened.
pub(crate) fn open(wanted: Option<&str>, channel: Channel, only: Option<Host>) -> Result<Input, SoundError> {
    let start = |found: &Found| start(found, channel);
    let (mut input, found, refusals) = opening::first_that_opens(wanted, Direction::Input, only, start)?;
    input.warnings = warnings(&found, &refusals);
    Ok(input)
}

fn warnings(found: &Found, refusals: &[String]) -> Vec<String> {
    let mut out = Vec::new();
    // A missing sound system is not worth a warning; a running one that refuses is.
    for refusal in refusals.iter().filter(|text| !text.ends_with(hosts::NOT_RUNNING)) {
        out.push(format!("{refusal}; {} is used instead.", found.host.name()));
    }
    if found.is_monitor {
        out.push(format!("{} is no microphone: it hears what the computer plays.", found.label));
    }
    if cfg!(windows) {
        let text = "Windows may change the level by itself; turn automatic gain and enhancements of the microphone off.";
        out.push(text.to_owned());
    }
    out
}

fn start(found: &Found, channel: Channel) -> Result<Input, SoundError> {
    match &found.handle {
        #[cfg(target_os = "linux")]
        Handle::Pulse => start_pulse(found, channel),
        Handle::Cpal(device) => start_cpal(found, device, channel),
    }
}

#[cfg(target_os = "linux")]
fn start_pulse(found: &Found, channel: Channel) -> Result<Input, SoundError> {
    let fails = |error: &cpal::Error| SoundError::device(found, error);
    let microphone = pulse::Microphone::find(found).map_err(|e| fails(&e))?;
    // The server converts to any rate, so a rate that the ear cannot work at is moved into its range.
    let (rate, channels) = (microphone.sample_rate().clamp(RATES.0, RATES.1), microphone.channels());
    let picker = Picker::new(channel, channels, f64::from(rate), &found.label)?;
    let (intake, ends) = connect(picker, f64::from(rate));
    let stream = microphone.start(rate, intake, Arc::clone(&ends.faults)).map_err(|e| fails(&e))?;
    Ok(running(found, Box::new(stream), (rate, channels), ends))
}

fn start_cpal(found: &Found, device: &Device, channel: Channel) -> Result<Input, SoundError> {
    let fails = |error: &cpal::Error| SoundError::device(found, error);
    let offered = device.default_input_config().map_err(|e| fails(&e))?;
    let (config, format) = (offered.config(), offered.sample_format());
    let rate = f64::from(config.sample_rate);
    // Made once in advance, so that a missing channel is reported as such.
    Picker::new(channel, config.channels, rate, &found.label)?;
    let build = |config: StreamConfig| {
        let picker = Picker::new(channel, config.channels, rate, &found.label)
            .map_err(|e| cpal::Error::with_message(cpal::ErrorKind::InvalidInput, e.to_string()))?;
        let (intake, ends) = connect(picker, rate);
        let counted = Arc::clone(&ends.faults);
        let stream = with_sample_type!(format,
            T => build_as::<T>(device, config, intake, counted),
            Err(opening::unreadable_format()))?;
        Ok((stream, ends))
    };
    let (stream, ends) = opening::with_some_size(config, &SIZES, build).map_err(|e| fails(&e))?;
    Ok(running(found, Box::new(stream), (config.sample_rate, config.channels), ends))
}

/// What is left in our hands of a callback that has been given away.
struct Ends {
    tap: Tap,
    tally: Arc<Tally>,
    faults: Arc<Faults>,
}

fn connect(picker: Picker, rate: f64) -> (Intake, Ends) {
    let (intake, tap) = Intake::new(picker, rate);
    let ends = Ends { tap, tally: intake.tally(), faults: Arc::default() };
    (intake, ends)
}

fn running(found: &Found, stream: Box<dyn Send>, (rate, channels): (u32, u16), ends: Ends) -> Input {
    let Ends { tap, tally, faults } = ends;
    let host = Some(found.host.name().to_owned());
    let origin = Origin { name: found.label.clone(), host, sample_rate: rate.into(), channels };
    let running = Running { stream, host: found.host, origin, calls: Arc::clone(&tally.calls), faults };
    Input { running, tap, tally, warnings: Vec::new(), may_be_silent: found.is_monitor }
}

fn build_as<T>(
    device: &Device,
    config: StreamConfig,
    mut intake: Intake,
    faults: Arc<Faults>,
) -> Result<Stream, cpal::Error>
where
    T: SizedSample,
    f32: FromSample<T>,
{
    device.build_input_stream_raw(
        config,
        T::FORMAT,
        move |data, _| intake.take(data.as_slice::<T>().unwrap_or_default(), HostTime::now()),
        move |error| faults.count(&error),
        Some(BUILD_LIMIT),
    )
}
