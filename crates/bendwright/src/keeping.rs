//! What is practised goes to the journal.

use crate::args::Common;
use crate::files;
use crate::setup::HearFrom;
use course::{Day, Past};
use journal::{By, Journal, JournalError, Keeper, KeeperNews, Noted, Sitting, When};
use layout::{Harp, Way};
use practice::Event;
use scoring::Trace;
use std::path::PathBuf;
use std::time::Duration;

/// The name of a player who gave none.
pub(crate) const NAMELESS: &str = "me";

/// Why nothing is kept.
pub(crate) const NO_JOURNAL: &str =
    "no journal is kept: --no-journal says so, or this computer has no place for one";

/// What the journal calls this program.
const PROGRAM: &str = concat!("bendwright ", env!("CARGO_PKG_VERSION"));

/// At the end the disk is waited for this long.
const PATIENCE: Duration = Duration::from_secs(2);

/// Where a journal is kept, and of whom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct JournalPlace {
    /// The file.
    pub(crate) file: PathBuf,
    /// The player.
    pub(crate) who: String,
    /// Whether the command line names the player.
    is_named: bool,
}

impl JournalPlace {
    /// As the command line has it; `None` where none is wanted, or the platform has no place for one.
    pub(crate) fn new(common: &Common) -> Option<Self> {
        let who = common.who.as_deref().map(str::trim).filter(|who| !who.is_empty());
        let (is_named, who) = (who.is_some(), who.unwrap_or(NAMELESS).to_owned());
        default_file().filter(|_| !common.no_journal).map(|file| Self { file, who, is_named })
    }

    /// What the player practised; nothing where nothing is kept yet.
    pub(crate) fn past(&self) -> Result<Past, JournalError> {
        if !self.file.exists() {
            return Ok(Past::default());
        }
        Journal::read(&self.file, When::now())?.past(&self.who)
    }

    /// The journal, to write to it at once. A damaged journal is refused: it is set aside when somebody practises next.
    pub(crate) fn open(&self) -> Result<Journal, JournalError> {
        if self.file.exists()
            && let Err(error) = Journal::read(&self.file, When::now())
            && !matches!(error, JournalError::Empty(_))
        {
            return Err(error);
        }
        Journal::open(&self.file, When::now()).map(|(journal, _)| journal)
    }

    /// Keeps something by itself, in a session of its own.
    pub(crate) fn keep(&self, noted: Noted) -> Result<(), JournalError> {
        self.open()?.add(&Sitting::new(&self.who, PROGRAM, When::now()), 1, &[noted])
    }

    /// The player, if the command line names one.
    pub(crate) fn named(&self) -> Option<&str> {
        self.is_named.then_some(&*self.who)
    }
}

/// `bendwright/journal.sqlite` in the platform's data folder.
fn default_file() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    let strategy = etcetera::choose_base_strategy().ok()?;
    Some(strategy.data_dir().join("bendwright").join("journal.sqlite"))
}

/// Who plays what comes from this source.
pub(crate) fn by(from: &HearFrom) -> By {
    match from {
        HearFrom::Mic(_) => By::Player,
        HearFrom::Player => By::BuiltIn,
        HearFrom::File(_) => By::Recording,
    }
}

/// What the journal has to tell.
#[derive(Debug)]
pub(crate) enum JournalNews {
    /// A sentence for the player.
    Said(String),
    /// What the player practised, day by day, and which day it is.
    Past(Box<Past>, Day),
    /// How the pitch went in the last tries at each way, the latest one last.
    Traces(Vec<(Way, Trace)>),
}

/// Which day it is for the player.
pub(crate) fn today() -> Day {
    When::now().day().unwrap_or_default()
}

/// Hands on to the journal what an exercise says.
#[derive(Debug)]
pub(crate) struct Keeping {
    keeper: Keeper,
}

impl Keeping {
    /// From now on what is practised is kept.
    pub(crate) fn new(place: &JournalPlace) -> Self {
        Self { keeper: Keeper::new(place.file.clone(), &place.who, PROGRAM, When::now) }
    }

    /// Keeps what an event says, if it is to be kept.
    pub(crate) fn event(&self, event: &Event, harp: &Harp, by: By) {
        if let Some(noted) = Noted::of(event, harp, by, When::now()) {
            self.keeper.keep(noted);
        }
    }

    /// Keeps a remark on what was practised last in this session.
    pub(crate) fn remark(&self, text: &str) {
        self.keeper.keep(Noted::remark(text, None, When::now()));
    }

    /// What there is to tell, one after the other.
    pub(crate) fn news(&self) -> Option<JournalNews> {
        let sentence = match self.keeper.news()? {
            KeeperNews::Past(past) => return Some(JournalNews::Past(past, today())),
            KeeperNews::Traces(traces) => return Some(JournalNews::Traces(traces)),
            KeeperNews::Held(why) => {
                format!(
                    "the journal cannot be written for now ({why}); what you play is kept in memory meanwhile"
                )
            }
            KeeperNews::Written => "the journal is written again; nothing was lost".to_owned(),
            KeeperNews::Given(why) => format!("nothing is kept in a journal: {why}"),
            KeeperNews::SetAside(aside, copy) => {
                let copy = copy.map(|copy| format!("; the newest copy of it is {}", files::shown(&copy)));
                let aside = files::shown(&aside);
                format!(
                    "the journal was damaged and is {aside} now; a new one is begun{}",
                    copy.unwrap_or_default()
                )
            }
        };
        Some(JournalNews::Said(sentence))
    }

    /// Writes what is still to be written; a sentence if something could not be.
    pub(crate) fn close(self) -> Option<String> {
        let lost = self.keeper.close(PATIENCE);
        (lost > 0).then(|| "what you played last could not be written to the journal".to_owned())
    }
}
