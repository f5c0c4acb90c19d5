//! Signals that ask the program to end.

use crate::failure::Failure;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// The last signal that asked the program to end.
pub(crate) struct Signals {
    last: Arc<AtomicUsize>,
}

impl Signals {
    /// Watches SIGINT, SIGTERM and (where there is one) SIGHUP from now on.
    ///
    /// # Errors
    /// If the system refuses.
    pub(crate) fn watch() -> Result<Self, Failure> {
        use signal_hook::consts::{SIGINT, SIGTERM};
        let last = Arc::new(AtomicUsize::new(0));
        let mut asked = vec![SIGINT, SIGTERM];
        #[cfg(unix)]
        asked.push(signal_hook::consts::SIGHUP);
        for signal in asked {
            let number = usize::try_from(signal).unwrap_or_default();
            signal_hook::flag::register_usize(signal, Arc::clone(&last), number)
                .map_err(|error| Failure::world(format!("cannot watch for signals: {error}")))?;
        }
        Ok(Self { last })
    }

    /// Whether nobody has asked for the end yet.
    ///
    /// # Errors
    /// [`Failure::Signal`] if somebody has.
    pub(crate) fn check(&self) -> Result<(), Failure> {
        match self.last.load(Ordering::Relaxed) {
            0 => Ok(()),
            signal => Err(Failure::Signal(i32::try_from(signal).unwrap_or_default())),
        }
    }
}
