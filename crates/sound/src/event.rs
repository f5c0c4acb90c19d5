//! What a feed says beside its samples.

use crate::Anchor;

/// A stretch of samples that was read from a feed; they are at the front of the buffer that was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Block {
    /// When its first sample was heard: samples since the feed began, at the present rate. Samples that were lost
    /// count, and so does the time for which a device was away, so this never runs behind the player's time.
    pub start: u64,
    /// Samples in the block.
    pub len: usize,
    /// Samples that were lost between the block before and this one; 0 nearly always. A note that was sounding there
    /// cannot be judged.
    pub lost_before: u64,
    /// The callback that handed the first of these samples in: how many samples of the feed had come by then (counted
    /// like `start`), and when that was. Blocks that came with one callback have the same anchor. `None` for a source
    /// that is read as fast as possible.
    pub anchor: Option<Anchor>,
}

/// Where the samples come from.
#[derive(Clone, Debug, PartialEq)]
pub struct Origin {
    /// The device or file, in words for the player.
    pub name: String,
    /// The sound system that a device was reached through, such as `PulseAudio`; `None` for anything else.
    pub host: Option<String>,
    /// Samples per second.
    pub sample_rate: f64,
    /// Channels that the source has; one, or the mix, is delivered.
    pub channels: u16,
}

/// Something happened to a feed.
#[derive(Clone, Debug, PartialEq)]
pub enum FeedEvent {
    /// The first word of every feed.
    Opened(Origin),
    /// The device is gone. It will be reopened when it returns; until then there are no samples.
    Lost {
        /// The device.
        device: String,
    },
    /// The device is back, perhaps with another rate: whoever counts on the rate starts anew.
    Reopened(Origin),
    /// Samples came faster than they were read and were thrown away. The next block says the same in `lost_before`.
    Overrun {
        /// How many; 0 when the sound system itself lost them and does not say how many.
        samples: u64,
    },
    /// The recording or the player is at its end. Every later reading says so again; a new feed may be opened.
    Ended,
    /// What brought the samples broke down inside the program; why, as the end of a sentence. Only [`FeedEvent::Ended`]
    /// comes after it, and a new feed may be opened.
    Broke(String),
    /// Something that the player should know; a whole sentence.
    Warning(String),
}

/// What one reading of a feed brought.
#[derive(Clone, Debug, PartialEq)]
pub enum Fed {
    /// Samples.
    Samples(Block),
    /// News, in its place between the samples.
    Event(FeedEvent),
    /// Neither, within the time given.
    Nothing,
}
