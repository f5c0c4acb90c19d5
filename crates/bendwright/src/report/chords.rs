//! Lines for drills of chords, and for notes that were to sound alone.

use layout::TabStyle;
use practice::{ChordAsked, ChordTried, Chords, Moment};
use scoring::reeds::{Clean, HeardReed, Holes, ReedsOutcome};
use screen::chord_words;
use serde::Serialize;

/// What happened in a drill of chords.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub(crate) enum ChordLine {
    /// A chord is asked for.
    Asked { item: usize, attempt: u32, tab: Vec<String>, words: String, hold_s: f64 },
    /// A try is over.
    Judged {
        item: usize,
        attempt: u32,
        tab: Vec<String>,
        outcome: &'static str,
        sentence: String,
        /// Holes that were asked for and silent.
        missing: Holes,
        /// Holes that were not asked for and sounded.
        leaked: Holes,
        /// The reeds that surely sounded.
        heard: Vec<HeardLine>,
        held_s: f64,
        began_s: f64,
        ended_s: f64,
    },
    /// A try that was sounding when the player left.
    Unfinished { item: usize, attempt: u32, tab: Vec<String>, began_s: f64 },
    /// The end.
    Summary { tries: usize, right: usize, next: Vec<String>, complete: bool },
}

/// A reed that sounded.
#[derive(Debug, Serialize)]
pub(crate) struct HeardLine {
    tab: String,
    below_db: f64,
}

/// Whether a note stayed alone.
#[derive(Debug, Serialize)]
pub(crate) struct CleanLine {
    outcome: &'static str,
    sentence: String,
    hole: Option<u8>,
    below_db: Option<f64>,
}

impl From<Clean> for CleanLine {
    fn from(clean: Clean) -> Self {
        let (hole, below_db) = match clean {
            Clean::Leaked(hole, below_db) => (Some(hole), Some(below_db)),
            Clean::Alone | Clean::CannotTell => (None, None),
        };
        Self { outcome: clean.word(), sentence: chord_words::clean(clean), hole, below_db }
    }
}

impl CleanLine {
    pub(super) fn text(&self) -> String {
        format!("; {}", self.sentence)
    }
}

fn tab_of(asked: &ChordAsked, tab: &TabStyle) -> Vec<String> {
    asked.target.ways().map(|way| tab.print(way)).collect()
}

impl ChordLine {
    /// The line for a chord that is asked.
    pub(crate) fn asked(asked: &ChordAsked, tab: &TabStyle) -> Self {
        Self::Asked {
            item: asked.item + 1,
            attempt: asked.attempt,
            tab: tab_of(asked, tab),
            words: chord_words::ask(asked.target),
            hold_s: asked.target.hold_s,
        }
    }

    /// The line for a try that is over.
    pub(crate) fn judged(tried: &ChordTried, tab: &TabStyle) -> Self {
        let (missing, leaked) = match tried.verdict.outcome {
            ReedsOutcome::Off { missing, leaked } => (missing, leaked),
            _ => (Holes::NONE, Holes::NONE),
        };
        let heard = |heard: &HeardReed| HeardLine { tab: tab.print(heard.way), below_db: heard.below_db };
        Self::Judged {
            item: tried.asked.item + 1,
            attempt: tried.asked.attempt,
            tab: tab_of(&tried.asked, tab),
            outcome: tried.verdict.outcome.word(),
            sentence: chord_words::verdict(&tried.verdict, tried.asked.target),
            missing,
            leaked,
            heard: tried.verdict.heard.iter().map(heard).collect(),
            held_s: tried.verdict.held_s,
            began_s: tried.began.seconds(),
            ended_s: tried.ended.seconds(),
        }
    }

    /// The line for a try that was sounding when the player left.
    pub(crate) fn unfinished(asked: &ChordAsked, began: Moment, tab: &TabStyle) -> Self {
        let tab = tab_of(asked, tab);
        Self::Unfinished { item: asked.item + 1, attempt: asked.attempt, tab, began_s: began.seconds() }
    }

    /// The line that closes a drill.
    pub(crate) fn summary(chords: &Chords, complete: bool, tab: &TabStyle) -> Self {
        let summary = chords.summary();
        let next = chord_words::next(&summary, |way| tab.print(way));
        Self::Summary { tries: summary.tries, right: summary.right, next, complete }
    }

    /// The line as a sentence.
    pub(super) fn sentence(&self) -> String {
        match self {
            Self::Asked { item, attempt, tab, words, hold_s } => {
                format!("asked: chord {item}, try {attempt}: {}, {words}, hold {hold_s} s", tab.join(" "))
            }
            Self::Judged { item, attempt, tab, sentence, .. } => {
                format!("judged: chord {item}, try {attempt}: {}: {sentence}", tab.join(" "))
            }
            Self::Unfinished { item, attempt, tab, .. } => {
                format!("unfinished: chord {item}, try {attempt}: {} was still sounding", tab.join(" "))
            }
            Self::Summary { tries, right, next, complete } => {
                let end = if *complete { "done" } else { "ended before the last item" };
                let came = format!("summary: {end}, {right} of {tries} right");
                [std::slice::from_ref(&came), next].concat().join("; ")
            }
        }
    }
}
