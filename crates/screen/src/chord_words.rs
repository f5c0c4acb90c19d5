//! What is said about chords, and about notes that were to sound alone.

use crate::Look;
use layout::{Breath, Way};
use practice::ChordSummary;
use scoring::reeds::{Clean, Holes, ReedsOutcome, ReedsTarget, ReedsVerdict};
use scoring::timed::{AskedNote, NoteVerdict};

/// Holes in words: "4", "1 and 4", "1, 2 and 3".
fn holes(holes: Holes) -> String {
    let all: Vec<String> = holes.iter().map(|hole| hole.to_string()).collect();
    match all.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [others @ .., last] => format!("{} and {last}", others.join(", ")),
    }
}

fn is_or_are(many: Holes) -> &'static str {
    if many.len() == 1 { "is" } else { "are" }
}

/// What to play, in words: "1, 2 and 3 draw together".
pub fn ask(target: ReedsTarget) -> String {
    format!("{} {} together", holes(target.holes), target.breath.word())
}

/// A chord as tab, written by `style`: "-1 -2 -3".
pub fn tab(target: ReedsTarget, style: impl Fn(Way) -> String) -> String {
    target.ways().map(style).collect::<Vec<_>>().join(" ")
}

pub(crate) fn tab_of(target: ReedsTarget, look: &Look) -> String {
    tab(target, |way| look.tab(way))
}

/// What a run asks for as tab, in few columns: "-3'", "-123" of a chord.
pub(crate) fn tab_of_note(note: &AskedNote, look: &Look) -> String {
    let lowest = look.tab(note.way);
    let holes: String = note.holes.iter().map(|hole| hole.to_string()).collect();
    match lowest.strip_suffix(&note.way.hole.to_string()) {
        Some(before) if !holes.is_empty() && note.holes.iter().all(|hole| hole < 10) => {
            format!("{before}{holes}")
        }
        _ => note.ways().map(|way| look.tab(way)).collect::<Vec<_>>().join(" "),
    }
}

/// What a run asks for as tab, as it is written in a phrase: "-3'", "(-1 -2 -3)" of a chord.
pub fn tab_in_time(ways: impl Iterator<Item = Way>, style: impl Fn(Way) -> String) -> String {
    let all: Vec<String> = ways.map(style).collect();
    if all.len() == 1 { all.concat() } else { format!("({})", all.join(" ")) }
}

/// What the reeds of a chord of a run came to, in few words; nothing where they were right.
pub fn in_time(note: &NoteVerdict) -> Option<String> {
    let list = |holes: Holes| holes.iter().map(|hole| hole.to_string()).collect::<Vec<_>>().join(" ");
    match note.chord? {
        ReedsOutcome::Right => None,
        ReedsOutcome::Off { missing, leaked } => Some(match (missing.is_empty(), leaked.is_empty()) {
            (false, true) => format!("{} missing", list(missing)),
            (true, _) => format!("{} leaked in", list(leaked)),
            (false, false) => format!("{} missing, {} leaked in", list(missing), list(leaked)),
        }),
        ReedsOutcome::CannotTell(_) if note.played?.chord?.breath.is_some() => {
            Some("breath right".to_owned())
        }
        other => Some(other.word().to_owned()),
    }
}

/// The verdict as a sentence: "4 is missing", "5 leaked in, 12 dB below the loudest".
pub fn verdict(verdict: &ReedsVerdict, target: ReedsTarget) -> String {
    match verdict.outcome {
        ReedsOutcome::Right => format!("right, held {:.1} s", verdict.held_s),
        ReedsOutcome::Off { missing, leaked } => off(verdict, target, (missing, leaked)),
        ReedsOutcome::WrongBreath => match target.breath {
            Breath::Draw => "wrong breath: that was blown, draw it".to_owned(),
            Breath::Blow => "wrong breath: that was drawn, blow it".to_owned(),
        },
        ReedsOutcome::TooBrief(held_s) => {
            format!("let go early, held {held_s:.1} s: let it sound longer")
        }
        ReedsOutcome::NotHeard => "not heard: no reed of this harp sounded".to_owned(),
        ReedsOutcome::CannotTell(why) => format!("cannot tell: {}", why.words()),
    }
}

fn off(verdict: &ReedsVerdict, target: ReedsTarget, (missing, leaked): (Holes, Holes)) -> String {
    if missing == target.holes && !leaked.is_empty() {
        let word = target.breath.word();
        return format!(
            "{} {} missing: {} {word} sounded instead",
            holes(missing),
            is_or_are(missing),
            holes(leaked)
        );
    }
    let level = |hole: u8| verdict.heard.iter().find(|heard| heard.way.hole == hole);
    let loud = leaked.iter().filter_map(level).map(|heard| heard.below_db).fold(f64::INFINITY, f64::min);
    let below = match loud.round() {
        db if db.is_finite() && db > 0.0 => format!(", {db:.0} dB below the loudest"),
        _ => String::new(),
    };
    let mut parts = Vec::new();
    if !missing.is_empty() {
        parts.push(format!("{} {} missing", holes(missing), is_or_are(missing)));
    }
    if !leaked.is_empty() {
        parts.push(format!("{} leaked in{below}", holes(leaked)));
    }
    parts.join("; ")
}

/// What to do about it, as a teacher would say it; nothing where there is nothing to do. Common practice, no source.
pub(crate) fn hint(verdict: &ReedsVerdict, target: ReedsTarget) -> Option<&'static str> {
    let ReedsOutcome::Off { missing, leaked } = verdict.outcome else { return None };
    let (low, high) = (target.holes.iter().next()?, target.holes.iter().next_back()?);
    let is_split = usize::from(high - low) >= target.holes.len();
    let between = |hole: u8| (low..=high).contains(&hole);
    Some(match () {
        () if leaked.iter().any(between) => "the tongue covers the holes between; press it flat, not hard",
        () if !leaked.is_empty() => "the mouth is too wide, or off to that side; narrow that corner",
        () if is_split && missing.contains(high) => {
            "leave the right corner of the mouth open beside the tongue"
        }
        () if is_split => "leave the left corner of the mouth open beside the tongue",
        () => "open the mouth wider on that side; breathe through all holes evenly",
    })
}

/// Whether a note stayed alone: "clean", "5 leaked in at −16 dB".
pub fn clean(clean: Clean) -> String {
    match clean {
        Clean::Alone => "clean".to_owned(),
        Clean::Leaked(hole, below_db) if below_db.round() > 0.0 => {
            format!("{hole} leaked in at \u{2212}{:.0} dB", below_db.round())
        }
        Clean::Leaked(hole, _) => format!("{hole} leaked in as loud as the note"),
        Clean::CannotTell => "whether it was clean cannot be told".to_owned(),
    }
}

/// A verdict on a note, and behind it whether it stayed alone, where that was asked.
pub fn with_clean(verdict: String, clean: Option<Clean>) -> String {
    match clean {
        Some(how) => format!("{verdict}; {}", self::clean(how)),
        None => verdict,
    }
}

/// The sign before a verdict.
pub(crate) fn sign(verdict: &ReedsVerdict, look: &Look) -> char {
    match verdict.outcome {
        ReedsOutcome::Right => look.glyphs.centred,
        ReedsOutcome::NotHeard | ReedsOutcome::CannotTell(_) => look.glyphs.unknown,
        _ => look.glyphs.missed,
    }
}

/// What to work on, the most telling first; nothing if all was right.
pub fn next(summary: &ChordSummary, style: impl Fn(Way) -> String) -> Vec<String> {
    let times = |count: usize| if count == 1 { "once".to_owned() } else { format!("{count} times") };
    let mut lines = Vec::new();
    if let Some(weakest) = summary.weakest {
        lines.push(format!("work next on {}", tab(weakest, style)));
    }
    if let Some((hole, count)) = summary.leaking {
        lines.push(format!("{hole} leaked in {}", times(count)));
    }
    if let Some((hole, count)) = summary.missing {
        lines.push(format!("{hole} was missing {}", times(count)));
    }
    lines
}
