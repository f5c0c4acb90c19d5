//! Which played note answers which asked one.
//!
//! A best path through both rows of notes, as for the distance of two strings (Wagner & Fischer, Journal of the ACM
//! 21:168–173, 1974; from memory), with the time of the notes in what an answer costs, and with one move more: to the
//! beginning of a bar, forward or back, or to the end, for whoever stops playing. A row of the table is made whenever a
//! note was played, so that the path can be read while the playing goes on.

use super::{AskedNote, MaskedAt};
use crate::track::quantile;
use layout::{Harp, Note, Way};

// What the moves cost. Only how they stand to one another matters; ours.

/// An asked note that was not played.
const MISSING: f64 = 1.0;
/// An asked note that may have been played while the player could not be heard: a little, so that it is answered if it
/// can be.
const HIDDEN: f64 = 0.2;
/// A played note that nobody asked for.
const EXTRA: f64 = 1.0;
/// Going to the beginning of another bar, or to the end for good. The first note after a jump pays for its time like
/// any other note: so a jump back costs nearly three slips, and of bars that are alike the one is meant in whose time
/// was played.
const JUMP: f64 = 1.9;
/// More for each bar between: of bars that are alike, the nearest is meant.
const FURTHER: f64 = 0.05;
/// More for going forward and playing on, so that a player who begins right and stops is not taken to have played the
/// end instead. Less than `TIME`, so that one who comes in again in time after some bars has left those out; otherwise
/// he would have paused, gone on late and stopped for good.
const FORWARD: f64 = 0.5;
/// Answering with a neighbour in the span of the asked hole: a bend that stopped short, or went past.
const NEAR: f64 = 0.45;
/// Answering with any other note: less than one missing and one too many.
const OTHER: f64 = 1.2;
/// The most that wrong time costs a right note, reached at half the time to the next onset: as much as a missing note.
/// If it were less, a player who leaves out one of several equal notes and soon stops would be taken to be late from
/// there on.
const TIME: f64 = MISSING;
/// A wrong note at a wrong time is one missing and one too many.
const UNRELATED: f64 = MISSING + EXTRA + 0.1;

/// For each asked note, the index of the played one that answers it.
pub type Path = Vec<Option<usize>>;

/// How a cell of the table was reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Move {
    Extra,
    Missing,
    Answer,
    /// An answer after a jump from the cheapest cell of the row before.
    Jump,
}

/// An asked note as the follower sees it.
#[derive(Clone, Debug)]
struct Wanted {
    note: Note,
    /// Notes that the same hole sounds on the same breath.
    near: Vec<Note>,
    onset_s: f64,
    /// Seconds from this onset to the next, or its own length.
    room_s: f64,
    length_s: f64,
    /// What it costs if nothing answers it.
    missing: f64,
    bar: usize,
    begins_bar: bool,
}

/// A path up to an asked note.
#[derive(Clone, Copy, Debug)]
struct Cell {
    cost: f64,
    /// How late the playing is where the path has come to, seconds. Each answer moves it half of the way, and all of it
    /// where the player had stopped.
    late_s: f64,
}

/// Follows the playing of one run.
#[derive(Clone, Debug)]
pub struct Follower {
    wanted: Vec<Wanted>,
    /// Whether time decides: false for playing in free time.
    timed: bool,
    /// What was played so far, and when.
    played: Vec<(Note, f64)>,
    /// The newest row.
    cells: Vec<Cell>,
    /// A row for each note that was played: how its cells were reached.
    moves: Vec<Vec<Move>>,
    /// For each row, the cell of the row before from which a jump goes.
    from: Vec<usize>,
}

impl Follower {
    /// Nothing has been played yet. `timed` is false where no tempo was given.
    pub fn new(asked: &[AskedNote], harp: &Harp, timed: bool) -> Self {
        let next = |i: usize| asked.get(i + 1).map(|next| next.onset_s);
        let wanted: Vec<Wanted> = asked
            .iter()
            .enumerate()
            .map(|(i, own)| Wanted {
                note: own.note,
                near: near(harp, own, asked),
                onset_s: own.onset_s,
                room_s: next(i).map_or(own.length_s, |next| next - own.onset_s).max(0.01),
                length_s: own.length_s,
                missing: MISSING,
                bar: own.bar,
                begins_bar: i == 0 || asked[i - 1].bar != own.bar,
            })
            .collect();
        let mut new = Self {
            wanted,
            timed,
            played: Vec::new(),
            cells: Vec::new(),
            moves: Vec::new(),
            from: Vec::new(),
        };
        new.begin();
        new
    }

    /// The first row: nothing has been played.
    fn begin(&mut self) {
        let missed = self.wanted.iter().scan(0.0, |cost, wanted| {
            *cost += wanted.missing;
            Some(*cost)
        });
        self.cells = std::iter::once(0.0).chain(missed).map(|cost| Cell { cost, late_s: 0.0 }).collect();
        (self.moves, self.from) = (Vec::new(), Vec::new());
    }

    /// Takes where the player may not have been heard: a note that was asked there costs little if it is missing. The
    /// path is found anew if that makes a difference.
    pub fn hide(&mut self, masked: &MaskedAt) {
        let mut differs = false;
        for wanted in &mut self.wanted {
            let is_hidden = masked.hides(wanted.onset_s, wanted.onset_s + wanted.length_s);
            let missing = if is_hidden { HIDDEN } else { MISSING };
            differs |= missing != std::mem::replace(&mut wanted.missing, missing);
        }
        if differs {
            self.begin();
            for (note, onset_s) in std::mem::take(&mut self.played) {
                self.hear(note, onset_s);
            }
        }
    }

    /// Takes the next note that was played, and when.
    pub fn hear(&mut self, note: Note, onset_s: f64) {
        self.played.push((note, onset_s));
        let before = std::mem::take(&mut self.cells);
        let cheapest = cheapest(before.iter().map(|cell| cell.cost));
        let here = self.bar(cheapest);
        let mut cells = Vec::with_capacity(before.len());
        let mut moves = Vec::with_capacity(before.len());
        cells.push(Cell { cost: before[0].cost + EXTRA, ..before[0] });
        moves.push(Move::Extra);
        for (j, wanted) in self.wanted.iter().enumerate() {
            let late_s = onset_s - wanted.onset_s;
            let answer = |from: Cell| {
                let later_s = late_s - from.late_s;
                // Who comes half a note later has stopped, and goes on from there.
                let stopped = later_s.abs() > wanted.room_s / 2.0;
                let late_s = if stopped { late_s } else { f64::midpoint(from.late_s, late_s) };
                Cell { cost: from.cost + self.answer(wanted, note, later_s), late_s }
            };
            let forward = if wanted.bar > here { FORWARD } else { 0.0 };
            let jump =
                Cell { cost: before[cheapest].cost + going(here, wanted.bar) + forward, ..before[cheapest] };
            let ways = [
                (answer(before[j]), Move::Answer),
                (Cell { cost: before[j + 1].cost + EXTRA, ..before[j + 1] }, Move::Extra),
                (Cell { cost: cells[j].cost + wanted.missing, ..cells[j] }, Move::Missing),
                (answer(jump), Move::Jump),
            ];
            let ways = if wanted.begins_bar { &ways[..] } else { &ways[..3] };
            let best = ways.iter().min_by(|a, b| a.0.cost.total_cmp(&b.0.cost)).unwrap_or(&ways[0]);
            cells.push(best.0);
            moves.push(best.1);
        }
        self.cells = cells;
        self.moves.push(moves);
        self.from.push(cheapest);
    }

    /// The bar in which the note before this cell is asked.
    fn bar(&self, cell: usize) -> usize {
        cell.checked_sub(1).and_then(|last| self.wanted.get(last)).map_or(0, |last| last.bar)
    }

    /// What it costs to take a played note for an answer that comes so much later than those before it, seconds.
    fn answer(&self, wanted: &Wanted, note: Note, late_s: f64) -> f64 {
        let away = if self.timed { late_s / wanted.room_s } else { 0.0 };
        let time = TIME * (4.0 * away * away).min(1.0);
        let pitch = if note == wanted.note {
            0.0
        } else if wanted.near.contains(&note) {
            NEAR
        } else {
            OTHER
        };
        if pitch > 0.0 && away.abs() > 0.5 { UNRELATED } else { pitch + time }
    }

    /// The best path at `now_s`, seconds from the first beat: what should have been played by then is answered or
    /// missing, what comes later is open. At the end of the run `now_s` is infinity. Of what was played twice, after a
    /// jump back, the later one counts. The notes missing after the last one played cost at most a jump together, so
    /// that silence does not turn the last one into a later note.
    pub fn path(&self, now_s: f64) -> Path {
        let mut path = vec![None; self.wanted.len()];
        let is_over = |wanted: &&Wanted| wanted.onset_s + wanted.room_s <= now_s;
        let over = self.wanted.iter().take_while(is_over).count();
        let ends = |(j, cell): (usize, &Cell)| {
            cell.cost + if j < over { going(self.bar(j), self.bar(over)) } else { 0.0 }
        };
        let mut j = cheapest(self.cells.iter().enumerate().map(ends));
        for (played, (moves, from)) in self.moves.iter().zip(&self.from).enumerate().rev() {
            while moves[j] == Move::Missing {
                j -= 1;
            }
            if moves[j] != Move::Extra {
                path[j - 1].get_or_insert(played);
                j = if moves[j] == Move::Jump { *from } else { j - 1 };
            }
        }
        path
    }
}

/// What it costs to go from bar to bar.
fn going(from: usize, to: usize) -> f64 {
    JUMP + FURTHER * from.abs_diff(to) as f64
}

/// The cheapest cell of a row by these costs; of several equal ones the furthest.
fn cheapest(costs: impl DoubleEndedIterator<Item = f64> + ExactSizeIterator) -> usize {
    costs.enumerate().rev().min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(cell, _)| cell)
}

/// The middle of some values; `None` of none.
pub fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    (!values.is_empty()).then(|| quantile(&values, 0.5))
}

/// What may be played for an asked note by mistake: what its hole sounds on that breath; for a chord, any chord of the
/// run, because in a rhythm of chords the time tells better than the breath which one was meant.
fn near(harp: &Harp, own: &AskedNote, asked: &[AskedNote]) -> Vec<Note> {
    if own.holes.is_empty() {
        return same_hole(harp, own.way);
    }
    let mut notes: Vec<Note> = asked.iter().map(|asked| asked.note).collect();
    notes.sort_unstable();
    notes.dedup();
    notes
}

/// The notes that a hole sounds on the breath of `way`.
fn same_hole(harp: &Harp, way: Way) -> Vec<Note> {
    let own = harp.ways_of_hole(way.hole).filter(|other| other.breath == way.breath);
    own.filter_map(|other| harp.note(other)).collect()
}
