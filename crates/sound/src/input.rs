//! Opens an input device.

use crate::hosts::{self, Direction, Found};
use crate::intake::{Intake, Tally};
use crate::picker::Picker;
use crate::tap::Tap;
use crate::watch::Faults;
use crate::{Channel, Origin, SoundError};
use cpal::traits::{DeviceTrait, StreamTrait};
use cpal::{
    BufferSize, Device, ErrorKind, FromSample, HostId, I24, SampleFormat, SizedSample, Stream, StreamConfig,
    U24,
};
use std::sync::Arc;
use std::time::Duration;

/// How long a sound system may take to make a stream.
pub(crate) const BUILD_LIMIT: Duration = Duration::from_secs(3);
/// Frames a block in the order in which sizes are tried. Smaller ones lose samples on a busy PulseAudio server.
const SIZES: [BufferSize; 3] = [BufferSize::Fixed(1024), BufferSize::Fixed(2048), BufferSize::Default];
/// Rates that the ear can work at; a server that converts is asked to stay inside.
const RATES: (u32, u32) = (16_000, 192_000);

/// A device that is running.
pub(crate) struct Input {
    pub(crate) stream: Stream,
    pub(crate) host: HostId,
    pub(crate) origin: Origin,
    pub(crate) tap: Tap,
    pub(crate) tally: Arc<Tally>,
    pub(crate) faults: Arc<Faults>,
    pub(crate) warnings: Vec<String>,
}

/// Opens the first device that fits and lets itself be opened.
pub(crate) fn open(
    wanted: Option<&str>,
    channel: Channel,
    only: Option<HostId>,
) -> Result<Input, SoundError> {
    let search = hosts::find(wanted, Direction::Input, only);
    let mut refusals = search.refusals;
    let mut failure = None;
    for found in &search.found {
        match start(found, channel) {
            Ok(mut input) => {
                input.warnings = warnings(found, &refusals);
                return Ok(input);
            }
            Err(error @ SoundError::Device { .. }) => {
                if let SoundError::Device { device, what } = &error {
                    refusals.push(format!("{device}: {what}"));
                }
                failure = Some(error);
            }
            Err(error) => return Err(error),
        }
    }
    match failure {
        Some(error) if wanted.is_some() => Err(error),
        _ => Err(hosts::nothing_found(wanted, Direction::Input, refusals)),
    }
}

fn warnings(found: &Found, refusals: &[String]) -> Vec<String> {
    let mut out = Vec::new();
    // A sound system that is not there is no news; one that is there and refuses is.
    for refusal in refusals.iter().filter(|text| !text.ends_with("is not running")) {
        out.push(format!("{refusal}; {} is used instead.", found.host.name()));
    }
    if found.is_monitor {
        out.push(format!("There is no microphone: {} hears what the computer plays.", found.label));
    }
    if cfg!(windows) {
        out.push(
            "Windows may change the level by itself; turn off audio enhancements and automatic gain for the microphone."
                .to_owned(),
        );
    }
    out
}

fn start(found: &Found, channel: Channel) -> Result<Input, SoundError> {
    let label = format!("{} ({})", found.label, found.host.name());
    let fails =
        |error: &cpal::Error| SoundError::Device { device: label.clone(), what: hosts::in_words(error) };
    let offered = found.device.default_input_config().map_err(|e| fails(&e))?;
    let mut config = offered.config();
    let mut format = offered.sample_format();
    if hosts::converts_anything(found.host) {
        config.sample_rate = config.sample_rate.clamp(RATES.0, RATES.1);
        format = SampleFormat::F32;
    }
    let rate = f64::from(config.sample_rate);
    let mut last = cpal::Error::from(ErrorKind::UnsupportedConfig);
    for size in SIZES {
        if size == BufferSize::Default && hosts::has_endless_default_buffers(found.host) {
            continue;
        }
        config.buffer_size = size;
        let picker = Picker::new(channel, config.channels, rate, &label)?;
        let (intake, tap) = Intake::new(picker, rate);
        let (tally, faults) = (intake.tally(), Arc::new(Faults::default()));
        match build(&found.device, config, format, intake, Arc::clone(&faults)) {
            Ok(stream) => {
                stream.play().map_err(|e| fails(&e))?;
                let host = Some(found.host.name().to_owned());
                let name = found.label.clone();
                let origin = Origin { name, host, sample_rate: rate, channels: config.channels };
                return Ok(Input {
                    stream,
                    host: found.host,
                    origin,
                    tap,
                    tally,
                    faults,
                    warnings: Vec::new(),
                });
            }
            Err(error) => last = error,
        }
        if !matches!(
            last.kind(),
            ErrorKind::UnsupportedConfig | ErrorKind::InvalidInput | ErrorKind::BackendError
        ) {
            break;
        }
    }
    Err(fails(&last))
}

fn build(
    device: &Device,
    config: StreamConfig,
    format: SampleFormat,
    intake: Intake,
    faults: Arc<Faults>,
) -> Result<Stream, cpal::Error> {
    match format {
        SampleFormat::I8 => build_as::<i8>(device, config, intake, faults),
        SampleFormat::I16 => build_as::<i16>(device, config, intake, faults),
        SampleFormat::I24 => build_as::<I24>(device, config, intake, faults),
        SampleFormat::I32 => build_as::<i32>(device, config, intake, faults),
        SampleFormat::I64 => build_as::<i64>(device, config, intake, faults),
        SampleFormat::U8 => build_as::<u8>(device, config, intake, faults),
        SampleFormat::U16 => build_as::<u16>(device, config, intake, faults),
        SampleFormat::U24 => build_as::<U24>(device, config, intake, faults),
        SampleFormat::U32 => build_as::<u32>(device, config, intake, faults),
        SampleFormat::U64 => build_as::<u64>(device, config, intake, faults),
        SampleFormat::F32 => build_as::<f32>(device, config, intake, faults),
        SampleFormat::F64 => build_as::<f64>(device, config, intake, faults),
        other => Err(cpal::Error::with_message(
            ErrorKind::UnsupportedConfig,
            format!("its samples are of a kind that cannot be read here ({other})"),
        )),
    }
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
        move |data, _| intake.take(data.as_slice::<T>().unwrap_or_default()),
        move |error| faults.count(&error),
        Some(BUILD_LIMIT),
    )
}
