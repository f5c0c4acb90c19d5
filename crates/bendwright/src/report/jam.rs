//! Lines for what was played over a form.

use super::tenths;
use layout::{Breath, Harp, TabStyle};
use practice::jam::{ChorusOver, Clash, Form, HeldClash, Is, JamNote, JamOver, JamPlan, Met, Tally};
use screen::{jam_words, words};
use serde::Serialize;
use theory::NoteName;

/// What happened in a jam. Bars count from 1 in each chorus; the bar on which it ends is one more of the last chorus.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub(crate) enum JamLine {
    /// Over what is played.
    Plan {
        title: String,
        feel: &'static str,
        tempo: f64,
        metre: String,
        harp: String,
        scale: String,
        /// The chords of each bar.
        chords: Vec<String>,
        /// `null` for until the player leaves.
        choruses: Option<u32>,
    },
    /// A note, when it is over.
    Note {
        chorus: usize,
        bar: usize,
        beat: f64,
        beats: f64,
        began_s: f64,
        tab: Vec<String>,
        note: String,
        /// Cents from where the simplest way is in tune; `null` where no pitch was held.
        cents: Option<f64>,
        /// The chord under it; `null` where that cannot be told.
        chord: Option<String>,
        /// Its degree in the key; `null` where its pitch cannot be told.
        degree: Option<String>,
        /// Its degree above the root of the chord; `null` where it is none of its notes, or that cannot be told.
        chord_degree: Option<String>,
        /// `null` where it cannot be told.
        in_chord: Option<bool>,
        /// `null` where it cannot be told.
        in_scale: Option<bool>,
        /// `clash` or `blue_note` of a note that was held for longer than a beat beside a note of a chord.
        held: Option<Clash>,
        words: String,
    },
    /// A chorus that is over.
    Chorus {
        chorus: u32,
        #[serde(flatten)]
        tally: TallyLine,
    },
    /// The jam is over, or was left.
    End {
        choruses: u32,
        complete: bool,
        #[serde(flatten)]
        tally: TallyLine,
        /// The notes of the scale within the player's ability that were not played, as tab.
        unused: Vec<String>,
    },
}

/// What some bars come to.
#[derive(Debug, Serialize)]
pub(crate) struct TallyLine {
    notes: usize,
    of_chord: usize,
    of_scale: usize,
    outside: usize,
    cannot_tell: usize,
    changes: Vec<ChangeLine>,
    held: Vec<HeldLine>,
    blow_s: f64,
    draw_s: f64,
    either_s: f64,
    longest_breath_s: Option<f64>,
    longest_breath: Option<&'static str>,
    words: Vec<String>,
}

/// A change of chord.
#[derive(Debug, Serialize)]
struct ChangeLine {
    chorus: usize,
    bar: usize,
    beat: f64,
    chord: String,
    /// `of_chord`, `other`, `rest`, `cannot_tell`.
    met: &'static str,
    /// The degree above the root of the note of the new chord that sounded.
    chord_degree: Option<String>,
}

/// A note that was held beside a note of the chord.
#[derive(Debug, Serialize)]
struct HeldLine {
    chorus: usize,
    bar: usize,
    beat: f64,
    tab: String,
    chord: String,
    held: Clash,
}

impl JamLine {
    /// Over what is played.
    pub(crate) fn plan(plan: &JamPlan, harp: &Harp) -> Self {
        let form = &plan.form;
        let symbols = |bar| form.chords(bar).iter().map(|chord| chord.symbol.clone()).collect::<Vec<_>>();
        Self::Plan {
            title: form.title.clone(),
            feel: plan.feel.name(),
            tempo: plan.rhythm.tempo.bpm(),
            metre: plan.rhythm.metre.to_string(),
            harp: harp.key().to_string(),
            scale: plan.scale.title(),
            chords: (0..form.bars()).map(|bar| symbols(bar).join(" ")).collect(),
            choruses: form.choruses(),
        }
    }

    /// A note that is over.
    pub(crate) fn note(note: &JamNote, plan: &JamPlan, tab: &TabStyle) -> Self {
        let (chorus, bar) = jam_words::place(&plan.form, note.bar);
        let name: NoteName = plan.scale.name_of(note.played.note.pitch_class());
        let (chord_degree, in_chord) = match note.is {
            Is::OfChord(degree) => (Some(degree.to_string()), Some(true)),
            Is::OfScale | Is::Outside => (None, Some(false)),
            Is::CannotTell => (None, None),
        };
        Self::Note {
            chorus,
            bar,
            beat: hundredths(note.beat),
            beats: hundredths(note.beats),
            began_s: note.played.onset_s,
            tab: note.ways.iter().map(|way| tab.print(*way)).collect(),
            note: name.with_octave(note.played.note),
            cents: note.cents.map(tenths),
            chord: note.chord.clone(),
            degree: note.degree.map(|degree| degree.to_string()),
            chord_degree,
            in_chord,
            in_scale: note.in_scale,
            held: note.clash.as_ref().map(|(clash, _)| *clash),
            words: jam_words::is(note),
        }
    }

    /// A chorus that is over.
    pub(crate) fn chorus(over: &ChorusOver, plan: &JamPlan, tab: &TabStyle) -> Self {
        let tally =
            TallyLine::new(&over.tally, jam_words::tally(&over.tally, &plan.form, tab), (&plan.form, tab));
        Self::Chorus { chorus: over.number, tally }
    }

    /// The jam is over.
    pub(crate) fn end(over: &JamOver, tab: &TabStyle) -> Self {
        let form = &over.plan.form;
        Self::End {
            choruses: over.choruses,
            complete: form.choruses() == Some(over.choruses),
            tally: TallyLine::new(&over.tally, jam_words::sentences(over, tab), (form, tab)),
            unused: over.unused.iter().map(|way| tab.print(*way)).collect(),
        }
    }

    /// The line as a sentence.
    pub(crate) fn sentence(&self) -> String {
        match self {
            Self::Plan { title, feel, tempo, metre, harp, scale, chords, choruses } => {
                let often = match choruses {
                    Some(1) => "once".to_owned(),
                    Some(choruses) => format!("{choruses} choruses"),
                    None => "until you leave".to_owned(),
                };
                let chords = chords.join(" | ");
                format!("jam: {title}, {harp} harp, {feel} at {tempo}, {metre}, {scale}, {often}: {chords}")
            }
            Self::Note { chorus, bar, beat, beats, tab, note, cents, words, held, .. } => {
                let tab = if tab.is_empty() { "not on this harp".to_owned() } else { tab.join(" or ") };
                let off = cents.map(|cents| format!(", {}", words::off(cents))).unwrap_or_default();
                let held = match held {
                    Some(Clash::Clash) => ", held against the chord",
                    Some(Clash::BlueNote) => ", a blue note held",
                    None => "",
                };
                format!(
                    "note: chorus {chorus}, bar {bar}, beat {beat:.2}, {beats:.2} beats long: {tab}, {note}, {words}{off}{held}"
                )
            }
            Self::Chorus { chorus, tally } => format!("chorus {chorus}: {}", tally.words.join("; ")),
            Self::End { choruses, complete, tally, .. } => {
                let end = if *complete { "done" } else { "ended before the last chorus was over" };
                let choruses = jam_words::choruses(*choruses);
                format!("end: {end}, {choruses}; {}", tally.words.join("; "))
            }
        }
    }
}

impl TallyLine {
    fn new(tally: &Tally, words: Vec<String>, (form, tab): (&Form, &TabStyle)) -> Self {
        let change = |change: &practice::jam::Change| {
            let (chorus, bar) = jam_words::place(form, change.bar);
            let (met, degree) = match change.met {
                Met::OfChord(degree) => ("of_chord", Some(degree)),
                Met::Other => ("other", None),
                Met::Rest => ("rest", None),
                Met::CannotTell => ("cannot_tell", None),
            };
            let chord_degree = degree.map(|degree| degree.to_string());
            ChangeLine {
                chorus,
                bar,
                beat: hundredths(change.beat),
                chord: change.chord.clone(),
                met,
                chord_degree,
            }
        };
        Self {
            notes: tally.notes,
            of_chord: tally.of_chord,
            of_scale: tally.of_scale,
            outside: tally.outside,
            cannot_tell: tally.cannot_tell,
            changes: tally.changes.iter().map(change).collect(),
            held: tally.clashes.iter().map(|held| HeldLine::new(held, form, tab)).collect(),
            blow_s: hundredths(tally.blow_s),
            draw_s: hundredths(tally.draw_s),
            either_s: hundredths(tally.either_s),
            longest_breath_s: tally.longest.map(|(_, seconds, _)| hundredths(seconds)),
            longest_breath: tally.longest.map(|(breath, ..): (Breath, _, _)| breath.word()),
            words,
        }
    }
}

impl HeldLine {
    fn new(held: &HeldClash, form: &Form, tab: &TabStyle) -> Self {
        let (chorus, bar) = jam_words::place(form, held.note.bar);
        Self {
            chorus,
            bar,
            beat: hundredths(held.note.beat),
            tab: jam_words::tab(&held.note, tab),
            chord: held.chord.clone(),
            held: held.clash,
        }
    }
}

/// Rounded to hundredths.
fn hundredths(x: f64) -> f64 {
    (x * 100.0).round() / 100.0 + 0.0
}
