//! What is written where there is no full screen: sentences for people, JSON lines for programs.
//!
//! Both come from the same [`Line`], so that both say the same.

mod chords;
mod ear;
mod jam;
mod timed;

use crate::args::Output;
use crate::failure::Failure;
pub(crate) use chords::ChordLine;
use chords::CleanLine;
pub(crate) use ear::EarLine;
pub(crate) use jam::JamLine;
use layout::{Harp, TabStyle};
use practice::{Asked, Drill, Moment, Played, ReedSet, ReedVoice, Session, Tried};
use scoring::{Between, Figures, Outcome};
use screen::words;
use serde::Serialize;
use std::io::{self, Write};
use theory::{Degree, NoteName};
pub(crate) use timed::TimedLine;

/// Version of the JSON lines; it changes when a field changes its meaning or goes.
const SCHEMA: &str = "bendwright/lines/1";

/// One thing that happened.
#[derive(Debug, Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub(crate) enum Line {
    /// A drill begins.
    Drill { title: String, about: String, caution: Option<String>, harp: String, items: usize },
    /// An item is asked for.
    Asked {
        item: usize,
        part: usize,
        attempt: u32,
        tab: String,
        words: String,
        note: String,
        cents: f64,
        hz: f64,
        hold_s: f64,
    },
    /// A try is over.
    Judged(Box<JudgedLine>),
    /// A try that was sounding when the player left.
    Unfinished { item: usize, part: usize, attempt: u32, tab: String, began_s: f64 },
    /// A note that was played freely, when it is over.
    Note {
        began_s: f64,
        seconds: f64,
        note: String,
        hz: f64,
        cents_off: f64,
        tab: Vec<String>,
        degree: String,
        /// Whether nothing but this one reed sounded; nothing where that is not known.
        alone: Option<bool>,
        /// Whether it was still sounding when nobody listened any more.
        unfinished: bool,
    },
    /// Reeds that sounded together, two or more, when that is over.
    Together { began_s: f64, seconds: f64, words: String, reeds: Vec<ReedLine> },
    /// Something of a drill of chords.
    Chord(Box<ChordLine>),
    /// Something of practice on a clock.
    Timed(Box<TimedLine>),
    /// Something of free playing over a form.
    Jam(Box<JamLine>),
    /// Something of questions by ear.
    Ear(Box<EarLine>),
    /// Something about the sound or the settings.
    Notice { message: String },
    /// The end.
    Summary { tries: usize, landed: usize, median_cents: Option<f64>, next: Option<String>, complete: bool },
}

/// A reed of those that sounded together.
#[derive(Debug, Serialize)]
pub(crate) struct ReedLine {
    tab: String,
    words: String,
    hz: f64,
    below_db: f64,
}

/// A judged try in full.
#[derive(Debug, Serialize)]
pub(crate) struct JudgedLine {
    item: usize,
    part: usize,
    attempt: u32,
    tab: String,
    outcome: &'static str,
    sentence: String,
    by_cents: Option<f64>,
    heard: Option<String>,
    began_s: f64,
    ended_s: f64,
    #[serde(flatten)]
    figures: Option<FiguresLine>,
    between: Option<BetweenLine>,
    /// `null` where it was not asked, or the note itself was not played.
    clean: Option<CleanLine>,
}

/// What was measured.
#[derive(Debug, Serialize)]
struct FiguresLine {
    cents_off: f64,
    depth_semitones: f64,
    reach_s: f64,
    held_s: f64,
    spread_cents: f64,
    drift_cents_per_s: f64,
    overshoot_cents: f64,
    sigma_cents: f64,
    level_spread_db: f64,
    hnr_db: f64,
    vibrato_hz: Option<f64>,
    vibrato_cents: Option<f64>,
}

/// Both distances of a pitch between two depths.
#[derive(Debug, Serialize)]
struct BetweenLine {
    shallow: String,
    from_shallow_cents: f64,
    deep: String,
    from_deep_cents: f64,
}

impl Line {
    /// The line that opens a drill.
    pub(crate) fn drill(drill: &Drill, harp: &Harp) -> Self {
        Self::Drill {
            title: drill.title.clone(),
            about: drill.about.clone(),
            caution: drill.caution.clone(),
            harp: harp.key().to_string(),
            items: drill.items.len(),
        }
    }

    /// The line for an item that is asked.
    pub(crate) fn asked(asked: &Asked, harp: &Harp, tab: &TabStyle) -> Self {
        let target = asked.target;
        Self::Asked {
            item: asked.item + 1,
            part: asked.note + 1,
            attempt: asked.attempt,
            tab: tab.print(target.way),
            words: words::ask(target.way),
            note: words::note_of(harp, target.way),
            cents: target.cents,
            hz: target.hz(harp).unwrap_or_default(),
            hold_s: target.hold_s,
        }
    }

    /// The line for a try that is over.
    pub(crate) fn judged(tried: &Tried, tab: &TabStyle) -> Self {
        let (verdict, way) = (&tried.verdict, tried.way());
        Self::Judged(Box::new(JudgedLine {
            item: tried.asked.item + 1,
            part: tried.asked.note + 1,
            attempt: tried.asked.attempt,
            tab: tab.print(way),
            outcome: verdict.outcome.word(),
            sentence: words::verdict(verdict, &tried.harp, way, tried.tolerance),
            by_cents: by_cents(verdict.outcome),
            heard: heard(verdict.outcome, &tried.harp),
            began_s: tried.began.seconds(),
            ended_s: tried.ended.seconds(),
            figures: verdict.figures.map(Into::into),
            between: verdict.between.map(Into::into),
            clean: tried.clean.map(Into::into),
        }))
    }

    /// The line for a try that was sounding when the player left.
    pub(crate) fn unfinished(asked: &Asked, began: Moment, tab: &TabStyle) -> Self {
        Self::Unfinished {
            item: asked.item + 1,
            part: asked.note + 1,
            attempt: asked.attempt,
            tab: tab.print(asked.target.way),
            began_s: began.seconds(),
        }
    }

    /// The line for a note played freely; degrees count from `tonic`.
    pub(crate) fn note(played: &Played, tonic: NoteName, tab: &TabStyle) -> Self {
        let Played { note: played, alone, unfinished, .. } = played;
        let class = played.note.pitch_class();
        Self::Note {
            alone: *alone,
            unfinished: *unfinished,
            began_s: played.began.seconds(),
            seconds: played.seconds(),
            note: tonic.around(class).with_octave(played.note),
            hz: played.hz,
            cents_off: played.cents_off,
            tab: played.ways.iter().map(|way| tab.print(*way)).collect(),
            degree: Degree::usual(tonic.pitch_class().semitones_to(class).into()).to_string(),
        }
    }

    /// The line for reeds that sounded together.
    pub(crate) fn together(set: &ReedSet, tab: &TabStyle) -> Self {
        let reed = |voice: &ReedVoice| ReedLine {
            tab: tab.print(voice.way),
            words: voice.way.to_string(),
            hz: voice.hz,
            below_db: voice.below_db,
        };
        Self::Together {
            began_s: set.began.seconds(),
            seconds: set.ended.since(set.began).unwrap_or_default(),
            words: words::together(set),
            reeds: set.voices.iter().map(reed).collect(),
        }
    }

    /// The line that closes a session.
    pub(crate) fn summary(session: &Session, complete: bool) -> Self {
        let summary = session.summary();
        Self::Summary {
            tries: summary.tries,
            landed: summary.landed,
            median_cents: summary.median_cents_off,
            next: summary.weakest.map(|way| way.to_string()),
            complete,
        }
    }

    /// The line as a sentence.
    pub(crate) fn sentence(&self) -> String {
        match self {
            Self::Drill { title, about, caution, harp, items } => {
                let items = if *items == 1 { "1 item".to_owned() } else { format!("{items} items") };
                let more: String = [about.as_str(), caution.as_deref().unwrap_or_default()]
                    .iter()
                    .filter(|text| !text.is_empty())
                    .fold(String::new(), |more, text| more + " " + text);
                format!("drill: {title}, {harp} harp, {items}.{more}")
            }
            Self::Asked { item, part, attempt, tab, words, note, cents, hz, hold_s } => {
                let item = item_words(*item, *part);
                let offset =
                    if *cents == 0.0 { String::new() } else { format!(", wanted {}", words::off(*cents)) };
                format!(
                    "asked: {item}, try {attempt}: {tab}, {words}{offset}; {note}, {hz:.1} Hz, hold {hold_s} s"
                )
            }
            Self::Judged(line) => line.text(),
            Self::Unfinished { item, part, attempt, tab, .. } => {
                let item = item_words(*item, *part);
                format!("unfinished: {item}, try {attempt}: {tab} was still sounding")
            }
            Self::Note { began_s, seconds, note, cents_off, tab, degree, alone, unfinished, .. } => {
                let tab = if tab.is_empty() { "not on this harp".to_owned() } else { tab.join(" or ") };
                let off = words::off(*cents_off);
                let alone = match alone {
                    Some(true) => ", alone",
                    Some(false) => ", not alone",
                    None => "",
                };
                let end = if *unfinished { ", unfinished" } else { "" };
                format!(
                    "note: {began_s:.2} s, {seconds:.2} s long: {tab}, {note}, degree {degree}, {off}{alone}{end}"
                )
            }
            Self::Together { began_s, seconds, words, .. } => {
                format!("together: {began_s:.2} s, {seconds:.2} s long: {words}")
            }
            Self::Chord(line) => line.sentence(),
            Self::Timed(line) => line.sentence(),
            Self::Jam(line) => line.sentence(),
            Self::Ear(line) => line.sentence(),
            Self::Notice { message } => format!("notice: {message}"),
            Self::Summary { tries, landed, median_cents, next, complete } => {
                let end = if *complete { "done" } else { "ended before the last item" };
                let median =
                    median_cents.map(|c| format!(", usually {} off", words::cents(c))).unwrap_or_default();
                let next = next.as_ref().map(|way| format!("; work next on {way}")).unwrap_or_default();
                format!("summary: {end}, {landed} of {tries} landed{median}{next}")
            }
        }
    }
}

/// Which item, and which note of a joined one: "item 2", "item 2, note 3".
fn item_words(item: usize, part: usize) -> String {
    if part > 1 { format!("item {item}, note {part}") } else { format!("item {item}") }
}

impl JudgedLine {
    fn text(&self) -> String {
        let Self { item, part, attempt, tab, sentence, .. } = self;
        let item = item_words(*item, *part);
        let figures = self.figures.as_ref().map(FiguresLine::text).unwrap_or_default();
        let between = self.between.as_ref().map(BetweenLine::text).unwrap_or_default();
        let clean = self.clean.as_ref().map(CleanLine::text).unwrap_or_default();
        format!("judged: {item}, try {attempt}: {tab}: {sentence}{clean}{figures}{between}")
    }
}

impl FiguresLine {
    fn text(&self) -> String {
        let Self { cents_off, depth_semitones, reach_s, held_s, spread_cents, .. } = self;
        let Self { drift_cents_per_s, overshoot_cents, .. } = self;
        let vibrato = match (self.vibrato_hz, self.vibrato_cents) {
            (Some(hz), Some(cents)) => {
                format!(", vibrato {hz:.1} a second, {} either side", words::cents(cents))
            }
            _ => String::new(),
        };
        let Self { level_spread_db, hnr_db, .. } = self;
        let (cents_off, drift_cents_per_s) = (tenths(*cents_off), tenths(*drift_cents_per_s));
        format!(
            "; {cents_off:+.1} cents, depth {depth_semitones:.2} half steps, reached in {reach_s:.2} s, \
             held {held_s:.2} s, spread {spread_cents:.1} cents, drift {drift_cents_per_s:+.1} cents a second, \
             overshoot {}, level within {level_spread_db:.1} dB, tone {hnr_db:.0} dB above \
             breath{vibrato}",
            words::cents(*overshoot_cents)
        )
    }
}

/// Rounded to tenths, so that a value near zero is printed as 0 and not as −0.0.
fn tenths(x: f64) -> f64 {
    (x * 10.0).round() / 10.0 + 0.0
}

impl BetweenLine {
    fn text(&self) -> String {
        let Self { shallow, from_shallow_cents, deep, from_deep_cents } = self;
        format!(
            "; it lay {from_shallow_cents:.1} cents below {shallow} and {from_deep_cents:.1} cents above {deep}"
        )
    }
}

impl From<Figures> for FiguresLine {
    fn from(f: Figures) -> Self {
        Self {
            cents_off: f.cents_off,
            depth_semitones: f.depth_semitones,
            reach_s: f.reach_s,
            held_s: f.held_s,
            spread_cents: f.spread_cents,
            drift_cents_per_s: f.drift_cents_per_s,
            overshoot_cents: f.overshoot_cents,
            sigma_cents: f.sigma_cents,
            level_spread_db: f.level_spread_db,
            hnr_db: f.hnr_db,
            vibrato_hz: f.vibrato.map(|vibrato| vibrato.rate_hz),
            vibrato_cents: f.vibrato.map(|vibrato| vibrato.depth_cents),
        }
    }
}

impl From<Between> for BetweenLine {
    fn from(b: Between) -> Self {
        Self {
            shallow: b.shallow.to_string(),
            from_shallow_cents: b.from_shallow_cents,
            deep: b.deep.to_string(),
            from_deep_cents: b.from_deep_cents,
        }
    }
}

fn by_cents(outcome: Outcome) -> Option<f64> {
    match outcome {
        Outcome::Short(by) | Outcome::Past(by) | Outcome::Flat(by) | Outcome::Sharp(by) => Some(by),
        _ => None,
    }
}

fn heard(outcome: Outcome, harp: &Harp) -> Option<String> {
    match outcome {
        Outcome::AnotherNote(note, _) => Some(words::note(harp, note)),
        _ => None,
    }
}

/// Writes lines to standard output, each at once, so that a reader at the other end of a pipe keeps up.
pub(crate) struct Report {
    json: bool,
    failed: Option<io::Error>,
}

#[derive(Serialize)]
struct WithSchema<'a> {
    schema: &'static str,
    #[serde(flatten)]
    line: &'a Line,
}

impl Report {
    /// A report in the form asked for; `None` if the full screen is wanted.
    pub(crate) fn new(output: Output) -> Option<Self> {
        output.is_text().then_some(Self { json: output.json, failed: None })
    }

    /// Writes a notice, if there is one.
    pub(crate) fn notice(&mut self, message: Option<String>) {
        if let Some(message) = message {
            self.say(&Line::Notice { message });
        }
    }

    /// Writes a line. The first fault ends the writing and is told by [`Report::check`].
    pub(crate) fn say(&mut self, line: &Line) {
        if self.failed.is_none() {
            self.failed = self.write(line).err();
        }
    }

    fn write(&self, line: &Line) -> io::Result<()> {
        let text = if self.json {
            serde_json::to_string(&WithSchema { schema: SCHEMA, line })?
        } else {
            line.sentence()
        };
        let mut out = io::stdout().lock();
        writeln!(out, "{text}")?;
        out.flush()
    }

    /// Whether everything could be written so far.
    ///
    /// # Errors
    /// The first fault.
    pub(crate) fn check(&mut self) -> Result<(), Failure> {
        self.failed.take().map_or(Ok(()), |error| Err(error.into()))
    }
}
