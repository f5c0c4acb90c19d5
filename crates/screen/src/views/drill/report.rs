//! The lower part of the drill view: the verdict, its figures, the last tries and the next notes.

use super::Drill;
use crate::pen::{Pen, width};
use crate::{parts, words};
use practice::{Phase, Tried};
use scoring::Outcome;

/// Tries shown in the row of the last ones.
const LAST: usize = 5;

impl Drill<'_> {
    /// The try whose verdict is the newest.
    pub(super) fn judged(&self) -> Option<&Tried> {
        self.session.results().last()
    }

    /// The verdict in words, or what to do now.
    pub(super) fn verdict(&self, pen: &mut Pen<'_>) {
        let theme = &self.look.theme;
        match (self.session.phase(), self.judged()) {
            (Phase::Paused, _) => {
                pen.text(1, 0, "paused: nothing is judged", theme.strong);
            }
            (phase, Some(tried)) => {
                // Once the next note is asked for, the last verdict steps back.
                let weight = if phase == Phase::Judged { theme.strong } else { theme.plain };
                let landed = tried.verdict.outcome == Outcome::Landed;
                let style = if landed { theme.target.patch(weight) } else { weight };
                let way = tried.way();
                let sign = words::verdict_sign(&tried.verdict, self.look);
                let x = pen.text(1, 0, &format!("{sign} {}", self.look.tab(way)), weight);
                pen.text(
                    (x + 2).max(parts::LABEL),
                    0,
                    &words::verdict(&tried.verdict, way, self.tolerance()),
                    style,
                );
            }
            (_, None) => {
                pen.text(1, 0, "Play the note and hold it inside the band.", theme.strong);
            }
        }
    }

    /// What was measured in the newest try, or both distances if it lay between two depths; before the first, how to
    /// go about it.
    pub(super) fn figures(&self, pen: &mut Pen<'_>) {
        let style = self.look.theme.plain;
        let Some(verdict) = self.judged().map(|tried| tried.verdict) else {
            pen.text(1, 0, words::hint(self.way()), style);
            return;
        };
        let text = match (verdict.between, verdict.figures) {
            (Some(between), _) => words::between(&between, self.tolerance(), self.look),
            (None, Some(figures)) => {
                let room = pen.width() - parts::LABEL;
                parts::joined(&words::figures(&figures, self.look), self.look, room)
            }
            (None, None) => return,
        };
        pen.text(parts::LABEL, 0, &text, style);
    }

    /// What to take care of in this drill, until the first verdict needs the place.
    pub(super) fn caution(&self, pen: &mut Pen<'_>, caution: &str) {
        let rows = pen.height();
        parts::paragraph(pen, (1, 0), caution, (rows, self.look.theme.faint));
    }

    /// The last tries, the newest on the right.
    pub(super) fn last(&self, pen: &mut Pen<'_>) {
        let results = self.session.results();
        if results.is_empty() {
            return;
        }
        let mut x = parts::label(pen, 0, self.look, "last five");
        let texts: Vec<String> = results[results.len().saturating_sub(LAST)..]
            .iter()
            .map(|tried| {
                let sign = words::verdict_sign(&tried.verdict, self.look);
                format!("{sign} {}   ", words::verdict_short(&tried.verdict, self.tolerance(), self.look))
            })
            .collect();
        // Where not all fit, the oldest are left out.
        let room = pen.width() - x + 3;
        let fits = |from: &usize| texts[*from..].iter().map(|text| width(text)).sum::<i32>() <= room;
        let first = (0..texts.len()).find(fits).unwrap_or(texts.len());
        for text in &texts[first..] {
            x = pen.text(x, 0, text, self.look.theme.plain);
        }
    }

    /// The notes that come next.
    pub(super) fn next(&self, pen: &mut Pen<'_>) {
        let mut x = parts::label(pen, 0, self.look, "next");
        let mut any = false;
        let rest = self.item.ways().skip(self.session.note() + 1);
        for way in rest.chain(self.session.coming().flat_map(practice::Item::ways)) {
            let tab = self.look.tab(way);
            if x + width(&tab) > pen.width() {
                break;
            }
            x = pen.text(x, 0, &tab, self.look.theme.plain) + 2;
            any = true;
        }
        if !any {
            pen.text(x, 0, "nothing: this is the last note", self.look.theme.faint);
        }
    }
}
