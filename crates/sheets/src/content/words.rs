//! Title, facts and cautions.

use super::Ground;
use layout::TabStyle;
use theory::Need;

/// The usual cautions about breath, reeds, hearing and hygiene.
pub const CAUTIONS: [&str; 3] = [
    "Stop and breathe normally if you feel dizzy, light-headed or a tingling. With lung or heart disease, in pregnancy \
     or after surgery, ask a clinician first.",
    "Bend and overbend with a gentle breath: force harms reeds and lips. Play along at a volume that leaves you free to \
     talk over it.",
    "Play your own harp only; rinse your mouth before, tap the harp out and let it dry after.",
];

/// The headings of the columns in which practice is written down.
pub const LOG_COLUMNS: [&str; 3] = ["date", "tempo", "how it went, and what comes next"];

/// The signs of the tab, and the one for a pair of holes.
pub(super) fn signs(tab: &TabStyle) -> Vec<(String, String)> {
    let pair = ("4+6".to_owned(), "the two holes together, the tongue on any between".to_owned());
    tab.legend().into_iter().chain([pair]).collect()
}

/// "C harp, 2nd position: G blues".
pub(super) fn title(ground: &Ground<'_>) -> String {
    capitalised(&format!(
        "{} harp, {}: {}",
        ground.request.harp.key(),
        ground.request.position,
        ground.key.title()
    ))
}

/// A text with its first letter large.
fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

pub(super) fn facts(ground: &Ground<'_>) -> Vec<String> {
    let mut facts = vec![instrument(ground), notes(ground), asks(ground)];
    facts.extend(reach(ground));
    facts
}

fn instrument(ground: &Ground<'_>) -> String {
    let harp = ground.request.harp;
    let position = match ground.request.position.customary_name() {
        Some(name) => format!(" {} is also called {name}.", ground.request.position),
        None => String::new(),
    };
    let tuning = capitalised(harp.tuning().name());
    format!("{tuning} tuning, A4 = {} Hz.{position}", harp.concert().a4_hz())
}

fn notes(ground: &Ground<'_>) -> String {
    let both: Vec<String> = ground.key.notes().map(|n| format!("{} {}", n.step.degree, n.name)).collect();
    let mut line = format!("Degrees and notes: {}.", both.join(", "));
    let also: Vec<String> = ground
        .key
        .notes()
        .filter_map(|n| n.step.also.map(|also| format!("{} as {also}", n.step.degree)))
        .collect();
    if !also.is_empty() {
        line = format!("{line} Others write {}.", also.join(", "));
    }
    let (rising, falling) = (ground.key.scale().degrees(), ground.key.scale().falling_degrees());
    if rising != falling {
        let down: Vec<String> =
            ground.key.falling_notes().map(|n| format!("{} {}", n.step.degree, n.name)).collect();
        let arrows = "An arrow after a degree: only on the way up (↑) or only on the way down (↓).";
        line = format!("{line} On the way down: {}. {arrows}", down.join(", "));
    }
    line
}

fn asks(ground: &Ground<'_>) -> String {
    let count = |counts: fn(Need) -> bool| ground.map.iter().filter(|note| counts(note.need())).count();
    let parts = [
        (count(|need| need == Need::Nothing), "plain"),
        (count(|need| matches!(need, Need::Bend(_))), "with a bend"),
        (count(|need| need == Need::Overbend), "with an overblow or overdraw"),
        (count(|need| need == Need::Impossible), "not on this harp"),
    ];
    let parts: Vec<String> =
        parts.into_iter().filter(|(n, _)| *n > 0).map(|(n, how)| format!("{n} {how}")).collect();
    format!("Over the whole harp {} notes: {}.", ground.map.len(), parts.join(", "))
}

fn reach(ground: &Ground<'_>) -> Option<String> {
    let ability = ground.request.ability?;
    let reached = ground.notes.iter().filter(|note| note.reachable()).count();
    let reach = match ground.notes.len() {
        all if all == reached => "all in reach".to_owned(),
        all => format!("{reached} of {all} in reach; the others stand in [brackets]"),
    };
    Some(format!("For a player of level {ability} ({}): {reach}.", ability.level().about()))
}
