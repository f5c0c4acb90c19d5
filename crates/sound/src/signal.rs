//! What the thread behind a feed tells the feed. The samples themselves go through the ring. When the thread is over,
//! so is the feed.

use crate::tap::Tap;
use crate::{Origin, SoundError};
use std::sync::mpsc::Sender;
use std::time::Duration;

pub(crate) enum Signal {
    /// The device was opened, for the first time or again after having been `away`.
    Opened { origin: Origin, tap: Tap, away: Duration },
    /// It could not be opened at all.
    Failed(SoundError),
    /// It is gone.
    Lost,
    /// The sound system lost samples and does not say how many.
    Skipped,
    /// A sentence for the player.
    Warning(String),
    /// The thread has broken down, as the end of a sentence; it says no more.
    Broke(String),
}

/// What a thread says when it panics: `what` it did, and why it does so no longer.
pub(crate) fn last_words(what: &'static str, signals: &Sender<Signal>) -> impl FnOnce(String) + Send + use<> {
    let signals = signals.clone();
    // Whoever would be told is gone when the sending fails.
    move |why| drop(signals.send(Signal::Broke(format!("{what} broke down inside the program ({why})"))))
}
