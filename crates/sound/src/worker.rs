//! Threads that are told to stop and are never waited for without a limit.

use crate::{SoundError, quiet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// What the names of all threads of this crate begin with. A panic hook that restores a terminal can leave the
/// terminal alone for these: their panics are caught and told as [`FeedEvent::Broke`](crate::FeedEvent::Broke).
pub const THREAD_NAME_PREFIX: &str = "sound-";

/// The longest that anybody waits for a thread to stop.
pub(crate) const STOP_LIMIT: Duration = Duration::from_millis(1500);

/// How often whoever waits looks whether the end is asked for.
const STEP: Duration = Duration::from_millis(20);

/// Asks for an end. Clones ask the same thread.
#[derive(Clone, Default)]
pub(crate) struct Stop(Arc<AtomicBool>);

impl Stop {
    pub(crate) fn is_asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    pub(crate) fn ask(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Sleeps for `time`, or until the end is asked for. False if it is asked for.
    pub(crate) fn sleep(&self, time: Duration) -> bool {
        let mut left = time;
        while !self.is_asked() && !left.is_zero() {
            thread::sleep(left.min(STEP));
            left = left.saturating_sub(STEP);
        }
        !self.is_asked()
    }
}

/// A thread that ends when this is dropped. A drop waits [`STOP_LIMIT`] at most: a sound library may hang for ever
/// while it closes a device, and the player must still get out.
pub(crate) struct Worker {
    stop: Stop,
    done: Receiver<()>,
}

impl Worker {
    /// Starts `work` on a thread of its own. A panic in it is handed to `on_panic` as text.
    pub(crate) fn start<W, P>(name: &str, stop: &Stop, work: W, on_panic: P) -> Result<Self, SoundError>
    where
        W: FnOnce() + Send + 'static,
        P: FnOnce(String) + Send + 'static,
    {
        let (tell, done) = sync_channel::<()>(1);
        spawn(name, move || {
            if let Some(panic) = caught(work).err() {
                on_panic(panic);
            }
            drop(tell);
        })?;
        Ok(Self { stop: stop.clone(), done })
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.stop.ask();
        // Either the thread is done, or it hangs and is left behind: there is nothing else to do about it here.
        let _ = self.done.recv_timeout(STOP_LIMIT);
    }
}

/// Runs `work`, which calls a sound library, on a helper thread and waits for its result, at most for `limit` and only
/// until the end is asked for. `None` when it took longer (the result is then dropped on the helper thread, whenever it
/// comes) or panicked.
pub(crate) fn within<T, W>(name: &str, limit: Duration, stop: &Stop, work: W) -> Option<T>
where
    T: Send + 'static,
    W: FnOnce() -> T + Send + 'static,
{
    let (tell, result) = sync_channel(1);
    spawn(name, move || {
        quiet::hush_this_thread();
        if let Ok(value) = caught(work) {
            let _ = tell.send(value);
        }
    })
    .ok()?;
    let mut left = limit;
    while !left.is_zero() && !stop.is_asked() {
        match result.recv_timeout(left.min(STEP)) {
            Ok(value) => return Some(value),
            Err(RecvTimeoutError::Disconnected) => return None,
            Err(RecvTimeoutError::Timeout) => left = left.saturating_sub(STEP),
        }
    }
    None
}

/// Runs `work` and turns a panic into its text.
pub(crate) fn caught<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|panic| match panic.downcast::<String>() {
        Ok(text) => *text,
        Err(other) => {
            other.downcast_ref::<&str>().map_or_else(|| "no reason given".to_owned(), |&s| s.to_owned())
        }
    })
}

/// Starts a thread of this crate's.
pub(crate) fn spawn(name: &str, work: impl FnOnce() + Send + 'static) -> Result<JoinHandle<()>, SoundError> {
    thread::Builder::new()
        .name(format!("{THREAD_NAME_PREFIX}{name}"))
        .spawn(work)
        .map_err(|e| SoundError::NoThread(e.to_string()))
}
