//! The choices as text, 80 columns wide.

use super::data::{ChoiceData, ChooseData};
use crate::page::Page;
use sheets::Letters;

/// How many other tunings are named: a hint, not a second ranking.
const MOST_ELSEWHERE: usize = 4;

/// Writes the choices.
pub(super) fn write(data: &ChooseData, letters: Letters) -> String {
    let mut page = Page::new(letters);
    let song = &data.song;
    page.hanging("Song: ", &format!("{}: {}", song.title, song.notes.join(" ")));
    page.hanging("For you: ", &format!("{} ({})", data.ability.about, data.ability.words));
    if !data.ability.declared {
        page.hanging("", "(A guess: say what you command with --able or under [ability] in the settings.)");
    }
    for (number, choice) in (1..).zip(&data.choices) {
        page.gap();
        page.hanging(&format!("{number}. "), &heading(choice));
        choice.reasons.iter().for_each(|reason| page.hanging("   - ", reason));
    }
    elsewhere(&mut page, data);
    page.gap();
    page.hanging(
        "",
        "Points a note: 0 for a natural note on holes 1 to 6, more for a bend the deeper and the harder to place it \
         is, most for an overdraw, 20 for a note out of your reach.",
    );
    page.into_text()
}

fn heading(choice: &ChoiceData) -> String {
    format!("{}: {:.1} points a note", choice.title, choice.cost)
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
        page.line(&format!("   - and {} more tunings; --tunings all ranks them together", rest.len()));
    }
}
