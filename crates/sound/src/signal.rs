//! What the thread behind a feed tells the feed. The samples themselves go through the ring. When the thread is over, so is
//! the feed.

use crate::tap::Tap;
use crate::{Origin, SoundError};
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
}
