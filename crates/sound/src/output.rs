//! Opens an output device.

use crate::found::{Direction, Found, Handle};
use crate::handed_out::HandedOut;
use crate::host_time::HostTime;
use crate::opening::{self, BUILD_LIMIT, Running, with_sample_type};
use crate::outflow::{Given, Outflow};
#[cfg(target_os = "linux")]
use crate::pulse;
use crate::watch::Faults;
use crate::{Origin, SoundError};
use cpal::traits::DeviceTrait;
use cpal::{BufferSize, Device, FromSample, SizedSample, Stream, StreamConfig};
use ringbuf::traits::Split;
use ringbuf::{HeapProd, HeapRb};
use std::sync::Arc;

/// Block sizes in frames, in the order in which they are tried.
const SIZES: [BufferSize; 3] = [BufferSize::Fixed(512), BufferSize::Fixed(1024), BufferSize::Default];
/// Seconds that the ring can hold. The speaker keeps far less in it.
const RING_SECONDS: f64 = 0.5;

/// An output device that is running.
pub(crate) struct Output {
    pub(crate) running: Running,
    pub(crate) ring: HeapProd<f32>,
    pub(crate) given: Arc<Given>,
    pub(crate) handed_out: HandedOut,
}

/// Opens the first device that fits and lets itself be opened.
pub(crate) fn open(wanted: Option<&str>) -> Result<Output, SoundError> {
    opening::first_that_opens(wanted, Direction::Output, None, start).map(|(output, ..)| output)
}

fn start(found: &Found) -> Result<Output, SoundError> {
    let started = match &found.handle {
        #[cfg(target_os = "linux")]
        Handle::Pulse => start_pulse(found),
        Handle::Cpal(device) => start_cpal(found, device),
    };
    started.map_err(|error| SoundError::device(found, &error))
}

#[cfg(target_os = "linux")]
fn start_pulse(found: &Found) -> Result<Output, cpal::Error> {
    let loudspeaker = pulse::Loudspeaker::find(found)?;
    let (rate, channels) = (loudspeaker.sample_rate(), loudspeaker.channels());
    let (outflow, ends) = connect(rate, channels);
    let stream = loudspeaker.start(outflow, Arc::clone(&ends.faults))?;
    Ok(running(found, Box::new(stream), (rate, channels), ends))
}

fn start_cpal(found: &Found, device: &Device) -> Result<Output, cpal::Error> {
    let offered = device.default_output_config()?;
    let (config, format) = (offered.config(), offered.sample_format());
    let build = |config: StreamConfig| {
        let (outflow, ends) = connect(config.sample_rate, config.channels);
        let counted = Arc::clone(&ends.faults);
        let stream = with_sample_type!(format,
            T => build_as::<T>(device, config, outflow, counted),
            Err(opening::unreadable_format()))?;
        Ok((stream, ends))
    };
    let (stream, ends) = opening::with_some_size(config, &SIZES, build)?;
    Ok(running(found, Box::new(stream), (config.sample_rate, config.channels), ends))
}

/// What is left in our hands of a callback that has been given away.
struct Ends {
    ring: HeapProd<f32>,
    given: Arc<Given>,
    faults: Arc<Faults>,
    handed_out: HandedOut,
}

fn connect(rate: u32, channels: u16) -> (Outflow, Ends) {
    let (ring, samples) = HeapRb::new((f64::from(rate) * RING_SECONDS).ceil() as usize).split();
    let given = Arc::<Given>::default();
    let (told, handed_out) = HandedOut::new(f64::from(rate), Arc::clone(&given));
    let outflow = Outflow::new(samples, channels, Arc::clone(&given)).telling(told);
    (outflow, Ends { ring, given, faults: Arc::default(), handed_out })
}

fn running(found: &Found, stream: Box<dyn Send>, (rate, channels): (u32, u16), ends: Ends) -> Output {
    let Ends { ring, given, faults, handed_out } = ends;
    let host = Some(found.host.name().to_owned());
    let origin = Origin { name: found.label.clone(), host, sample_rate: rate.into(), channels };
    let calls = Arc::clone(&given.calls);
    Output { running: Running { stream, host: found.host, origin, calls, faults }, ring, given, handed_out }
}

fn build_as<T>(
    device: &Device,
    config: StreamConfig,
    mut outflow: Outflow,
    faults: Arc<Faults>,
) -> Result<Stream, cpal::Error>
where
    T: SizedSample + FromSample<f32>,
{
    device.build_output_stream_raw(
        config,
        T::FORMAT,
        move |data, _| outflow.give(data.as_slice_mut::<T>().unwrap_or_default(), HostTime::now()),
        move |error| faults.count(&error),
        Some(BUILD_LIMIT),
    )
}
