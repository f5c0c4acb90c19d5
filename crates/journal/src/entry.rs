//! What is kept of what an exercise says.

use crate::{When, answers};
use course::Day;
use layout::Harp;
use practice::ear::Answered;
use practice::run::RunName;
use practice::{ChordTried, Ending, Event, RunJudged, Started, Tried};

/// Who played it. What the built-in player or a recording played never counts as the player's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The player, into a microphone.
    Player,
    /// The built-in player.
    BuiltIn,
    /// A recording.
    Recording,
}

impl By {
    /// The word in the file.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Player => "player",
            Self::BuiltIn => "built-in",
            Self::Recording => "recording",
        }
    }
}

/// Something that is kept.
#[derive(Clone, Debug)]
pub struct Noted {
    pub(crate) when: When,
    pub(crate) by: By,
    pub(crate) harp: Option<String>,
    pub(crate) what: What,
}

#[derive(Clone, Debug)]
pub(crate) enum What {
    Began(String),
    Try(Box<Tried>),
    Chord(Box<ChordTried>),
    Run(Box<RunJudged>),
    Answer(Box<Answered>),
    Ended(&'static str),
    Remark(Remark),
    Delay(Delay),
}

/// What somebody remarked.
#[derive(Clone, Debug)]
pub(crate) struct Remark {
    pub(crate) text: String,
    /// The day that it is about; `None` if it is about the try or the run before it in its session.
    pub(crate) day: Option<Day>,
}

/// A delay between two sound devices.
#[derive(Clone, Debug)]
pub(crate) struct Delay {
    pub(crate) input: String,
    pub(crate) output: String,
    pub(crate) seconds: f64,
}

impl Noted {
    /// The entry for an event; `None` for an event that is not kept.
    pub fn of(event: &Event, harp: &Harp, by: By, when: When) -> Option<Self> {
        let what = match event {
            Event::Started(Started::Drill(drill)) => What::Began(format!("drill {}", drill.id().name)),
            Event::Started(Started::Free) => What::Began("free playing".to_owned()),
            Event::Started(Started::Jam(plan)) => What::Began(format!("jam {}", plan.form.kept_as)),
            Event::Started(Started::Ear(plan)) => What::Began(answers::name(plan)),
            Event::Started(Started::Run(plan)) => What::Began(run_name(&plan.material.name)),
            Event::Judged(tried) => What::Try(tried.clone()),
            Event::ChordJudged(tried) => What::Chord(tried.clone()),
            Event::RunJudged(judged) => What::Run(judged.clone()),
            Event::Answered(answered) => What::Answer(answered.clone()),
            // A jam has no tries, so its minutes are counted from the ends of its choruses.
            Event::ChorusOver(_) => What::Ended("chorus"),
            Event::Ended(Ending::Done) => What::Ended("done"),
            Event::Ended(Ending::Left) => What::Ended("left"),
            _ => return None,
        };
        Some(Self { when, by, harp: Some(harp_name(harp)), what })
    }

    /// A remark about a day, or, without one, about the try or the run before it in its session.
    pub fn remark(text: &str, day: Option<Day>, when: When) -> Self {
        Self::plain(What::Remark(Remark { text: text.to_owned(), day }), when)
    }

    /// A delay that was measured from a loudspeaker to a microphone through both devices, seconds.
    pub fn delay((input, output): (&str, &str), seconds: f64, when: When) -> Self {
        let (input, output) = (input.to_owned(), output.to_owned());
        Self::plain(What::Delay(Delay { input, output, seconds }), when)
    }

    /// What needs no harp.
    fn plain(what: What, when: When) -> Self {
        Self { when, by: By::Player, harp: None, what }
    }
}

impl What {
    /// The word in the file.
    pub(crate) fn kind(&self) -> &'static str {
        match self {
            Self::Began(_) => "began",
            Self::Try(_) | Self::Chord(_) => "try",
            Self::Run(_) => "run",
            Self::Answer(_) => "answer",
            Self::Ended(_) => "ended",
            Self::Remark(_) => "remark",
            Self::Delay(_) => "delay",
        }
    }

    /// Whether an exercise is over with it.
    pub(crate) fn is_end(&self) -> bool {
        matches!(self, Self::Ended(_))
    }

    /// The text of the column `what`: the exercise; of an end, how it ended; of a remark, what it is about; of a delay,
    /// the microphone.
    pub(crate) fn name(&self) -> String {
        match self {
            Self::Began(name) => name.clone(),
            Self::Try(tried) => format!("drill {}", tried.drill.name),
            Self::Chord(tried) => format!("drill {}", tried.drill.name),
            Self::Run(judged) => run_name(&judged.name),
            Self::Answer(answered) => answers::name(&answered.plan),
            Self::Ended(how) => (*how).to_owned(),
            Self::Remark(Remark { day: None, .. }) => "try".to_owned(),
            Self::Remark(_) => "day".to_owned(),
            Self::Delay(delay) => delay.input.clone(),
        }
    }
}

fn run_name(name: &RunName) -> String {
    format!("run {}", name.kept_as)
}

/// "C richter": what sets one harp apart from another in the journal.
fn harp_name(harp: &Harp) -> String {
    format!("{} {}", harp.key(), harp.tuning().name())
}
