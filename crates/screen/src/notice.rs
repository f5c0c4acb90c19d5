//! News of the world outside: devices, levels, losses.

/// Something the player should know, told by the program around the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Notice {
    /// What is being listened to now: a device, by its name.
    Hearing(String),
    /// A recording plays; its name.
    Recording(String),
    /// The built-in player plays.
    Player,
    /// There is no input device at all.
    NoInput,
    /// The input device went away.
    Lost,
    /// The input device is back.
    Back,
    /// The program slept in the shell and is awake again; what sounded meanwhile was not heard.
    Slept,
    /// This many samples came too fast and were dropped; 0 where nobody knows how many.
    Dropped(u64),
    /// The sound is too weak to judge.
    TooQuiet,
    /// The sound is so strong that it is cut off.
    Clipping,
    /// The player cannot be heard through what the loudspeaker sounds.
    BandTooLoud,
    /// The level is good again.
    LevelGood,
    /// Listening has stopped, and why; the next drill listens again.
    Stopped(String),
    /// The recording is at its end.
    Ended,
    /// Any other sentence, shown as it is.
    Say(String),
}

impl Notice {
    /// The notice as a sentence, the same wherever it is told; nothing where there is nothing to say.
    pub fn sentence(&self) -> Option<String> {
        Some(match self {
            Self::Hearing(name) => format!("listening to {name}"),
            Self::Recording(name) => format!("the recording {name} plays"),
            Self::Player => "listening to the built-in player".to_owned(),
            Self::NoInput => "no microphone found".to_owned(),
            Self::Lost => "the microphone is gone; waiting, your results are kept".to_owned(),
            Self::Back => "the microphone is back; go on where you were".to_owned(),
            Self::Dropped(0) => "some samples were lost; this computer was too busy".to_owned(),
            Self::Dropped(samples) => format!("{samples} samples were lost; this computer was too busy"),
            Self::TooQuiet => "too quiet: come closer to the microphone".to_owned(),
            Self::Clipping => "too loud, the sound is cut off: turn the microphone down".to_owned(),
            Self::BandTooLoud => {
                "the band is too loud for the microphone: headphones, or a softer loudspeaker".to_owned()
            }
            Self::Stopped(why) => {
                format!("not listening: {why}; the next drill listens again")
            }
            Self::Ended => "the recording is at its end".to_owned(),
            Self::Say(sentence) => sentence.clone(),
            Self::Slept | Self::LevelGood => return None,
        })
    }

    /// Whether samples were lost, so that a try that was sounding cannot be judged.
    pub fn is_gap(&self) -> bool {
        matches!(self, Self::Lost | Self::Slept | Self::Stopped(_) | Self::Dropped(_))
    }
}

/// What is known of the world, as the screen shows it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct World {
    /// What is being listened to.
    pub(crate) source: Source,
    /// The level in words, if it is not good.
    level: Option<String>,
    /// Samples dropped so far.
    dropped: u64,
    /// The newest sentence that is not about the source or the level.
    said: Option<String>,
}

/// Where the sound comes from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) enum Source {
    /// Not known yet.
    #[default]
    Unknown,
    /// A device.
    Named(String),
    /// A recording.
    Recording(String),
    /// The built-in player.
    Player,
    /// There is none.
    None,
    /// There was one; it went away.
    Lost,
    /// Nobody listens, and why.
    Stopped(String),
}

impl World {
    /// Takes a notice. True if that changes what is shown.
    pub(crate) fn hear(&mut self, notice: &Notice) -> bool {
        let before = self.clone();
        match notice {
            Notice::Hearing(name) => self.source = Source::Named(name.clone()),
            Notice::Recording(name) => self.source = Source::Recording(name.clone()),
            Notice::Player => self.source = Source::Player,
            Notice::NoInput => self.source = Source::None,
            Notice::Lost => self.source = Source::Lost,
            Notice::Stopped(why) => self.source = Source::Stopped(why.clone()),
            Notice::Slept => {}
            Notice::Dropped(samples) => {
                self.dropped = self.dropped.saturating_add(*samples);
                self.said = Notice::Dropped(self.dropped).sentence();
            }
            Notice::TooQuiet | Notice::Clipping | Notice::BandTooLoud | Notice::LevelGood => {
                self.level = notice.sentence();
            }
            Notice::Back | Notice::Ended | Notice::Say(_) => self.said = notice.sentence(),
        }
        *self != before
    }

    /// A key was pressed: what was said has been read.
    pub(crate) fn read(&mut self) -> bool {
        self.said.take().is_some()
    }

    /// The sentence for the line of warnings, the most urgent first.
    pub(crate) fn warning(&self) -> Option<String> {
        match &self.source {
            Source::Lost => return Notice::Lost.sentence(),
            Source::Stopped(why) => return Notice::Stopped(why.clone()).sentence(),
            Source::None => return Some("No microphone found.".to_owned()),
            _ => {}
        }
        self.level.clone().or_else(|| self.said.clone())
    }

    /// Who plays instead of the player: "the built-in player"; nothing where a harp is played into a microphone.
    pub(crate) fn who_plays(&self) -> Option<String> {
        match &self.source {
            Source::Recording(name) => Some(format!("the recording {name}")),
            Source::Player => Some("the built-in player".to_owned()),
            _ => None,
        }
    }

    /// What is being listened to, in a few words.
    pub(crate) fn source_words(&self) -> String {
        if let Some(who) = self.who_plays() {
            return format!("{who} plays");
        }
        match &self.source {
            Source::Unknown | Source::Player | Source::Recording(_) => String::new(),
            Source::Named(name) => format!("listening to {name}"),
            Source::None => "no microphone".to_owned(),
            Source::Lost => "microphone gone".to_owned(),
            Source::Stopped(_) => "not listening".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lost_device_outweighs_a_weak_level() {
        let mut world = World::default();
        assert!(world.hear(&Notice::TooQuiet));
        assert!(world.warning().unwrap().starts_with("too quiet"));
        assert!(world.hear(&Notice::Lost));
        assert!(world.warning().unwrap().starts_with("the microphone is gone"));
        assert!(!world.hear(&Notice::Lost), "the same news changes nothing");
    }

    #[test]
    fn losses_add_up() {
        let mut world = World::default();
        world.hear(&Notice::Dropped(0));
        assert!(world.warning().unwrap().starts_with("some samples were lost"));
        world.hear(&Notice::Dropped(100));
        world.hear(&Notice::Dropped(20));
        assert!(world.warning().unwrap().starts_with("120 samples were lost"));
        assert!(world.read());
        assert_eq!(world.warning(), None);
    }
}
