//! The choices as text, 80 columns wide.

use super::data::{ChoiceData, ChooseData, SongData};
use crate::page::Page;
use sheets::Letters;

/// How many other tunings are named: a hint, not a second ranking.
const MOST_ELSEWHERE: usize = 4;

/// Writes the choices.
pub(super) fn write(data: &ChooseData, letters: Letters) -> String {
    let mut page = Page::new(letters);
    song(&mut page, &data.song);
    page.hanging("For you: ", &format!("{} ({})", data.ability.about, data.ability.words));
    if !data.ability.declared {
        page.hanging("", "(A guess: say what you command with --able or under [ability] in the settings.)");
    }
    for (number, choice) in (1..).zip(&data.choices) {
        page.gap();
        page.hanging(&format!("{number}. "), &heading(choice));
        choice.reasons.iter().for_each(|reason| page.hanging("   - ", reason));
    }
    beside(&mut page, data);
    elsewhere(&mut page, data);
    page.gap();
    page.hanging(
        "",
        "Points a note: 0 for a natural note on holes 1 to 6, 1 above, more for a bend the deeper and the harder to place \
         it is, most for an overdraw, 20 for a note out of your reach; home and the notes of the chords count most. Added: \
         what home and the chords under the mouth lack, and up to 0.2 for what fewer players use.",
    );
    page.into_text()
}

fn song(page: &mut Page, song: &SongData) {
    page.hanging("Song: ", &format!("{}: {}", song.title, song.notes.join(" ")));
    if let Some(assumed) = &song.assumed {
        page.hanging("", &format!("({assumed}.)"));
    }
    let chords: Vec<&str> = song.chords.iter().map(|chord| chord.function.as_str()).collect();
    let form = song.form.as_ref().map_or("the chord of its home".to_owned(), Clone::clone);
    if !chords.is_empty() {
        page.hanging("Over: ", &format!("{form}: {} ({} feel)", chords.join(" "), song.feel));
    }
    if let Some([low, high]) = &song.range {
        page.hanging("Range: ", &format!("{low} to {high}"));
    }
}

fn heading(choice: &ChoiceData) -> String {
    format!("{}: {:.1} points a note", choice.title, choice.cost)
}

/// The second position where another won, and what would be best for a minor blues.
fn beside(page: &mut Page, data: &ChooseData) {
    if let Some(second) = &data.second_position {
        page.gap();
        page.line("Second position instead");
        page.hanging("   ", &heading(&second.choice));
        second.why_behind.iter().for_each(|why| page.hanging("   - ", why));
    }
    if let Some(minor) = &data.if_minor_blues {
        page.gap();
        page.line("If it is a minor blues (--feel minor)");
        page.hanging("   ", &heading(minor));
    }
}

/// What other tunings would spare.
fn elsewhere(page: &mut Page, data: &ChooseData) {
    if data.cheaper_elsewhere.is_empty() {
        return;
    }
    page.gap();
    page.line("Cheaper on harps not counted here");
    let (shown, rest) = data.cheaper_elsewhere.split_at(MOST_ELSEWHERE.min(data.cheaper_elsewhere.len()));
    for choice in shown {
        page.hanging("   - ", &heading(choice));
    }
    if !rest.is_empty() {
        let word = if rest.len() == 1 { "tuning" } else { "tunings" };
        page.line(&format!("   - and {} more {word}; --tunings all ranks them together", rest.len()));
    }
}
