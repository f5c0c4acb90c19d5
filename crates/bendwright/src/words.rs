//! What happens to the sound, as the notice that every follower is told.

use crate::complaint::Complaint;
use screen::Notice;
use sound::FeedEvent;

/// What to tell the player about an event of the feed.
pub(crate) fn feed_notices(event: FeedEvent, is_player: bool) -> Vec<Notice> {
    match event {
        FeedEvent::Opened(_) if is_player => vec![Notice::Player],
        // Only a device is reached through a sound system.
        FeedEvent::Opened(origin) if origin.host.is_none() => vec![Notice::Recording(origin.name)],
        FeedEvent::Opened(origin) => vec![Notice::Hearing(origin.name)],
        FeedEvent::Lost { .. } => vec![Notice::Lost],
        FeedEvent::Reopened(origin) => vec![Notice::Hearing(origin.name), Notice::Back],
        FeedEvent::Overrun { samples } => vec![Notice::Dropped(samples)],
        FeedEvent::Warning(text) => vec![Notice::Say(text)],
        FeedEvent::Ended => vec![Notice::Ended],
        FeedEvent::Broke(why) => vec![Notice::Stopped(why)],
    }
}

/// How often, in words.
pub(crate) fn often(times: u64) -> String {
    match times {
        1 => "once".to_owned(),
        times => format!("{times} times"),
    }
}

/// What to tell the player about the level.
pub(crate) fn complaint_notice(complaint: Complaint) -> Notice {
    match complaint {
        Complaint::TooQuiet => Notice::TooQuiet,
        Complaint::Clipping => Notice::Clipping,
        Complaint::BandTooLoud => Notice::BandTooLoud,
        Complaint::None => Notice::LevelGood,
    }
}
