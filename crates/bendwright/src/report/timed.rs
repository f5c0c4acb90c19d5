//! Lines for what was played in time.

use super::tenths;
use layout::{Harp, TabStyle, Way};
use practice::RunJudged;
use practice::run::Plan;
use scoring::timed::{Change, NoteVerdict, Timing};
use screen::{chord_words, words};
use serde::Serialize;

/// What happened in practice on a clock.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub(crate) enum TimedLine {
    /// What is to be played.
    Plan {
        title: String,
        rhythm: String,
        harp: String,
        notes: usize,
        bars: usize,
        runs: u32,
        tab: Vec<String>,
        /// The chords of each bar; empty if nothing says over what it is played.
        chords: Vec<String>,
        /// Whether each note goes on from the one before without a new attack.
        joined: Vec<bool>,
    },
    /// It is played to the player on the loudspeaker, before the run.
    Model { tempo: f64 },
    /// A note of a run that is over.
    Note {
        run: u32,
        bar: usize,
        tab: String,
        note: String,
        asked_s: f64,
        /// `null` where it was not played.
        played_s: Option<f64>,
        /// `null` where it was not played.
        late_ms: Option<f64>,
        timing: Option<Timing>,
        /// Cents from where the way is in tune; `null` where no pitch was held near it.
        cents: Option<f64>,
        outcome: &'static str,
        /// What was not right about the reeds of a chord, or could not be told; `null` of a note, and where they were
        /// right.
        reeds: Option<String>,
        /// Whether it was right in pitch and in time.
        right: bool,
    },
    /// A note that nobody asked for.
    Extra { run: u32, note: String, played_s: f64 },
    /// A run that is over.
    Run {
        run: u32,
        tempo: f64,
        asked: usize,
        played: usize,
        in_pitch: usize,
        /// Whether it was of chords, which are right by their reeds and not by a pitch.
        chords: bool,
        /// `null` where there was no beat.
        in_time: Option<usize>,
        right: usize,
        /// Notes that were asked besides, and that the band may have hidden.
        cannot_tell: usize,
        /// How late the run was as a whole; `null` where the delay of the machine was never measured.
        late_ms: Option<f64>,
        spread_ms: Option<f64>,
        /// The tempo that was played, beats a minute.
        played_tempo: Option<f64>,
        /// By how many per cent the second half was faster than the first; `null` of few notes.
        drift_percent: Option<f64>,
        /// How far the steps from note to note stray.
        uneven_ms: Option<f64>,
        /// How long the first of two notes was against the second; `null` where notes do not come in pairs.
        swing: Option<f64>,
        clean: bool,
        weakest: Vec<ChangeLine>,
        blow_s: f64,
        draw_s: f64,
        longest_breath_s: f64,
        longest_breath_bar: usize,
        advice: String,
    },
    /// All runs are over, or were left.
    End { runs: usize, clean_tempo: Option<f64>, complete: bool },
}

/// A change from note to note.
#[derive(Debug, Serialize)]
pub(crate) struct ChangeLine {
    from: String,
    to: String,
    asked: usize,
    wrong: usize,
    late_ms: Option<f64>,
}

impl TimedLine {
    /// What is to be played.
    pub(crate) fn plan(plan: &Plan, harp: &Harp, tab: &TabStyle) -> Self {
        Self::Plan {
            title: plan.material.name.title.clone(),
            rhythm: plan.material.rhythm.words(),
            harp: harp.key().to_string(),
            notes: plan.material.notes().len(),
            bars: plan.material.bars(),
            runs: plan.runs,
            tab: plan
                .material
                .notes()
                .iter()
                .map(|note| chord_words::tab_in_time(note.ways(), |way| tab.print(way)))
                .collect(),
            chords: chords(plan),
            joined: plan.material.notes().iter().map(|note| note.joined).collect(),
        }
    }

    /// The lines of a run that is over: its notes, what was played besides, and the whole.
    pub(crate) fn of(judged: &RunJudged, tab: &TabStyle) -> Vec<Self> {
        let notes = judged.verdict.notes.iter().map(|note| Self::note(note, judged, tab));
        let extra = judged.verdict.extra.iter().map(|extra| Self::Extra {
            run: judged.number,
            note: if extra.chord.is_some() {
                "a chord".to_owned()
            } else {
                words::note(&judged.harp, extra.note)
            },
            played_s: extra.onset_s,
        });
        notes.chain(extra).chain([Self::run(judged, tab)]).collect()
    }

    fn note(note: &NoteVerdict, judged: &RunJudged, tab: &TabStyle) -> Self {
        Self::Note {
            run: judged.number,
            bar: note.asked.bar + 1,
            tab: chord_words::tab_in_time(note.asked.ways(), |way| tab.print(way)),
            note: words::note_of(&judged.harp, note.asked.way),
            asked_s: note.asked.onset_s,
            played_s: note.played.map(|played| played.onset_s),
            late_ms: note.late_s.map(milliseconds),
            timing: note.timing,
            cents: note.cents,
            outcome: note.word(),
            reeds: chord_words::in_time(note),
            right: note.is_right(),
        }
    }

    fn run(judged: &RunJudged, tab: &TabStyle) -> Self {
        let verdict = &judged.verdict;
        let whole = verdict.whole;
        Self::Run {
            run: judged.number,
            tempo: judged.rhythm.tempo.bpm(),
            asked: whole.asked,
            played: whole.played,
            in_pitch: whole.in_pitch,
            chords: verdict.is_of_chords(),
            in_time: whole.timed.then_some(whole.in_time),
            right: whole.right,
            cannot_tell: whole.masked,
            late_ms: whole.late_s.map(milliseconds),
            spread_ms: whole.spread_s.map(milliseconds),
            played_tempo: whole.rushing.map(|faster| tenths(judged.rhythm.tempo.bpm() * (1.0 + faster))),
            drift_percent: whole.drift.map(|drift| tenths(100.0 * drift.share)),
            uneven_ms: whole.uneven_s.map(milliseconds),
            swing: judged.swing().map(|ratio| (ratio * 100.0).round() / 100.0),
            clean: whole.clean,
            weakest: verdict.weakest.iter().map(|change| ChangeLine::new(change, tab)).collect(),
            blow_s: verdict.breaths.blow_s,
            draw_s: verdict.breaths.draw_s,
            longest_breath_s: verdict.breaths.longest_s,
            longest_breath_bar: verdict.breaths.longest_from_bar + 1,
            advice: verdict.advice(|way: Way| tab.print(way)),
        }
    }

    /// The line as a sentence.
    pub(crate) fn sentence(&self) -> String {
        match self {
            Self::Plan { title, rhythm, harp, notes, bars, runs, tab, chords, joined } => {
                let said = tab.iter().zip(joined);
                let said = said.map(|(tab, joined)| format!("{}{tab}", if *joined { "to " } else { "" }));
                let times = match runs {
                    1 => "once".to_owned(),
                    2 => "twice".to_owned(),
                    runs => format!("{runs} times"),
                };
                let notes = if *notes == 1 { "1 note".to_owned() } else { format!("{notes} notes") };
                let bars = if *bars == 1 { "1 bar".to_owned() } else { format!("{bars} bars") };
                let over =
                    if chords.is_empty() { String::new() } else { format!(", over {}", chords.join(" | ")) };
                format!(
                    "in time: {title}, {harp} harp, {rhythm}, {notes} in {bars}, {times}{over}: {}",
                    said.collect::<Vec<_>>().join(" ")
                )
            }
            Self::Model { tempo } => format!("listen first: it is played on the loudspeaker at {tempo}"),
            Self::Note { run, bar, tab, asked_s, late_ms, timing, cents, outcome, reeds, .. } => {
                let when = match (late_ms, timing) {
                    (Some(late), Some(timing)) => format!(", {}", words::timing(*timing, late / 1000.0)),
                    _ => String::new(),
                };
                let cents = cents.map_or(String::new(), |cents| format!(", {}", words::off(cents)));
                let came = reeds.as_deref().unwrap_or(outcome);
                format!("note: run {run}, bar {bar}, {asked_s:.2} s: {tab}: {came}{cents}{when}")
            }
            Self::Extra { run, note, played_s } => {
                format!("extra: run {run}, {played_s:.2} s: {note}, which was not asked for")
            }
            Self::Run {
                run,
                tempo,
                played_tempo,
                asked,
                right,
                cannot_tell,
                in_pitch,
                chords,
                in_time,
                late_ms,
                spread_ms,
                clean,
                advice,
                ..
            } => {
                let clean = if *clean { "clean" } else { "not clean" };
                let in_time = match (in_time, played_tempo) {
                    (Some(notes), _) => format!(", {notes} in time"),
                    (None, Some(tempo)) => format!(", played at {tempo}"),
                    (None, None) => String::new(),
                };
                let spread = spread_ms.map_or(String::new(), |ms| format!(", spread {ms:.0} ms"));
                let hidden = hidden(*cannot_tell);
                let late = late_ms.map_or(String::new(), |ms| format!(", as a whole {:+.0} ms", tenths(ms)));
                format!(
                    "run {run} at {tempo}: {clean}, {right} of {asked} right, {in_pitch} {}{in_time}{late}{spread}{hidden}; {advice}",
                    by_what(*chords)
                )
            }
            Self::End { runs, clean_tempo, complete } => {
                let end = if *complete { "done" } else { "left early" };
                let clean = clean_tempo.map_or(String::new(), |bpm| format!("; clean at {bpm}"));
                let runs = if *runs == 1 { "1 run".to_owned() } else { format!("{runs} runs") };
                format!("summary: {end}, {runs}{clean}")
            }
        }
    }
}

/// The chords of each bar; none if no bar has any.
fn chords(plan: &Plan) -> Vec<String> {
    let bar = |bar| {
        let symbols: Vec<&str> = plan.chords_of_bar(bar).into_iter().map(|(symbol, _)| symbol).collect();
        symbols.join(" ")
    };
    let bars: Vec<String> = (0..plan.material.bars()).map(bar).collect();
    if bars.iter().all(String::is_empty) { Vec::new() } else { bars }
}

impl ChangeLine {
    fn new(change: &Change, tab: &TabStyle) -> Self {
        Self {
            from: tab.print(change.from),
            to: tab.print(change.to),
            asked: change.asked,
            wrong: change.wrong,
            late_ms: change.late_s.map(milliseconds),
        }
    }
}

/// How many notes there were that the band may have hidden.
fn hidden(notes: usize) -> String {
    if notes == 0 { String::new() } else { format!(", {notes} more cannot be told") }
}

/// By what notes are right, and by what chords.
fn by_what(chords: bool) -> &'static str {
    if chords { "by their reeds" } else { "in pitch" }
}

/// Milliseconds, to the tenth: an ear that is 1 ms exact says no more.
fn milliseconds(seconds: f64) -> f64 {
    (seconds * 10_000.0).round() / 10.0 + 0.0
}
