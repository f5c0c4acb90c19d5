//! Signals that ask the program to end.

use crate::failure::Failure;
use std::sync::Arc;
use std::sync::atomic::{AtomicI32, Ordering};

/// The last signal that asked the program to end.
pub(crate) struct Signals {
    last: Arc<AtomicI32>,
}

impl Signals {
    /// Watches the signals that ask for the end from now on. Whoever runs a loop asks [`Signals::check`] and ends in
    /// good order; a program that has not ended a moment after the signal, because its terminal is gone and reading
    /// from it never returns, is ended here after `last_act`.
    ///
    /// # Errors
    /// If the system refuses.
    pub(crate) fn watch(last_act: fn()) -> Result<Self, Failure> {
        let last = Arc::new(AtomicI32::new(0));
        listen(Arc::clone(&last), last_act)
            .map_err(|error| Failure::world(format!("cannot watch for signals: {error}")))?;
        Ok(Self { last })
    }

    /// Whether nobody has asked for the end yet.
    ///
    /// # Errors
    /// [`Failure::Signal`] if somebody has.
    pub(crate) fn check(&self) -> Result<(), Failure> {
        match self.last.load(Ordering::Relaxed) {
            0 => Ok(()),
            signal => Err(Failure::Signal(signal)),
        }
    }
}

#[cfg(unix)]
fn listen(last: Arc<AtomicI32>, last_act: fn()) -> std::io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use std::time::Duration;

    /// What a loop gets to end in good order.
    const GRACE: Duration = Duration::from_secs(2);

    let mut signals = signal_hook::iterator::Signals::new([SIGHUP, SIGINT, SIGTERM])?;
    let watch = move || {
        if let Some(signal) = signals.forever().next() {
            last.store(signal, Ordering::Relaxed);
            std::thread::sleep(GRACE);
            last_act();
            std::process::exit(128 + signal);
        }
    };
    std::thread::Builder::new().name("signals".into()).spawn(watch).map(drop)
}

/// Elsewhere the system ends the program itself.
#[cfg(not(unix))]
fn listen(_last: Arc<AtomicI32>, _last_act: fn()) -> std::io::Result<()> {
    Ok(())
}
