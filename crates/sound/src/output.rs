//! Opens an output device.

use crate::hosts::{self, Direction, Found};
use crate::opening::{self, BUILD_LIMIT, Running, with_sample_type};
use crate::outflow::Outflow;
use crate::watch::Faults;
use crate::{Origin, SoundError};
use cpal::traits::DeviceTrait;
use cpal::{BufferSize, Device, FromSample, HostId, SampleFormat, SizedSample, Stream, StreamConfig};
use ringbuf::traits::Split;
use ringbuf::{HeapProd, HeapRb};
use std::sync::Arc;
use std::sync::atomic::AtomicU64;

/// Frames a block in the order in which sizes are tried.
const SIZES: [BufferSize; 3] = [BufferSize::Fixed(512), BufferSize::Fixed(1024), BufferSize::Default];
/// Seconds that the ring can hold. The speaker keeps far less in it.
const RING_SECONDS: f64 = 0.5;

/// An output device that is running.
pub(crate) struct Output {
    pub(crate) running: Running,
    pub(crate) ring: HeapProd<f32>,
}

/// Opens the first device that fits and lets itself be opened.
pub(crate) fn open(wanted: Option<&str>, only: Option<HostId>) -> Result<Output, SoundError> {
    opening::first_that_opens(wanted, Direction::Output, only, start).map(|(output, ..)| output)
}

fn start(found: &Found) -> Result<Output, SoundError> {
    let fails = |error: &cpal::Error| SoundError::device(found, error);
    let offered = found.device.default_output_config().map_err(|e| fails(&e))?;
    let config = offered.config();
    let converts = hosts::converts_anything(found.host);
    let format = if converts { SampleFormat::F32 } else { offered.sample_format() };
    let rate = f64::from(config.sample_rate);
    let build = |config: StreamConfig| {
        let (ring, samples) = HeapRb::new((rate * RING_SECONDS).ceil() as usize).split();
        let (calls, faults) = (Arc::new(AtomicU64::new(0)), Arc::new(Faults::default()));
        let outflow = Outflow::new(samples, config.channels, Arc::clone(&calls));
        let counted = Arc::clone(&faults);
        let stream = with_sample_type!(format,
            T => build_as::<T>(&found.device, config, outflow, counted),
            Err(opening::unreadable_format()))?;
        Ok((stream, (ring, calls, faults)))
    };
    let (stream, (ring, calls, faults)) =
        opening::with_some_size(found, config, &SIZES, build).map_err(|e| fails(&e))?;
    let host = Some(found.host.name().to_owned());
    let origin = Origin { name: found.label.clone(), host, sample_rate: rate, channels: config.channels };
    Ok(Output { running: Running { stream, host: found.host, origin, calls, faults }, ring })
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
        move |data, _| outflow.give(data.as_slice_mut::<T>().unwrap_or_default()),
        move |error| faults.count(&error),
        Some(BUILD_LIMIT),
    )
}
