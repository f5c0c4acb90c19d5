//! The lower part of the drill view: the last verdict and its figures; beside a wide picture, the tries one by one.

use super::Drill;
use crate::pen::{Pen, count};
use crate::{chord_words, parts, words};
use practice::Phase;

impl Drill<'_> {
    /// The last verdict in words, and what was measured; before the first, how to go about it.
    pub(super) fn report(&self, pen: &mut Pen<'_>) {
        let theme = &self.look.theme;
        if let untold @ 1.. = self.session.untold() {
            let tries = if untold == 1 { "1 try is".to_owned() } else { format!("{untold} tries are") };
            pen.text(1, 0, &format!("{tries} over: they are told five together"), theme.strong);
            return;
        }
        let Some(tried) = self.session.results().last() else {
            if !self.session.shows_live() {
                pen.text(1, 0, "Play the note and hold it: its line is shown when it is over.", theme.strong);
                pen.text(1, 1, words::hint(self.asked.way), theme.plain);
                return;
            }
            pen.text(1, 0, "Play the note and hold it inside the band.", theme.strong);
            pen.text(1, 1, words::hint(self.asked.way), theme.plain);
            return;
        };
        // Once the next try is awaited, the last verdict steps back.
        let present = matches!(self.session.phase(), Phase::Released | Phase::Judged);
        let style = if present { theme.strong } else { theme.plain };
        let x = parts::label(pen, 0, self.look, if present { "verdict" } else { "last try" });
        let sign = words::verdict_sign(&tried.verdict, tried.tolerance, self.look);
        let x = pen.text(x, 0, &format!("{sign} {}  ", self.look.tab(tried.way())), style);
        let verdict = chord_words::with_clean(
            words::verdict(&tried.verdict, &tried.harp, tried.way(), tried.tolerance),
            tried.clean,
        );
        parts::paragraph(pen, (x, 0), &verdict, (1, style));
        let room = pen.width() - parts::LABEL;
        let figures = match (tried.verdict.between, tried.verdict.figures) {
            (Some(between), _) => words::between(&between, tried.tolerance, self.look),
            (None, Some(figures)) => parts::joined(&words::figures(&figures, self.look), self.look, room),
            (None, None) => return,
        };
        pen.text(parts::LABEL, 1, &figures, theme.plain);
    }

    /// What to take care of in this drill, until the first verdict needs the place.
    pub(super) fn caution(&self, pen: &mut Pen<'_>, caution: &str) {
        let rows = pen.height();
        parts::paragraph(pen, (1, 0), caution, (rows, self.look.theme.faint));
    }

    /// The tries one by one, the newest on top, and below them what comes next.
    pub(super) fn tries(&self, pen: &mut Pen<'_>) {
        let theme = &self.look.theme;
        pen.text(1, 0, "tries", theme.faint);
        let coming = 3;
        let rows = (pen.height() - coming - 2).max(0);
        let results = self.session.told();
        for (y, tried) in (1..=rows).zip(results.iter().rev()) {
            let sign = words::verdict_sign(&tried.verdict, tried.tolerance, self.look);
            let short = words::verdict_short(&tried.verdict, &tried.harp, tried.tolerance, self.look);
            pen.text(1, y, &format!("{sign} {:<7} {short}", self.look.tab(tried.way())), theme.plain);
        }
        let y = rows.min(count(results.len())) + 2;
        pen.text(1, y, "next", theme.faint);
        // While the judged note is shown, what is asked for now is what comes next.
        let first = self.session.note() + usize::from(self.session.phase() != Phase::Released);
        let rest = self.item.ways().skip(first);
        // More than two rows can hold.
        let most = pen.width().max(1) as usize;
        let ways: Vec<_> =
            rest.chain(self.session.coming().flat_map(practice::Item::ways)).take(most).collect();
        if ways.is_empty() {
            pen.text(1, y + 1, "nothing: this is the last note", theme.faint);
        }
        let tabs: Vec<String> = ways.iter().map(|way| self.look.tab(*way)).collect();
        parts::paragraph(pen, (1, y + 1), &tabs.join("  "), (coming - 1, theme.plain));
    }
}
