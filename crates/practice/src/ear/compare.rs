//! The notes of an answer against those that are wanted, one by one in their order.

use super::{NoteAnswer, NoteIs, Wanted};
use crate::gate::{RELEASED_S, TAIL_S};
use layout::{Harp, Note, Technique, Way, cents_between};
use scoring::timed::PlayedAt;

/// A note that is nearer to the wanted one than this is that note, cents: half a half step.
const SAME_CENTS: f64 = 50.0;
/// Cost of a note that stands in place of another or is missing, and of a note too many. A note in place of another is
/// a single mistake, not a missing note beside one too many. Of two notes that changed places, each stands in place of
/// the other.
const MISTAKE: f64 = 1.0;
const TOO_MANY: f64 = 1.05;
/// Added for each half step between a wrong note and the wanted one: of two places for a mistake, the one with the
/// nearer notes is taken.
const PER_HALF_STEP: f64 = 0.001;
/// A pitch that was only passed on the way to another one stands for a note if nothing better does: it costs more than
/// any distance.
const PASSED: f64 = 0.1;
/// A joined note shorter than this is a slide from hole to hole, seconds.
const SLIDE_S: f64 = 0.12;

/// The notes of an answer, those that are missing among them. Notes on the way into a bend or out of it are no
/// mistakes.
pub(super) fn compare(harp: &Harp, wanted: &[Wanted], played: &[PlayedAt]) -> Vec<NoteAnswer> {
    Table::new(harp, wanted, played).answers()
}

/// How many mistakes there are.
pub(super) fn mistakes(notes: &[NoteAnswer]) -> usize {
    notes.iter().filter(|note| note.is != NoteIs::Right).count()
}

/// The least cost of turning the first notes wanted into the first notes played (Wagner & Fischer, The string-to-string
/// correction problem, Journal of the ACM 21:168–173, 1974; from memory).
struct Table<'a> {
    harp: &'a Harp,
    wanted: &'a [Wanted],
    played: &'a [PlayedAt],
    /// The cost for so many wanted (rows) and so many played.
    costs: Vec<Vec<f64>>,
    /// What each played note costs if it was not wanted.
    extra: Vec<f64>,
}

impl<'a> Table<'a> {
    fn new(harp: &'a Harp, wanted: &'a [Wanted], played: &'a [PlayedAt]) -> Self {
        let extra = |at| if is_on_the_way(harp, played, at) { 0.0 } else { TOO_MANY };
        let extra = (0..played.len()).map(extra).collect();
        let mut table = Self { harp, wanted, played, costs: Vec::new(), extra };
        for row in 0..=wanted.len() {
            let mut costs = Vec::with_capacity(played.len() + 1);
            for column in 0..=played.len() {
                let cost = table.least(row, column, &costs);
                costs.push(cost);
            }
            table.costs.push(costs);
        }
        table
    }

    fn least(&self, row: usize, column: usize, this_row: &[f64]) -> f64 {
        let above = row.checked_sub(1).and_then(|row| self.costs.get(row));
        let missing = above.and_then(|costs| costs.get(column)).map(|cost| cost + MISTAKE);
        let before = column.checked_sub(1);
        let extra = before.and_then(|at| Some(this_row.get(at)? + self.extra.get(at)?));
        let pair = row.checked_sub(1).zip(before);
        let pair = pair.and_then(|(wanted, played)| {
            let (cost, one) = (above?.get(played)?, *self.wanted.get(wanted)?);
            Some(cost + self.in_place(one, (self.played.get(played)?, *self.extra.get(played)?)))
        });
        [missing, extra, pair].into_iter().flatten().reduce(f64::min).unwrap_or(0.0)
    }

    /// What a note costs in the place of another.
    fn in_place(&self, wanted: Wanted, (played, extra): (&PlayedAt, f64)) -> f64 {
        if self.is_same(wanted, played) {
            let passed = played.held.is_none() && extra < MISTAKE;
            return if passed { PASSED } else { 0.0 };
        }
        let apart = wanted.note.midi().abs_diff(played.note.midi());
        MISTAKE + PER_HALF_STEP * f64::from(apart)
    }

    fn is_same(&self, wanted: Wanted, played: &PlayedAt) -> bool {
        let near = self.cents(wanted, played).is_some_and(|cents| cents.abs() <= SAME_CENTS);
        near || played.note == wanted.note
    }

    fn cents(&self, wanted: Wanted, played: &PlayedAt) -> Option<f64> {
        Some(cents_between(self.harp.hz(wanted.way)?, played.held?.0))
    }

    /// Goes back from the end of both.
    fn answers(&self) -> Vec<NoteAnswer> {
        let (mut row, mut column) = (self.wanted.len(), self.played.len());
        let mut answers = Vec::new();
        while row > 0 || column > 0 {
            let at = |row: usize, column: usize| self.costs.get(row).and_then(|costs| costs.get(column));
            let cost = at(row, column).copied().unwrap_or_default();
            let reached =
                |from: Option<&f64>, more: f64| from.is_some_and(|from| (from + more - cost).abs() < 1e-9);
            let wanted = row.checked_sub(1).and_then(|at| self.wanted.get(at)).copied();
            let played = column.checked_sub(1).and_then(|at| self.played.get(at));
            match (wanted, played) {
                // Of two like notes in a row the second is the one too many.
                (_, Some(other)) if reached(at(row, column - 1), self.extra[column - 1]) => {
                    if self.extra[column - 1] > 0.0 {
                        answers.push(self.answer(None, Some(other), NoteIs::Extra));
                    }
                    column -= 1;
                }
                (Some(one), Some(other))
                    if reached(
                        at(row - 1, column - 1),
                        self.in_place(one, (other, self.extra[column - 1])),
                    ) =>
                {
                    answers.push(self.pair(one, other));
                    (row, column) = (row - 1, column - 1);
                }
                (Some(one), _) => {
                    answers.push(self.answer(Some(one), None, NoteIs::Missing));
                    row -= 1;
                }
                _ => break,
            }
        }
        answers.reverse();
        answers
    }

    fn pair(&self, wanted: Wanted, played: &PlayedAt) -> NoteAnswer {
        let is = if self.is_same(wanted, played) { NoteIs::Right } else { NoteIs::Other };
        self.answer(Some(wanted), Some(played), is)
    }

    fn answer(&self, wanted: Option<Wanted>, played: Option<&PlayedAt>, is: NoteIs) -> NoteAnswer {
        let way = |note: Note| Some((note, self.harp.ways_to(note).into_iter().next()?));
        let both = wanted.zip(played).filter(|_| is == NoteIs::Right);
        let cents = both.and_then(|(wanted, played)| self.cents(wanted, played));
        // A wanted note is named by the way that was asked, whichever note the ear found nearest.
        let played = match both {
            Some((wanted, _)) => Some((wanted.note, wanted.way)),
            None => played.and_then(|played| way(played.note)),
        };
        NoteAnswer { wanted, played, cents, is }
    }
}

/// Whether a note that was played is only the way into the one behind it or out of the one before it: joined to it, and
/// no longer than the release of a note may take in a drill.
fn is_on_the_way(harp: &Harp, played: &[PlayedAt], at: usize) -> bool {
    let Some(note) = played.get(at) else { return false };
    let length_s = note.ended_s - note.onset_s;
    let before = at.checked_sub(1).and_then(|before| played.get(before));
    let before = before.filter(|before| note.onset_s - before.ended_s < RELEASED_S);
    let behind = played.get(at + 1).filter(|behind| behind.onset_s - note.ended_s < RELEASED_S);
    if length_s < SLIDE_S && (before.is_some() || behind.is_some()) {
        return true;
    }
    let bends_from = |bent: Option<&PlayedAt>| {
        bent.is_some_and(|bent| {
            harp.ways_to(bent.note).into_iter().any(|way| is_between(harp, way, note.note))
        })
    };
    length_s < TAIL_S && (bends_from(before) || bends_from(behind))
}

/// Whether a note lies between a bend or an overbend and the natural note of its hole and breath, that one included.
fn is_between(harp: &Harp, way: Way, note: Note) -> bool {
    if way.technique == Technique::Natural {
        return false;
    }
    let (Some(bent), Some(natural)) = (harp.note(way), harp.note(way.natural())) else { return false };
    note != bent && (bent.min(natural)..=bent.max(natural)).contains(&note)
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::TabStyle;
    use theory::Degree;

    fn harp() -> Harp {
        Harp::richter("C".parse().unwrap())
    }

    fn way(tab: &str) -> Way {
        TabStyle::default().read(tab).unwrap()
    }

    fn wanted(line: &str) -> Vec<Wanted> {
        let note = |tab: &str| harp().note(way(tab)).unwrap();
        line.split(' ').map(|tab| Wanted { note: note(tab), way: way(tab), degree: Degree::TONIC }).collect()
    }

    /// Notes of half a second, each apart from the next; one with a `~` goes on into the next, one with a `.` is short,
    /// of one with a `?` no pitch was held.
    fn played(line: &str) -> Vec<PlayedAt> {
        let mut onset_s = 0.0;
        let mut notes = Vec::new();
        for word in line.split(' ').filter(|word| !word.is_empty()) {
            let tab = word.trim_end_matches(['~', '.', '?']);
            let ended_s = onset_s + if word.contains('.') { 0.1 } else { 0.5 };
            let hz = harp().hz(way(tab)).unwrap() * f64::exp2(12.0 / 1200.0);
            let note = harp().note(way(tab)).unwrap();
            let held = Some((hz, ended_s - onset_s)).filter(|_| !word.contains('?'));
            notes.push(PlayedAt { note, onset_s, ended_s, held, chord: None });
            onset_s = ended_s + if word.contains('~') { 0.0 } else { 0.1 };
        }
        notes
    }

    fn said(asked: &str, line: &str) -> String {
        let notes = compare(&harp(), &wanted(asked), &played(line));
        let tab = |way: Way| TabStyle::default().print(way);
        let word = |note: &NoteAnswer| match (note.wanted, note.played, note.is) {
            (Some(wanted), _, NoteIs::Right) => tab(wanted.way),
            (Some(wanted), Some((_, played)), NoteIs::Other) => {
                format!("{}→{}", tab(wanted.way), tab(played))
            }
            (Some(wanted), None, NoteIs::Missing) => format!("({})", tab(wanted.way)),
            (None, Some((_, played)), NoteIs::Extra) => format!("+{}", tab(played)),
            _ => panic!("{note:?}"),
        };
        notes.iter().map(word).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn each_note_is_named_as_what_it_is() {
        for (asked, line, expected) in [
            ("-2 4 -4", "-2 4 -4", "-2 4 -4"),
            ("-2 4 -4", "-2 5 -4", "-2 4→5 -4"),
            ("-2 4 -4", "-2 -4", "-2 (4) -4"),
            ("-2 4 -4", "4 -4", "(-2) 4 -4"),
            ("-2 4 -4", "-2 4", "-2 4 (-4)"),
            ("-2 4 -4", "-2 4 4 -4", "-2 4 +4 -4"),
            ("-2 4 -4", "", "(-2) (4) (-4)"),
            // Changed for each other.
            ("-2 4 -4", "-2 -4 4", "-2 4→-4 -4→4"),
            // One note later than asked, and one more at the end.
            ("-2 4 -4 5", "4 -4 5 6", "(-2) 4 -4 5 +6"),
            // An octave is another note.
            ("-2 4", "-2 7", "-2 4→7"),
            // The one that is missing is the one that is furthest from what was played.
            ("-2 4", "-4", "(-2) 4→-4"),
            ("-4 -2", "-1", "(-4) -2→-1"),
        ] {
            assert_eq!(said(asked, line), expected, "{asked}: {line}");
        }
    }

    #[test]
    fn another_way_to_the_note_is_the_note() {
        assert_eq!(said("-2 4", "3 4"), "-2 4");
    }

    #[test]
    fn the_way_into_a_bend_and_out_of_it_is_no_mistake() {
        for (asked, line, expected) in [
            ("-3'' 4", "-3~ -3'~ -3'' 4", "-3'' 4"),
            ("-3' 4", "-3'~ -3 4", "-3' 4"),
            // With an attack of its own it was meant.
            ("-3'' 4", "-3 -3'' 4", "+-3 -3'' 4"),
            // Where it is asked it is the note.
            ("-3 -3'", "-3~ -3'", "-3 -3'"),
            // A slide across a hole.
            ("4 6", "4~ 5.~ 6", "4 6"),
            ("4 6", "4 5. 6", "4 +5 6"),
            // It starts the second note, or ends the first.
            ("4 6", "4 5.~ 6", "4 6"),
            ("4 6", "4~ 5. 6", "4 6"),
            // Held as long as a note it counts as one, joined or not; so does a note before a bend if it does not lie
            // on the way from the natural note.
            ("4 6", "4~ 5~ 6", "4 +5 6"),
            ("-3'' 4", "6~ -3'' 4", "+6 -3'' 4"),
        ] {
            assert_eq!(said(asked, line), expected, "{asked}: {line}");
        }
    }

    #[test]
    fn a_pitch_that_was_only_passed_stands_for_a_note_if_nothing_better_does() {
        let notes = |line: &str| compare(&harp(), &wanted("5 6"), &played(line));
        let passed = notes("5?.~ 6");
        assert_eq!((passed.len(), mistakes(&passed), passed[0].cents), (2, 0, None));
        // The second time it was held, so its cents are told.
        let held = notes("5?.~ 5.~ 6");
        assert_eq!((held.len(), mistakes(&held)), (2, 0));
        assert!((held[0].cents.unwrap() - 12.0).abs() < 0.01, "{held:?}");
    }

    #[test]
    fn cents_are_told_of_the_note_that_was_wanted() {
        let notes = compare(&harp(), &wanted("4 5"), &played("4 6"));
        assert!((notes[0].cents.unwrap() - 12.0).abs() < 0.01, "{notes:?}");
        assert_eq!(notes[1].cents, None);
        assert_eq!(mistakes(&notes), 1);
    }
}
