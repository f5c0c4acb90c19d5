//! What is said of a run in words.

use crate::words;
use crate::{Look, chord_words, parts};
use layout::{Breath, Harp};
use practice::RunJudged;
use practice::run::{RunPhase, Running};
use scoring::timed::{Change, NoteVerdict, Timing, Window};
use scoring::{Outcome, Tolerance, Why};

/// The beat of the bar that sounds now, counted from 0, while it counts in or goes.
pub(super) fn beat(running: &Running) -> Option<u32> {
    let (beat_s, beats) = (running.tempo().beat_s(), running.rhythm().metre.beats());
    let since_bar = match running.phase() {
        RunPhase::CountIn => running.count_in_s() - running.to_go_s()?,
        RunPhase::Playing | RunPhase::Model => running.now()?,
        _ => return None,
    };
    (since_bar >= 0.0).then(|| (since_bar / beat_s) as u32 % beats)
}

/// Where the run stands.
pub(super) fn state(running: &Running) -> String {
    match running.phase() {
        RunPhase::Model => "listen: it is played to you".to_owned(),
        RunPhase::Waiting => "play when you like".to_owned(),
        RunPhase::CountIn if beat(running).is_none() => "get ready".to_owned(),
        RunPhase::CountIn => "count-in".to_owned(),
        RunPhase::Playing => {
            let bars = running.plan().material.bars();
            let bar_s = running.rhythm().bar_s();
            let bar = running.now().map_or(0, |now| (now.max(0.0) / bar_s) as usize + 1);
            if bar > bars { "the last notes".to_owned() } else { format!("bar {bar} of {bars}") }
        }
        RunPhase::Paused => "paused".to_owned(),
        RunPhase::Shown => format!("the next run, at {}, comes by itself", running.next_tempo()),
        RunPhase::Held => format!("held; the next run is at {}", running.next_tempo()),
        RunPhase::Done => "done".to_owned(),
        RunPhase::Left => "left early".to_owned(),
    }
}

/// What is known while a run goes on: the run before it, and against what early and late count.
pub(super) fn meanwhile(running: &Running) -> Vec<String> {
    let before = running.results().last().map(|judged| {
        let (whole, clean) = (judged.verdict.whole, clean(judged));
        format!(
            "run {} at {}: {} of {} right, {clean}",
            judged.number, judged.rhythm.tempo, whole.right, whole.asked
        )
    });
    let middle = (running.is_timed() && !running.delay_is_known()).then_some(OWN_MIDDLE);
    before.into_iter().chain(middle.map(str::to_owned)).collect()
}

const OWN_MIDDLE: &str = "early and late count from the run's own middle";

fn clean(judged: &RunJudged) -> &'static str {
    if judged.verdict.whole.clean { "clean" } else { "not clean" }
}

/// What a run comes to, the most important first.
pub(super) fn sentences(running: &Running, judged: &RunJudged, look: &Look) -> Vec<String> {
    let verdict = &judged.verdict;
    let timed = verdict.whole.timed;
    let mut lines = vec![if timed { score(judged) } else { score_in_free_time(judged) }];
    if timed && verdict.whole.played > 0 {
        lines.push(format!("{}; {}", as_a_whole(running, judged), tempo(running)));
    }
    lines.push(verdict.advice(|way| look.tab(way)));
    let window = Window::of_notes(verdict.notes.iter().map(|note| note.asked.length_s));
    let weak: Vec<String> = verdict.weakest.iter().map(|weak| change(weak, window, look)).collect();
    if !weak.is_empty() {
        lines.push(format!("weak: {}", weak.join("; ")));
    }
    let more: Vec<String> = [steps(judged), swing(judged), breath(judged)].into_iter().flatten().collect();
    if !more.is_empty() {
        lines.push(more.join("; "));
    }
    lines
}

fn score(judged: &RunJudged) -> String {
    let (whole, tempo, clean) = (&judged.verdict.whole, judged.rhythm.tempo, clean(judged));
    let spread = whole.spread_s.map(|s| format!(", spread {} ms", milliseconds(s))).unwrap_or_default();
    let (pitch, time) = (whole.in_pitch, whole.in_time);
    let (how, hidden) = (how(judged), hidden(judged));
    format!("of {} right at {tempo}, {clean}: {pitch} {how}, {time} in time{spread}{hidden}", whole.asked)
}

fn score_in_free_time(judged: &RunJudged) -> String {
    let (how, hidden) = (how(judged), hidden(judged));
    format!("of {} right {how}, in your own time{hidden}", judged.verdict.whole.asked)
}

/// What notes are judged by, and what chords.
fn how(judged: &RunJudged) -> &'static str {
    if judged.verdict.is_of_chords() { "by their reeds" } else { "in pitch" }
}

/// How many more there were that the band may have hidden.
fn hidden(judged: &RunJudged) -> String {
    match judged.verdict.whole.masked {
        0 => String::new(),
        notes => format!("; {notes} more cannot be told"),
    }
}

/// How late the run was as a whole where that is known, or else what early and late are counted from.
fn as_a_whole(running: &Running, judged: &RunJudged) -> String {
    match judged.verdict.whole.late_s.filter(|_| running.delay_is_known()) {
        Some(late) => format!("as a whole {}", off_beat(milliseconds(late.abs()), late)),
        None => OWN_MIDDLE.to_owned(),
    }
}

/// How even the steps from note to note are.
fn steps(judged: &RunJudged) -> Option<String> {
    judged.verdict.whole.uneven_s.map(|s| format!("steps even to {} ms", milliseconds(s)))
}

/// Below this swing ratio, straight notes count as straight: straight playing strays so far. Common
/// practice, no source.
const SWUNG: f64 = 1.3;

/// How far the notes were swung, where they were to be, or plainly are.
fn swing(judged: &RunJudged) -> Option<String> {
    let asked = judged.rhythm.swing.ratio();
    let played = judged.swing().filter(|played| asked > 1.0 || *played >= SWUNG)?;
    let asked = if asked > 1.0 { format!("{}:1", hundredths(asked)) } else { "straight".to_owned() };
    Some(format!("swung {}:1, asked {asked}", hundredths(played)))
}

fn hundredths(ratio: f64) -> f64 {
    (ratio * 100.0).round() / 100.0
}

/// A stretch on one breath shorter than this needs no word, seconds. Common practice, no source.
const LONG_BREATH_S: f64 = 3.0;

/// The longest stretch on one breath, and what to do before it.
fn breath(judged: &RunJudged) -> Option<String> {
    let breaths = &judged.verdict.breaths;
    let way = breaths.longest.filter(|_| breaths.longest_s >= LONG_BREATH_S)?;
    let before = match way {
        Breath::Draw => "out",
        Breath::Blow => "in",
    };
    let (seconds, bar) = ((breaths.longest_s * 10.0).round() / 10.0, breaths.longest_from_bar + 1);
    Some(format!("{seconds} s of {} from bar {bar}: breathe {before} before it", way.word()))
}

/// The fastest tempo that is clean, or that a pause would do more than another run.
fn tempo(running: &Running) -> String {
    let at = running.tempo();
    match running.ladder().clean_bpm() {
        _ if running.ladder().is_tired() => "the runs get worse: time for a pause".to_owned(),
        Some(bpm) => format!("two of three clean at {bpm}"),
        None if running.results().last().is_some_and(|judged| judged.verdict.whole.clean) => {
            format!("clean once at {at}, two of three make it your tempo")
        }
        None => "no clean tempo yet".to_owned(),
    }
}

/// A weak change: "4 to -4' (2 of 3 wrong, 60 ms late)". How late is told where it was out of time.
fn change(change: &Change, window: Window, look: &Look) -> String {
    let (from, to) = (look.tab(change.from), look.tab(change.to));
    let often = (change.asked > 1).then(|| format!("{} of {} wrong", change.wrong, change.asked));
    let out = change.late_s.filter(|late| late.abs() > window.on_s);
    let late = out.map(|late| off_beat(milliseconds(late.abs()), late));
    let why: Vec<String> = often.into_iter().chain(late).collect();
    if why.is_empty() { format!("{from} to {to}") } else { format!("{from} to {to} ({})", why.join(", ")) }
}

fn milliseconds(seconds: f64) -> i64 {
    (seconds * 1000.0).round() as i64
}

fn off_beat(ms: i64, late_s: f64) -> String {
    match ms {
        0 => "on the beat".to_owned(),
        ms if late_s < 0.0 => format!("{ms} ms early"),
        ms => format!("{ms} ms late"),
    }
}

/// The sign before what came of a note: flat and early are left, sharp and late are right.
pub(super) fn sign(note: &NoteVerdict, look: &Look) -> char {
    let glyphs = &look.glyphs;
    // A chord whose breath was right is placed by its time, even where its holes cannot be told.
    let pitch = note.pitch.or(note.chord.filter(|_| note.pitch_is_right()).map(|_| Outcome::Landed));
    match (pitch, note.timing) {
        (Some(Outcome::CannotTell(_)), _) => glyphs.unknown,
        (Some(Outcome::Landed), Some(Timing::Early)) => glyphs.flat,
        (Some(Outcome::Landed), Some(Timing::Late)) => glyphs.sharp,
        (Some(Outcome::Landed), Some(Timing::Tight)) => glyphs.centred,
        (Some(Outcome::Landed), _) => glyphs.in_tune,
        (Some(Outcome::AnotherNote(..)) | None, _) => glyphs.missed,
        (Some(_), _) => match note.cents {
            Some(off) if off < 0.0 => glyphs.flat,
            Some(_) => glyphs.sharp,
            None => glyphs.missed,
        },
    }
}

/// What came of a note, in parts: its pitch if that was wrong, its time, and the cents off if its pitch was right.
pub(super) fn verdict(
    note: &NoteVerdict,
    (harp, look): (&Harp, &Look),
    (tolerance, window): (Tolerance, Window),
) -> Vec<String> {
    let missed = |word: &str, by: f64| Some(format!("{word} {}", words::whole(by, tolerance).abs()));
    let pitch = match note.pitch {
        None if note.chord.is_some() => chord_words::in_time(note),
        None => return vec!["missing".to_owned()],
        Some(Outcome::Landed) => None,
        Some(Outcome::AnotherNote(heard, _)) => Some(format!("was {}", words::note(harp, heard))),
        Some(Outcome::CannotTell(Why::TooShort)) => Some("too short to tell".to_owned()),
        Some(outcome @ (Outcome::Short(by) | Outcome::Past(by) | Outcome::Flat(by) | Outcome::Sharp(by))) => {
            missed(outcome.word(), by)
        }
        Some(outcome) => Some(outcome.word().to_owned()),
    };
    let time = note.late_s.zip(note.timing).map(|(late, timing)| time(late, timing, window));
    let landed = note.pitch == Some(Outcome::Landed);
    // A note that is right on pitch needs no number.
    let off = note.cents.filter(|cents| landed && cents.round() != 0.0);
    let lay = off.map(|off| words::whole(off, tolerance)).map(|off| {
        let unit = if off.abs() == 1.0 { "cent" } else { "cents" };
        format!("{} {unit}", look.signed(off))
    });
    pitch.into_iter().chain(time).chain(lay).collect()
}

/// How late, in whole milliseconds, rounded without crossing the edge of the window, so that no number
/// contradicts the sign.
fn time(late_s: f64, timing: Timing, window: Window) -> String {
    let (ms, edge) = (milliseconds(late_s.abs()), (window.on_s * 1000.0).floor() as i64);
    off_beat(if timing.in_time() { ms.min(edge) } else { ms.max(edge + 1) }, late_s)
}

/// The sign and as much of the words as has room.
pub(super) fn row(
    note: &NoteVerdict,
    (harp, look): (&Harp, &Look),
    within: (Tolerance, Window),
    room: i32,
) -> String {
    let said = verdict(note, (harp, look), within);
    let mut text = sign(note, look).to_string();
    for (i, part) in said.iter().enumerate() {
        let more = if i == 0 { format!(" {part}") } else { format!(", {part}") };
        if i > 0 && crate::pen::width(&text) + crate::pen::width(&more) > room {
            break;
        }
        text.push_str(&more);
    }
    parts::cut(&text, room)
}
