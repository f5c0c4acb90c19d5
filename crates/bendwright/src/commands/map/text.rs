//! The map as text, 80 columns wide.

use super::Asked;
use super::chords::{ChordData, PlaceData, ToneData};
use super::data::{InsteadData, MapData, NoteData, OctaveData, WayData};
use crate::page::{Page, WIDTH};
use screen::{Chart, Glyphs, Look};
use theory::Direction;

/// Which pairs of holes are listed: name and sizes in semitones.
const PAIRS: [(&str, &[u8]); 4] =
    [("octaves", &[12]), ("fifths", &[7]), ("sixths", &[8, 9]), ("thirds", &[3, 4])];

/// Writes the map.
pub(super) fn write(map: &MapData, asked: &Asked<'_>) -> String {
    let mut page = Page::new(asked.setup.letters());
    head(&mut page, map);
    page.gap();
    stair(&mut page, map, asked);
    page.gap();
    tab(&mut page, map);
    gaps(&mut page, map);
    chords(&mut page, map);
    progression(&mut page, map);
    signs(&mut page, map);
    page.into_text()
}

fn head(page: &mut Page, map: &MapData) {
    page.line(&map.title);
    let harp = &map.harp;
    let about_key = harp.about_key.as_ref().map_or(String::new(), |words| format!(", {words}"));
    page.hanging(
        "",
        &format!(
            "Tuning: {}{about_key}. Temperament: {}. A4 = {} Hz.",
            harp.tuning, harp.temperament, harp.a4_hz
        ),
    );
    if let Some(mode) = &map.position.mode {
        page.hanging("", &format!("The natural notes alone are {} {mode}.", map.position.tonic));
    }
    if let Some(suits) = map.purpose.suits {
        page.hanging("Good for: ", suits);
    }
    page.hanging("Main chords: ", &map.purpose.words);
    let note = |note: &super::data::ScaleNoteData| {
        let also = note.also.as_ref().map_or(String::new(), |also| format!(" (or {also})"));
        format!("{}{also} {}", note.degree, note.name)
    };
    let notes = |list: &[super::data::ScaleNoteData]| list.iter().map(note).collect::<Vec<_>>().join(", ");
    page.hanging("Degrees: ", &notes(&map.scale.notes));
    if map.scale.falling != map.scale.notes {
        page.hanging("Downwards: ", &notes(&map.scale.falling));
    }
    page.hanging("Home note: ", &map.position.tonic_ways.join(" "));
    page.hanging("For you: ", &reach(map));
    if !map.ability.declared {
        page.hanging("", "(A guess: say what you command with --able or under [ability] in the settings.)");
    }
}

/// "natural notes and draw bends of every depth (draw-bends); 16 of 20 notes in reach, 12 of them plain".
fn reach(map: &MapData) -> String {
    let reached = map.notes.iter().filter(|note| note.tab.is_some()).count();
    let words = &map.ability.words;
    format!("{} ({words}); {reached} of {} notes in reach", map.ability.about, map.notes.len())
}

fn stair(page: &mut Page, map: &MapData, asked: &Asked<'_>) {
    let glyphs = if asked.setup.ascii { Glyphs::ASCII } else { Glyphs::UNICODE };
    let look = Look { glyphs, tab: asked.setup.tab.clone(), ..Look::default() };
    let choice = asked.choice;
    let chart = Chart {
        look: &look,
        harp: &asked.setup.harp,
        key: &choice.key,
        ability: &asked.ability,
        note: None,
        chord: None,
    };
    page.picture(&chart.text(WIDTH as u16));
    page.line("▲ blow  ▼ draw  ┼ bend  ○ overblow or overdraw; numbers are degrees of the scale");
    let any = |is: fn(&WayData) -> bool| map.notes.iter().flat_map(|note| &note.ways).any(is);
    if any(WayData::is_out_of_reach) {
        page.line("( ) out of reach");
    }
    if any(WayData::is_learning) {
        page.line("~ still being learned");
    }
    if map.notes.iter().any(|note| note.direction != Direction::Both) {
        page.line(&format!("{} on the way up only  {} on the way down only", glyphs.rising, glyphs.falling));
    }
}

fn tab(page: &mut Page, map: &MapData) {
    page.line("Tab, octave by octave");
    let last = map.octaves.len().saturating_sub(1);
    for (index, octave) in map.octaves.iter().enumerate() {
        let name = octave_name(octave, index == 0, index == last);
        page.hanging(&format!("  {name:<12}up    "), &octave.up.join("  "));
        page.hanging(&format!("  {:<12}down  ", ""), &octave.down.join("  "));
    }
}

fn octave_name(octave: &OctaveData, is_first: bool, is_last: bool) -> String {
    match (octave.whole, is_first, is_last) {
        (false, true, false) => format!("below {}", octave.high),
        (false, false, true) => format!("above {}", octave.low),
        _ => format!("{} to {}", octave.low, octave.high),
    }
}

/// What is out of reach and what can be played instead.
fn gaps(page: &mut Page, map: &MapData) {
    let gaps: Vec<Vec<String>> = map.notes.iter().filter(|note| note.tab.is_none()).map(gap).collect();
    if !gaps.is_empty() {
        page.gap();
        page.line("Out of reach, in [brackets] above, and what lies nearest");
        page.table(&gaps);
    }
    if !gaps.is_empty() || map.reduced.filling.is_some() {
        page.gap();
        let filling = map.reduced.filling.as_ref().map_or(String::new(), |f| format!(", filled from {f}"));
        page.line(&format!("What you can play of it{filling}"));
        page.hanging("  degrees  ", &map.reduced.degrees);
        page.hanging("  notes    ", &map.reduced.notes);
        page.hanging("  tab      ", &map.reduced.tab);
    }
}

fn gap(note: &NoteData) -> Vec<String> {
    let way = note.ways.first().map_or("not on this harp".to_owned(), |way| way.words.clone());
    let instead = |other: &InsteadData| format!("{} {}", other.note, other.tab);
    let instead: Vec<String> = note.instead.iter().map(instead).collect();
    let on_way = match note.direction {
        Direction::Both => "",
        Direction::Up => " up",
        Direction::Down => " down",
    };
    vec![format!("{}{on_way}", note.degree), note.note.clone(), way, instead.join(", ")]
}

fn chords(page: &mut Page, map: &MapData) {
    page.gap();
    page.line("Chords on one breath, with what they do in the key");
    let full: Vec<&ChordData> = map.chords.iter().filter(|chord| chord.is_full()).collect();
    // One row for a chord that lies on both breaths.
    let rows = full.chunk_by(|a, b| a.names == b.names).map(chord);
    page.table(&rows.collect::<Vec<_>>());
    page.gap();
    page.line("Two notes at once; the tongue covers the holes between");
    for (name, sizes) in PAIRS {
        let list = |breath| {
            let fits = map.pairs.iter().filter(|p| p.breath == breath && sizes.contains(&p.semitones));
            fits.map(|pair| format!("{}+{}", pair.low, pair.high)).collect::<Vec<_>>().join(" ")
        };
        for breath in [layout::Breath::Blow, layout::Breath::Draw] {
            page.hanging(&format!("  {name:<9}{:<6}", breath.word()), &list(breath));
        }
    }
}

/// A chord of the same names on one breath or on both.
fn chord(places: &[&ChordData]) -> Vec<String> {
    let first = places.iter().take(1);
    let joined = |said: fn(&super::chords::ChordName) -> &str| {
        let names = first.clone().flat_map(|chord| &chord.names);
        names.map(said).collect::<Vec<_>>().join(" or ")
    };
    let place = |chord: &&ChordData| {
        let runs: Vec<&str> = chord.runs.iter().map(|run| run.words.as_str()).collect();
        format!("{} {}", chord.breath.word(), runs.join(", "))
    };
    vec![
        joined(|name| &name.function),
        joined(|name| &name.symbol),
        first.clone().flat_map(|chord| &chord.notes).cloned().collect::<Vec<_>>().join(" "),
        places.iter().map(place).collect::<Vec<_>>().join("; "),
    ]
}

fn progression(page: &mut Page, map: &MapData) {
    let progression = &map.progression;
    let bars: Vec<String> = progression.bars.iter().map(|bar| bar.join(" ")).collect();
    page.gap();
    page.hanging(&format!("{}: ", progression.name), &bars.join(" | "));
    let rows = progression.chords.iter().flat_map(|chord| {
        let tones = chord.tones.iter().map(tone).collect::<Vec<_>>().join("; ");
        let place = vec![chord.function.clone(), chord.symbol.clone(), place(chord)];
        [place, vec![String::new(), String::new(), tones]]
    });
    page.table(&rows.collect::<Vec<_>>());
}

fn place(chord: &PlaceData) -> String {
    match &chord.place {
        Some(grip) if grip.missing.is_empty() => grip.words.clone(),
        Some(grip) => format!("{}, without its {}", grip.words, grip.missing.join(" and ")),
        None => "no two of its notes lie together".to_owned(),
    }
}

/// A note of a chord and where it lies: "♭3 B♭ -3' 6o".
fn tone(tone: &ToneData) -> String {
    let tab = if tone.tab.is_empty() { "out of reach".to_owned() } else { tone.tab.join(" ") };
    format!("{} {}: {tab}", tone.degree, tone.name)
}

fn signs(page: &mut Page, map: &MapData) {
    page.gap();
    page.line("Signs of the tab");
    let rows = map.tab_signs.iter().map(|sign| vec![sign.sign.clone(), sign.meaning.clone()]);
    page.table(&rows.collect::<Vec<_>>());
}
