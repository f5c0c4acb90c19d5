//! What opening an input and opening an output have in common.

use crate::found::{Direction, Found, Host};
use crate::hosts;
use crate::watch::Faults;
use crate::worker::{Stop, caught, within};
use crate::{Origin, SoundError};
use cpal::traits::StreamTrait;
use cpal::{BufferSize, ErrorKind, Stream, StreamConfig};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::time::Duration;

/// How long a sound system may take to make a stream.
pub(crate) const BUILD_LIMIT: Duration = Duration::from_secs(3);
/// The longest that opening a device may take altogether.
pub(crate) const OPEN_LIMIT: Duration = Duration::from_secs(6);
/// The longest that closing one may take; a dead sound server can make it last for ever.
const CLOSE_LIMIT: Duration = Duration::from_secs(1);

/// Attempts at opening a device that may be hanging at the same time.
const MOST_UNDER_WAY: usize = 8;

/// A device that is running.
pub(crate) struct Running {
    /// Closes the device when it is dropped, which may take its time.
    pub(crate) stream: Box<dyn Send>,
    pub(crate) host: Host,
    pub(crate) origin: Origin,
    /// How often the callback has run.
    pub(crate) calls: Arc<AtomicU64>,
    pub(crate) faults: Arc<Faults>,
}

/// Calls `$body` with `$T` standing for the type of a sample in `$format`; `$other` for a format that has none.
macro_rules! with_sample_type {
    ($format:expr, $T:ident => $body:expr, $other:expr) => {
        match $format {
            cpal::SampleFormat::I8 => {
                type $T = i8;
                $body
            }
            cpal::SampleFormat::I16 => {
                type $T = i16;
                $body
            }
            cpal::SampleFormat::I24 => {
                type $T = cpal::I24;
                $body
            }
            cpal::SampleFormat::I32 => {
                type $T = i32;
                $body
            }
            cpal::SampleFormat::I64 => {
                type $T = i64;
                $body
            }
            cpal::SampleFormat::U8 => {
                type $T = u8;
                $body
            }
            cpal::SampleFormat::U16 => {
                type $T = u16;
                $body
            }
            cpal::SampleFormat::U24 => {
                type $T = cpal::U24;
                $body
            }
            cpal::SampleFormat::U32 => {
                type $T = u32;
                $body
            }
            cpal::SampleFormat::U64 => {
                type $T = u64;
                $body
            }
            cpal::SampleFormat::F32 => {
                type $T = f32;
                $body
            }
            cpal::SampleFormat::F64 => {
                type $T = f64;
                $body
            }
            _ => $other,
        }
    };
}
pub(crate) use with_sample_type;

/// The error for a format without a type.
pub(crate) fn unreadable_format() -> cpal::Error {
    cpal::Error::with_message(
        ErrorKind::UnsupportedConfig,
        "its samples are of a kind that is not known here",
    )
}

/// Looks devices up and opens the first one that lets itself be opened. Also returns why those before it could not be
/// opened.
pub(crate) fn first_that_opens<T>(
    wanted: Option<&str>,
    direction: Direction,
    only: Option<Host>,
    mut start: impl FnMut(&Found) -> Result<T, SoundError>,
) -> Result<(T, Found, Vec<String>), SoundError> {
    let search = hosts::find(wanted, direction, only);
    let mut refusals = search.refusals;
    let mut failure = None;
    for found in search.found {
        match start(&found) {
            Ok(running) => return Ok((running, found, refusals)),
            Err(SoundError::Device { device, what }) => {
                refusals.push(format!("{device}: {what}"));
                failure = Some(SoundError::Device { device, what });
            }
            Err(error) => return Err(error),
        }
    }
    match failure {
        Some(error) if wanted.is_some() => Err(error),
        _ => Err(hosts::nothing_found(wanted, direction, refusals)),
    }
}

/// Builds a stream with the first block size that the device takes, and starts it.
pub(crate) fn with_some_size<T>(
    mut config: StreamConfig,
    sizes: &[BufferSize],
    mut build: impl FnMut(StreamConfig) -> Result<(Stream, T), cpal::Error>,
) -> Result<(Stream, T), cpal::Error> {
    let mut last = cpal::Error::from(ErrorKind::UnsupportedConfig);
    for &size in sizes {
        config.buffer_size = size;
        match build(config) {
            Ok((stream, rest)) => return stream.play().map(|()| (stream, rest)),
            Err(error) => last = error,
        }
        if !matches!(
            last.kind(),
            ErrorKind::UnsupportedConfig | ErrorKind::InvalidInput | ErrorKind::BackendError
        ) {
            break;
        }
    }
    Err(last)
}

/// Opens on a helper thread, since a sound system may hang or panic. Tries that hang are left behind, but only so many:
/// a system that hangs on every try would otherwise fill the process with threads. The wait ends when `stop` is asked.
pub(crate) fn guarded<T, W>(stop: &Stop, opening: W) -> Result<T, SoundError>
where
    T: Send + 'static,
    W: FnOnce() -> Result<T, SoundError> + Send + 'static,
{
    static UNDER_WAY: AtomicUsize = AtomicUsize::new(0);
    if UNDER_WAY.load(Ordering::Relaxed) >= MOST_UNDER_WAY {
        return Err(SoundError::NoAnswer);
    }
    UNDER_WAY.fetch_add(1, Ordering::Relaxed);
    let counted = move || {
        let outcome = caught(opening);
        UNDER_WAY.fetch_sub(1, Ordering::Relaxed);
        outcome.unwrap_or_else(|why| Err(SoundError::BrokeDown(why)))
    };
    within("open", OPEN_LIMIT, stop, counted).unwrap_or(Err(SoundError::NoAnswer))
}

/// Closes a stream on a helper thread. If the closing hangs, the thread is left behind and a warning is returned.
pub(crate) fn close(stream: Box<dyn Send>) -> Option<String> {
    let closing = move || drop(caught(move || drop(stream)));
    let hangs = within("close", CLOSE_LIMIT, &Stop::default(), closing).is_none();
    hangs.then(|| "The sound system does not finish closing the device; it is left as it is.".to_owned())
}
