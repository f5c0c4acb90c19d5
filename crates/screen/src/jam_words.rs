//! What is said of a jam, the same on the screen and in lines of text.

use layout::{Breath, TabStyle};
use practice::jam::{Clash, Form, Is, JamNote, JamOver, JamPlan, Met, Tally};

/// A stretch on one breath shorter than this needs no word, seconds. Common practice, no source.
const LONG_BREATH_S: f64 = 4.0;
/// More notes than these are not named one by one.
const MOST_NAMED: usize = 4;

/// The feel, the tempo and the metre: "shuffle at 100, 4/4".
pub fn rhythm(plan: &JamPlan) -> String {
    // The slow feel has its metre in its name.
    let metre = plan.rhythm.metre.to_string();
    let metre = if plan.feel.name().contains(&metre) { String::new() } else { format!(", {metre}") };
    format!("{} at {}{metre}", plan.feel, plan.rhythm.tempo)
}

/// The chorus of a bar and the bar's place in it, both counted from 1; `bar` counts from 0 at the first beat. The bar
/// on which the form ends is one more bar of the last chorus.
pub fn place(form: &Form, bar: usize) -> (usize, usize) {
    let bars = form.bars().max(1);
    match form.last_bar() {
        Some(last) if bar >= last && last > 0 => (last / bars, bars + bar - last + 1),
        _ => (bar / bars + 1, bar % bars + 1),
    }
}

/// "bar 5"; in which chorus, if there are several.
fn bar_words(form: &Form, bar: usize) -> String {
    let (chorus, bar) = place(form, bar);
    if form.choruses() == Some(1) { format!("bar {bar}") } else { format!("bar {bar} of chorus {chorus}") }
}

/// What a note is to the chord under it, or why that cannot be told.
pub fn is(note: &JamNote) -> String {
    match (note.is, &note.chord) {
        (Is::OfChord(degree), Some(chord)) => format!("{degree} of {chord}"),
        (Is::OfScale, Some(chord)) => format!("of the scale over {chord}"),
        (Is::Outside, Some(chord)) => format!("outside over {chord}"),
        (_, None) => "under which chord cannot be told".to_owned(),
        (_, Some(_)) => "its pitch cannot be told".to_owned(),
    }
}

/// The simplest way to a note as tab; its name where the harp does not have it.
pub fn tab(note: &JamNote, tab: &TabStyle) -> String {
    note.ways.first().map_or_else(|| note.played.note.to_string(), |way| tab.print(*way))
}

/// A jam in one line: over what, how often, and what the notes were.
pub fn line(over: &JamOver) -> String {
    let (form, choruses) = (&over.plan.form.title, choruses(over.choruses));
    format!("{form}, {}: {choruses}, {}", over.plan.feel, notes(&over.tally))
}

/// How many choruses were played to their end.
pub fn choruses(count: u32) -> String {
    match count {
        0 => "not a whole chorus".to_owned(),
        1 => "one chorus".to_owned(),
        choruses => format!("{choruses} choruses"),
    }
}

/// What a jam comes to, the most important first.
pub fn sentences(over: &JamOver, tab: &TabStyle) -> Vec<String> {
    let form = &over.plan.form;
    let mut lines = tally(&over.tally, form, tab);
    if over.tally.notes > 0 {
        lines.push(unused(over, tab));
    }
    lines
}

/// What some bars come to.
pub fn tally(tally: &Tally, form: &Form, tab: &TabStyle) -> Vec<String> {
    if tally.notes == 0 {
        return vec!["no note was heard".to_owned()];
    }
    let mut lines = vec![notes(tally)];
    lines.extend(changes(tally));
    lines.extend(held(tally, (form, tab), Clash::Clash));
    lines.extend(held(tally, (form, tab), Clash::BlueNote));
    lines.push(breath(tally, form));
    lines
}

fn notes(tally: &Tally) -> String {
    let Tally { notes, of_chord, of_scale, outside, cannot_tell, .. } = tally;
    let one = if *notes == 1 { "note" } else { "notes" };
    let unknown = if *cannot_tell > 0 { format!(", {cannot_tell} cannot be told") } else { String::new() };
    format!(
        "{notes} {one}: {of_chord} of the chord, {of_scale} more of the scale, {outside} outside{unknown}"
    )
}

fn changes(tally: &Tally) -> Option<String> {
    let all = tally.changes.len();
    let met = tally.met(|met| matches!(met, Met::OfChord(_)));
    let parts = [
        (tally.met(|met| met == Met::Other), "another note"),
        (tally.met(|met| met == Met::Rest), "a rest"),
        (tally.met(|met| met == Met::CannotTell), "cannot tell"),
    ];
    let said = parts.iter().filter(|(count, _)| *count > 0);
    let more = said.fold(String::new(), |more, (count, what)| format!("{more}, {what} on {count}"));
    let times = if all == 1 { "change" } else { "changes" };
    (all > 0)
        .then(|| format!("when the chord changed: a note of the new chord on {met} of {all} {times}{more}"))
}

/// What was held beside the chord for longer than a beat.
fn held(tally: &Tally, (form, tab): (&Form, &TabStyle), which: Clash) -> Option<String> {
    let held: Vec<String> = tally
        .clashes
        .iter()
        .filter(|held| held.clash == which)
        .map(|held| {
            let degree = held.note.degree.map(|degree| format!(" ({degree})")).unwrap_or_default();
            let tab = self::tab(&held.note, tab);
            format!("{tab}{degree} over {} in {}", held.chord, bar_words(form, held.note.bar))
        })
        .collect();
    let more = held.len().saturating_sub(MOST_NAMED);
    let more = if more > 0 { format!("; {more} more") } else { String::new() };
    let named = held.iter().take(MOST_NAMED).cloned().collect::<Vec<_>>().join(", ");
    (!held.is_empty()).then(|| match which {
        // What lies a half step above a note of the chord falls to it. Common practice, no source.
        Clash::Clash => format!(
            "held for more than a beat, a half step above a note of the chord: {named}{more}; it comes to rest a half step lower"
        ),
        Clash::BlueNote => {
            format!("blue notes held for more than a beat: {named}{more}; in a blues that is the style, other styles avoid it")
        }
    })
}

/// Seconds blown, drawn and unknown, and the longest stretch on one breath with what to do before it.
fn breath(tally: &Tally, form: &Form) -> String {
    let seconds = |s: f64| (s * 10.0).round() / 10.0;
    let either = if tally.either_s >= 0.05 {
        format!(", {} s either way: the pitch does not tell", seconds(tally.either_s))
    } else {
        String::new()
    };
    let all = format!("blow {} s, draw {} s{either}", seconds(tally.blow_s), seconds(tally.draw_s));
    match tally.longest.filter(|(_, longest, _)| *longest >= LONG_BREATH_S) {
        None => all,
        Some((breath, longest, bar)) => {
            let before = match breath {
                Breath::Draw => "out",
                Breath::Blow => "in",
            };
            let (longest, bar) = (seconds(longest), bar_words(form, bar));
            format!("{all}; {longest} s of {} from {bar}: breathe {before} before it", breath.word())
        }
    }
}

fn unused(over: &JamOver, tab: &TabStyle) -> String {
    let scale = over.plan.scale.title();
    let tabs: Vec<String> = over.unused.iter().map(|way| tab.print(*way)).collect();
    if tabs.is_empty() {
        format!("every note of {scale} that you command was played")
    } else {
        format!("of {scale} never played: {}", tabs.join(" "))
    }
}
