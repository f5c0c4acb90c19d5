//! Lines for what is asked by ear.

use super::tenths;
use layout::{Harp, TabStyle};
use practice::ear::{Answer, Answered, Asks, ByEar, EarPlan, NoteAnswer, NoteIs, Posed, Result, Wanted};
use screen::ear_words as words;
use serde::Serialize;
use theory::Position;

/// What happened while it was asked by ear. Questions count from 1.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub(crate) enum EarLine {
    /// What is asked.
    Plan {
        title: String,
        shape: &'static str,
        heard: bool,
        harp: String,
        scale: String,
        position: u8,
        /// The tonic on which calls are to be answered, if that is another one.
        elsewhere: Option<String>,
        questions: u32,
        seed: u64,
    },
    /// A question, as far as it may be known before the answer.
    Posed { question: u32, of: u32, attempt: u32, sounded: bool, words: String },
    /// What came of it.
    Answered {
        question: u32,
        attempt: u32,
        /// `right`, `wrong`, `cannot_tell`, `passed`.
        result: &'static str,
        /// What was asked, note by note.
        asked: Vec<NoteLine>,
        /// What was played; of a call in its order, with those notes that are missing.
        played: Vec<PlayedLine>,
        /// Of a note that was held: cents from what was asked.
        cents_off: Option<f64>,
        /// Of a note that was held: its spread, cents.
        spread_cents: Option<f64>,
        /// Of a bend: half steps from the natural reed.
        depth_semitones: Option<f64>,
        ended_s: f64,
        words: String,
    },
    /// All questions were asked, or the player left.
    End { right: usize, answered: usize, complete: bool, words: String },
}

/// A note that was asked for.
#[derive(Debug, Serialize)]
pub(crate) struct NoteLine {
    tab: String,
    note: String,
    degree: String,
}

/// A note that was played, or was to be.
#[derive(Debug, Serialize)]
pub(crate) struct PlayedLine {
    /// `right`, `other`, `missing`, `extra`.
    is: &'static str,
    /// What was wanted in its place, as tab.
    wanted: Option<String>,
    /// What was played, as tab.
    tab: Option<String>,
    note: Option<String>,
    /// Cents from where the wanted note is in tune, if it is that note.
    cents: Option<f64>,
}

impl EarLine {
    /// What is asked.
    pub(crate) fn plan(plan: &EarPlan, harp: &Harp) -> Self {
        Self::Plan {
            title: words::title(plan),
            shape: plan.shape.name(),
            heard: plan.heard,
            harp: harp.key().to_string(),
            scale: plan.key.title(),
            position: Position::of(harp, plan.key.tonic().pitch_class()).number(),
            elsewhere: plan.elsewhere.as_ref().map(|key| key.tonic().to_string()),
            questions: plan.questions,
            seed: plan.seed,
        }
    }

    /// A question.
    pub(crate) fn posed(posed: &Posed, tab: &TabStyle) -> Self {
        let Posed { number, of, attempt, sounded, .. } = *posed;
        Self::Posed { question: number, of, attempt, sounded, words: words::posed(posed, tab) }
    }

    /// What came of it.
    pub(crate) fn answered(answered: &Answered, tab: &TabStyle) -> Self {
        let figures = match &answered.answer {
            Answer::Held(held) => held.verdict.figures,
            Answer::Nothing | Answer::Notes(_) => None,
        };
        let is_bend = matches!(answered.question.asks, Asks::Depth(_));
        Self::Answered {
            question: answered.question.number,
            attempt: answered.question.attempt,
            result: match answered.result {
                Result::Right => "right",
                Result::Wrong => "wrong",
                Result::CannotTell(_) => "cannot_tell",
                Result::Passed => "passed",
            },
            asked: asked(answered, tab),
            played: played(answered, tab),
            cents_off: figures.map(|figures| tenths(figures.cents_off)),
            spread_cents: figures.map(|figures| tenths(figures.spread_cents)),
            depth_semitones: figures.filter(|_| is_bend).map(|figures| figures.depth_semitones),
            ended_s: answered.ended.seconds(),
            words: words::verdict(answered, tab),
        }
    }

    /// The end.
    pub(crate) fn end(by_ear: &ByEar, complete: bool) -> Self {
        let (right, answered) = by_ear.score();
        Self::End { right, answered, complete, words: words::line(by_ear.plan(), (right, answered)) }
    }

    /// The line as a sentence.
    pub(crate) fn sentence(&self) -> String {
        match self {
            Self::Plan { title, harp, questions, seed, .. } => {
                let many =
                    if *questions == 1 { "1 question".to_owned() } else { format!("{questions} questions") };
                format!("by ear: {title}, {harp} harp, {many}, seed {seed}")
            }
            Self::Posed { question, of, attempt, words, .. } => {
                let again = if *attempt > 1 { format!(", asked for time {attempt}") } else { String::new() };
                format!("question: {question} of {of}{again}: {words}")
            }
            Self::Answered { question, words, cents_off, spread_cents, .. } => {
                let figures = match (cents_off, spread_cents) {
                    (Some(off), Some(spread)) => format!("; {off:+.1} cents, spread {spread:.1} cents"),
                    _ => String::new(),
                };
                format!("answer: {question}: {words}{figures}")
            }
            Self::End { complete, words, .. } => {
                let end = if *complete { "done" } else { "ended before the last question" };
                format!("end: {end}, {words}")
            }
        }
    }
}

fn asked(answered: &Answered, tab: &TabStyle) -> Vec<NoteLine> {
    let note = |wanted: &Wanted| NoteLine {
        tab: tab.print(wanted.way),
        note: answered.plan.key.written(wanted.note),
        degree: wanted.degree.to_string(),
    };
    answered.question.asks.all_wanted().iter().map(note).collect()
}

fn played(answered: &Answered, tab: &TabStyle) -> Vec<PlayedLine> {
    let line = |note: &NoteAnswer| PlayedLine {
        is: match note.is {
            NoteIs::Right => "right",
            NoteIs::Other => "other",
            NoteIs::Missing => "missing",
            NoteIs::Extra => "extra",
        },
        wanted: note.wanted.map(|wanted| tab.print(wanted.way)),
        tab: note.played.map(|(_, way)| tab.print(way)),
        note: note.played.map(|(note, _)| answered.plan.key.written(note)),
        cents: note.cents.map(tenths),
    };
    match &answered.answer {
        Answer::Nothing => Vec::new(),
        Answer::Notes(notes) => notes.iter().map(line).collect(),
        Answer::Held(held) => {
            let wanted = answered.question.asks.wanted();
            let way = held.played.and_then(|note| answered.harp.ways_to(note).into_iter().next());
            vec![PlayedLine {
                is: if answered.result == Result::Right { "right" } else { "other" },
                wanted: wanted.map(|wanted| tab.print(wanted.way)),
                tab: way.map(|way| tab.print(way)),
                note: held.played.map(|note| answered.plan.key.written(note)),
                cents: None,
            }]
        }
    }
}
