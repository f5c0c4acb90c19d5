//! The bars ahead: each note at the column of its pitch and in the row of its beat, the present moment, what sounds,
//! and beside each note that is over what came of it.

use super::bars::Places;
use super::told;
use crate::big::{self, Size};
use crate::pen::{Pen, count, width};
use crate::scale::number_of;
use crate::scene::Scene;
use crate::{Look, chord_words, parts};
use layout::Harp;
use practice::run::{RunPhase, Running};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use scoring::timed::{AskedNote, NoteVerdict, Window};

/// Columns before the notes: the mark of the present moment and the beat.
const BEATS: i32 = 6;
/// Columns behind them for what came of a note, by the columns of the bar.
const VERDICT: [(i32, i32); 3] = [(72, 26), (56, 20), (0, 14)];
/// The widest tab, columns.
const TAB: i32 = 5;
/// A pitch this near to a note may be that note, semitones.
const NEAR: f64 = 0.5;
/// The stretch of sound that counts as the present, seconds.
const PRESENT_S: f64 = 0.06;
/// Before a note that goes on from the one before without a new attack.
const JOINED: char = '~';
/// A margin before a time, seconds: sums of fractions of a beat are not exact.
const HAIR_S: f64 = 1e-6;

/// Pitch from left to right.
#[derive(Clone, Copy, Debug)]
pub(super) struct Across {
    low: f64,
    high: f64,
    left: i32,
    per_semitone: f64,
}

impl Across {
    /// From the lowest to the highest of some notes, in the columns from `left` on.
    pub(super) fn new(harp: &Harp, asked: &[AskedNote], (left, room): (i32, i32)) -> Self {
        let numbers = || asked.iter().filter_map(|note| number_of(harp, note.way));
        let (low, high) =
            (numbers().fold(f64::INFINITY, f64::min), numbers().fold(f64::NEG_INFINITY, f64::max));
        let (low, high) = if low > high { (60.0, 60.0) } else { (low, high) };
        let per_semitone = f64::from((room - TAB).max(1)) / (high - low).max(1.0);
        let whole = if per_semitone >= 1.0 { per_semitone.floor() } else { per_semitone };
        Self { low, high, left: left + TAB / 2, per_semitone: whole }
    }

    /// The column of a pitch.
    pub(super) fn column(&self, number: f64) -> i32 {
        self.left + ((number - self.low) * self.per_semitone).round() as i32
    }

    /// Where a text stands whose middle is on the column of a pitch.
    pub(super) fn centred(&self, number: f64, text: &str) -> i32 {
        self.column(number) - (width(text) - 1) / 2
    }
}

/// A note of the run in the picture.
struct Seen {
    /// Its first step and the step after its last.
    from: usize,
    to: usize,
    number: f64,
    tab: String,
    /// Whether it goes on from the note before.
    joined: bool,
}

struct Ahead<'a> {
    scene: &'a Scene<'a>,
    look: &'a Look,
    running: &'a Running,
    steps_of_beat: usize,
    steps_of_bar: usize,
    notes: Vec<Seen>,
    so_far: Vec<Option<NoteVerdict>>,
    window: Window,
    /// The step that is due now, and how much of it is over.
    now: Option<(usize, f64)>,
    places: Places,
}

pub(super) fn render(scene: &Scene<'_>, running: &Running, area: Rect, buf: &mut Buffer) {
    if area.height == 0 || area.width == 0 {
        return;
    }
    let ahead = Ahead::new(scene, running, area);
    if ahead.places.moves {
        ahead.moving(&mut Pen::new(buf, area));
    } else {
        for (bar, place) in ahead.places.shown(ahead.over()) {
            ahead.bar(&mut Pen::new(buf, place), bar);
        }
    }
    if let Some(panel) = ahead.places.panel() {
        ahead.panel(&mut Pen::new(buf, panel));
    }
    ahead.count_in(area, buf);
}

impl<'a> Ahead<'a> {
    fn new(scene: &'a Scene<'a>, running: &'a Running, area: Rect) -> Self {
        let (look, harp, plan) = (scene.look, scene.harp(), running.plan());
        let rhythm = running.rhythm();
        let steps_of_beat = rhythm.steps_of_beat() as usize;
        let steps_of_bar = steps_of_beat * rhythm.metre.beats() as usize;
        let bars = plan.material.bars();
        let mut onsets: Vec<f64> =
            (0..(bars * steps_of_bar) as u32).map(|step| rhythm.step_s(step) - HAIR_S).collect();
        // An eighth swung beyond 2:1 begins after the last note of a triplet: the onsets are kept in order.
        for next in 1..onsets.len() {
            onsets[next] = onsets[next].max(onsets[next - 1]);
        }
        let step = |seconds: f64| onsets.partition_point(|onset| *onset <= seconds);
        let seen = |note: &AskedNote| Seen {
            from: step(note.onset_s).saturating_sub(1),
            to: onsets.partition_point(|onset| *onset < note.onset_s + note.length_s - 2.0 * HAIR_S),
            number: number_of(harp, note.way).unwrap_or(f64::from(note.note.midi())),
            tab: chord_words::tab_of_note(note, look),
            joined: note.joined,
        };
        let end_s = bars as f64 * rhythm.bar_s();
        let playing = matches!(running.phase(), RunPhase::Playing | RunPhase::Model);
        let now = running.now().filter(|now| playing && (0.0..end_s).contains(now)).and_then(|now| {
            let index = step(now).checked_sub(1)?;
            let next = onsets.get(index + 1).copied().unwrap_or(end_s);
            Some((index, ((now - onsets[index]) / (next - onsets[index])).clamp(0.0, 1.0)))
        });
        Self {
            scene,
            look,
            running,
            steps_of_beat,
            steps_of_bar,
            notes: running.asked().iter().map(seen).collect(),
            so_far: running.so_far(harp),
            window: Window::of_notes(running.asked().iter().map(|note| note.length_s)),
            now,
            places: Places::new(area, bars, u16::try_from(steps_of_bar).unwrap_or(u16::MAX)),
        }
    }

    /// How many bars are over.
    fn over(&self) -> f64 {
        let bar_s = self.running.rhythm().bar_s();
        match self.running.phase() {
            RunPhase::Playing | RunPhase::Model => self.running.now().unwrap_or(0.0).max(0.0) / bar_s,
            // Half a bar more, so that the bars before have given up their places.
            _ => self.running.from_bar() as f64 + 0.5,
        }
    }

    /// A bar in its place: its number, and its steps below.
    fn bar(&self, pen: &mut Pen<'_>, bar: usize) {
        self.heading(pen, 0, bar);
        let across = self.across(pen);
        let tall = i32::from(self.places.tall);
        for step in 0..self.steps_of_bar {
            for part in 0..tall {
                let y = 1 + count(step) * tall + part;
                self.row(pen, y, (bar * self.steps_of_bar + step, part), across);
            }
        }
    }

    /// The steps of all bars one below the other, as many as there is room for: a third of them are over.
    fn moving(&self, pen: &mut Pen<'_>) {
        let each = self.steps_of_bar + 1;
        let rows = self.running.plan().material.bars() * each;
        let present = self.now.map_or_else(
            || self.over() as usize * each,
            |(step, _)| step / self.steps_of_bar * each + step % self.steps_of_bar + 1,
        );
        let room = pen.height().max(0) as usize;
        let top = present.saturating_sub(room / 3).min(rows.saturating_sub(room));
        let across = self.across(pen);
        for (y, row) in (0..pen.height()).zip(top..rows) {
            match row % each {
                0 => self.heading(pen, y, row / each),
                step => self.row(pen, y, (row / each * self.steps_of_bar + step - 1, 0), across),
            }
        }
    }

    /// The line above a bar: its number, and whether it comes next where its place does not tell.
    fn heading(&self, pen: &mut Pen<'_>, y: i32, bar: usize) {
        let (theme, bars) = (&self.look.theme, self.running.plan().material.bars());
        pen.line(0..pen.width() - 1, y, self.look.glyphs.rule, theme.faint);
        let now = self.now.map_or(self.running.from_bar(), |(step, _)| step / self.steps_of_bar);
        let next = bar == now + 1 && !self.places.moves && bars > self.places.count();
        let room = pen.width() - 3;
        let chords = self.chords(bar, room);
        let text = format!(" bar {}{}{chords} ", bar + 1, if next { ", next" } else { "" });
        pen.text(1, y, &text, if bar == now { theme.strong } else { theme.faint });
    }

    /// The chords of a bar: as they are called, and what they do in the key where that has room.
    fn chords(&self, bar: usize, room: i32) -> String {
        let chords = self.running.plan().chords_of_bar(bar);
        if chords.is_empty() {
            return String::new();
        }
        let long: Vec<String> =
            chords.iter().map(|(symbol, numeral)| format!("{symbol} ({numeral})")).collect();
        let short: Vec<&str> = chords.iter().map(|(symbol, _)| *symbol).collect();
        let [long, short] = [long.join(" "), short.join(" ")].map(|text| format!(": {text}"));
        // The number of the bar and whether it comes next stand before.
        if width(&long) + 14 <= room { long } else { short }
    }

    fn verdict_columns(pen: &Pen<'_>) -> i32 {
        VERDICT.iter().find(|(from, _)| pen.width() >= *from).map_or(0, |(_, columns)| *columns)
    }

    fn across(&self, pen: &Pen<'_>) -> Across {
        let room = pen.width() - BEATS - Self::verdict_columns(pen) - 1;
        Across::new(self.scene.harp(), self.running.asked(), (BEATS, room))
    }

    /// A row of a step: `part` counts the rows of the step.
    fn row(&self, pen: &mut Pen<'_>, y: i32, (step, part): (usize, i32), across: Across) {
        let (theme, tall) = (&self.look.theme, i32::from(self.places.tall));
        let is_now = self.now.is_some_and(|(now, share)| {
            now == step && ((share * f64::from(tall)) as i32).min(tall - 1) == part
        });
        let due = self.now.is_some_and(|(now, _)| now == step);
        if part == 0 {
            self.beat(pen, y, step, due);
        }
        if let Some(index) = self.notes.iter().position(|note| (note.from..note.to).contains(&step)) {
            let last = step + 1 == self.notes[index].to && part + 1 == tall;
            let first = step == self.notes[index].from && part == 0;
            self.contour(pen, y, (index, first, last), across);
            if first {
                self.verdict(pen, y, index);
            }
        }
        if is_now {
            pen.glyph(0, y, self.look.glyphs.chosen, theme.voice);
            self.pitch(pen, y, (step, part), across);
        }
    }

    /// The name of the beat that a step begins; the half of a beat is the `and`.
    fn beat(&self, pen: &mut Pen<'_>, y: i32, step: usize, due: bool) {
        let theme = &self.look.theme;
        let (beat, within) = (step % self.steps_of_bar / self.steps_of_beat, step % self.steps_of_beat);
        if within == 0 {
            pen.text(2, y, &(beat + 1).to_string(), if due { theme.strong } else { theme.plain });
        } else if 2 * within == self.steps_of_beat && pen.width() >= super::ROOMY {
            pen.text(2, y, "and", theme.faint);
        }
    }

    /// The tab of a note, the line that it is held on, and the line that leads to the next one.
    fn contour(&self, pen: &mut Pen<'_>, y: i32, (index, first, last): (usize, bool, bool), across: Across) {
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let note = &self.notes[index];
        let (column, x) = (across.column(note.number), across.centred(note.number, &note.tab));
        if !first {
            pen.glyph(column, y, glyphs.centre, theme.faint);
        }
        let next = self.notes.get(index + 1).filter(|next| last && next.from == note.to);
        if let Some(to) = next.map(|next| across.column(next.number)) {
            let (left, right) = if first { (x - 1, x + width(&note.tab)) } else { (column, column) };
            pen.line(right..to + 1, y, glyphs.span, theme.faint);
            pen.line(to..left + 1, y, glyphs.span, theme.faint);
        }
        if first {
            pen.text(x, y, &note.tab, theme.strong);
        }
        if first && note.joined {
            pen.glyph(x - 1, y, JOINED, theme.plain);
        }
    }

    fn verdict(&self, pen: &mut Pen<'_>, y: i32, index: usize) {
        let Some(Some(note)) = self.so_far.get(index) else { return };
        let columns = Self::verdict_columns(pen);
        let within = (self.scene.tolerance(), self.window);
        let text = told::row(note, (self.scene.harp(), self.look), within, columns - 2);
        pen.text(pen.width() - columns, y, &text, self.look.theme.plain);
    }

    /// The pitch that sounds now. If the note that is due sounds, its tab stays and is brought out.
    fn pitch(&self, pen: &mut Pen<'_>, y: i32, (step, part): (usize, i32), across: Across) {
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let sounding = self.scene.trace.rows(PRESENT_S, 1).into_iter().next().flatten();
        let Some(swing) = sounding.filter(|_| !self.scene.still) else { return };
        let number = self.scene.harp().concert().key_number(swing.last);
        let due = self.notes.iter().find(|note| (note.from..note.to).contains(&step));
        if let Some(note) = due.filter(|note| (note.number - number).abs() < NEAR) {
            let x = across.centred(note.number, &note.tab);
            if step == note.from && part == 0 {
                pen.text(x, y, &note.tab, theme.strong.patch(theme.chosen));
                return;
            }
        }
        let (left, right) = (BEATS - 1, pen.width() - Self::verdict_columns(pen) - 2);
        if number < across.low - NEAR && across.column(number) < left {
            pen.glyph(left, y, glyphs.flat, theme.voice);
        } else if number > across.high + NEAR && across.column(number) > right {
            pen.glyph(right, y, glyphs.sharp, theme.voice);
        } else {
            pen.glyph(across.column(number).clamp(left, right), y, glyphs.now, theme.voice);
        }
    }

    /// The beat of the count-in, large, in the columns where the verdicts will stand.
    fn count_in(&self, area: Rect, buf: &mut Buffer) {
        let Some(beat) = told::beat(self.running).filter(|_| self.running.phase() == RunPhase::CountIn)
        else {
            return;
        };
        let size = Size::largest(&self.look.glyphs);
        let area = Rect { width: self.places.wide, ..area };
        let mut pen = Pen::new(buf, area);
        let columns = Self::verdict_columns(&pen);
        let text = (beat + 1).to_string();
        let spare = (pen.height() - i32::from(size.rows())) / 2;
        if spare >= 0 {
            let wide = big::width(&text, size);
            let x = pen.width() - columns + (columns - wide) / 2;
            for y in spare..spare + i32::from(size.rows()) {
                pen.line(x - 1..x + wide + 1, y, ' ', self.look.theme.plain);
            }
            big::draw(&mut pen, (x, spare), &text, (size, self.look.theme.target));
        }
    }

    /// Beside the bars: what the run before came to; before the first one, how to read the picture.
    fn panel(&self, pen: &mut Pen<'_>) {
        let theme = &self.look.theme;
        let before = self.running.results().last();
        let lines = match before {
            Some(judged) => {
                let lines = told::sentences(self.running, judged, self.look);
                let right = judged.verdict.whole.right;
                pen.text(1, 0, &format!("run {}", judged.number), theme.faint);
                lines
                    .into_iter()
                    .enumerate()
                    .map(|(i, line)| if i == 0 { format!("{right} {line}") } else { line })
                    .collect()
            }
            None => [
                "A note begins in its row, and its column is its pitch.",
                "The mark at the left is now.",
                "What came of a note stands beside it.",
            ]
            .map(str::to_owned)
            .to_vec(),
        };
        let mut y = i32::from(before.is_some());
        for line in lines {
            let rows = pen.height() - y;
            y = parts::paragraph(pen, (1, y), &line, (rows.max(0), theme.plain)) + 1;
        }
    }
}
