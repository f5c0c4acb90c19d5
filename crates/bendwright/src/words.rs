//! What happens to the sound, in words.

use crate::complaint::Complaint;
use screen::Notice;
use sound::FeedEvent;

/// What to tell the player about an event of the feed, as a sentence, if anything.
pub(crate) fn feed_event(event: &FeedEvent) -> Option<String> {
    Some(match event {
        FeedEvent::Opened(origin) => format!("listening to {}", origin.name),
        FeedEvent::Lost { device } => format!("{device} is gone; waiting for it, your results are kept"),
        FeedEvent::Reopened(origin) => format!("{} is back; go on where you were", origin.name),
        FeedEvent::Overrun { samples } => {
            let lost = if *samples == 0 { "some".to_owned() } else { samples.to_string() };
            format!("{lost} samples were lost; a try that was sounding is not scored")
        }
        FeedEvent::Warning(text) => text.clone(),
        FeedEvent::Ended => return None,
    })
}

/// The same for the full screen.
pub(crate) fn feed_notices(event: FeedEvent, is_player: bool) -> Vec<Notice> {
    match event {
        FeedEvent::Opened(_) if is_player => vec![Notice::Player],
        FeedEvent::Opened(origin) => vec![Notice::Hearing(origin.name)],
        FeedEvent::Lost { .. } => vec![Notice::Lost],
        FeedEvent::Reopened(origin) => vec![Notice::Hearing(origin.name), Notice::Back],
        FeedEvent::Overrun { samples } => vec![Notice::Dropped(samples)],
        FeedEvent::Warning(text) => vec![Notice::Say(text)],
        FeedEvent::Ended => vec![Notice::Ended],
    }
}

/// What to tell the player about the level, as a sentence, if anything.
pub(crate) fn complaint(complaint: Complaint) -> Option<String> {
    match complaint {
        Complaint::TooQuiet => Some("too quiet: come nearer to the microphone or raise its level".into()),
        Complaint::Clipping => Some("clipping: move away from the microphone or lower its level".into()),
        Complaint::None => None,
    }
}

/// The same for the full screen.
pub(crate) fn complaint_notice(complaint: Complaint) -> Notice {
    match complaint {
        Complaint::TooQuiet => Notice::TooQuiet,
        Complaint::Clipping => Notice::Clipping,
        Complaint::None => Notice::LevelGood,
    }
}
