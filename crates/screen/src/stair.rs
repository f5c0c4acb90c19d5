//! The stair: the whole harp, one row a hole, pitch from left to right.

use crate::pen::{Pen, width};
use crate::scale::{Scale, number_of, reeds};
use crate::{Look, words};
use layout::{Breath, Harp, PitchClass, Technique, Way};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use theory::ScaleInKey;

/// Columns left of the stair, for the numbers of the holes.
pub(crate) const LEFT: u16 = 5;
/// A pitch this near to a mark may be that mark, semitones.
const NEAR: f64 = 0.5;
/// Wider than this the stair would no longer be seen at a glance, columns a semitone.
const WIDEST: f64 = 6.0;

/// The stair of a harp with a ruler of note letters above it.
pub(crate) struct Stair<'a> {
    /// Theme and glyphs.
    pub(crate) look: &'a Look,
    /// The harp.
    pub(crate) harp: &'a Harp,
    /// The home note, which the ruler brings out.
    pub(crate) tonic: PitchClass,
    /// Ways to bring out, those of a drill.
    pub(crate) wanted: &'a [Way],
    /// The pitch now, as a fractional key number.
    pub(crate) pitch: Option<f64>,
    /// Ways that are known to sound, whatever the one pitch is.
    pub(crate) sounds: &'a [Way],
    /// Whether the upright line is left out, because nothing may move.
    pub(crate) still: bool,
    /// The scale whose notes are brought out and whose degrees are written below the ruler.
    pub(crate) key: Option<&'a ScaleInKey>,
    /// Whether the names of the notes stand below the marks, in a row of their own.
    pub(crate) named: bool,
}

/// With fewer columns a semitone, two degrees a half step apart would touch (`DEGREES`), or two names (`NAMES`).
const DEGREES: f64 = 2.0;
const NAMES: f64 = 4.0;

impl Stair<'_> {
    /// Rows that the whole stair takes with its ruler, in so many columns.
    pub(crate) fn rows(&self, columns: u16) -> u16 {
        let scale = Stair::scale(self.harp, columns.saturating_sub(LEFT));
        self.head(&scale) + u16::from(self.harp.holes()) * self.of_hole(&scale)
    }

    /// Whether there is room for the names of the notes below the marks in so many columns.
    pub(crate) fn can_name(harp: &Harp, columns: u16) -> bool {
        Stair::scale(harp, columns.saturating_sub(LEFT)).per_semitone() >= NAMES
    }

    /// Rows above the holes.
    fn head(&self, scale: &Scale) -> u16 {
        1 + u16::from(self.degrees(scale).is_some())
    }

    /// Rows of one hole.
    fn of_hole(&self, scale: &Scale) -> u16 {
        1 + u16::from(self.named && scale.per_semitone() >= NAMES)
    }

    /// The scale whose degrees are written, if there is room for them.
    fn degrees(&self, scale: &Scale) -> Option<&ScaleInKey> {
        self.key.filter(|_| scale.per_semitone() >= DEGREES)
    }

    /// The scale that shows every way of the harp in `columns`.
    pub(crate) fn scale(harp: &Harp, columns: u16) -> Scale {
        let numbers = || harp.ways().filter_map(|way| number_of(harp, way));
        let low = numbers().fold(f64::INFINITY, f64::min).floor();
        let high = numbers().fold(f64::NEG_INFINITY, f64::max).ceil();
        if low > high {
            return Scale::new(60.0, 1.0);
        }
        let per_semitone = (f64::from(columns.saturating_sub(1)) / (high - low).max(1.0)).floor();
        Scale::new(low, per_semitone.clamp(1.0, WIDEST))
    }

    /// The holes that fit into `rows`: those around the sounding one if not all do.
    fn holes(&self, rows: i32) -> std::ops::RangeInclusive<u8> {
        let (all, rows) = (i32::from(self.harp.holes()), rows.max(1));
        let middle = (1..=self.harp.holes()).find(|hole| self.hole_may_sound(*hole)).unwrap_or(1);
        let first = (i32::from(middle) - rows / 2).clamp(1, (all - rows + 1).max(1));
        first as u8..=(first + rows - 1).min(all) as u8
    }

    /// Whether some way to play this hole may be what sounds.
    fn hole_may_sound(&self, hole: u8) -> bool {
        self.harp.ways_of_hole(hole).any(|way| self.may_sound(way))
    }

    /// Whether a way is known to sound or the pitch now is near it.
    fn may_sound(&self, way: Way) -> bool {
        let near = match (self.pitch, number_of(self.harp, way)) {
            (Some(pitch), Some(number)) => (pitch - number).abs() <= NEAR,
            _ => false,
        };
        near || self.sounds.contains(&way)
    }

    /// The letters of the white keys, each over its column; the home note stands out.
    fn ruler(&self, pen: &mut Pen<'_>, y: i32, scale: &Scale) {
        let theme = &self.look.theme;
        let (low, high) = (scale.number(0).round() as i32, scale.number(pen.width() - 1).round() as i32);
        let top = self.harp.ways().filter_map(|way| self.harp.note(way)).max();
        for note in (low..=high).filter_map(layout::Note::new).filter(|note| Some(*note) <= top) {
            let class = note.pitch_class();
            let name = class.to_string();
            let column = scale.column(f64::from(note.midi()));
            if class == self.tonic {
                pen.text(column, y, &name, theme.strong);
            } else if width(&name) == 1 {
                pen.text(column, y, &name, theme.faint);
            }
            if let Some(own) = self.degrees(scale).and_then(|key| key.find(note)) {
                // The number stands on the column of its pitch, an accidental before it.
                let degree = own.step.degree.to_string();
                let style = if own.step.semitones() == 0 { theme.strong } else { theme.plain };
                pen.text(column + 1 - width(&degree), y + 1, &degree, style);
            }
        }
    }

    /// The names of the notes below the marks of a hole; one that would touch another is left out.
    fn names(&self, pen: &mut Pen<'_>, (y, hole): (i32, u8), scale: &Scale) {
        let mut marks: Vec<(i32, layout::Note)> = self
            .harp
            .ways_of_hole(hole)
            .filter_map(|way| Some((scale.column(number_of(self.harp, way)?), self.harp.note(way)?)))
            .collect();
        marks.sort_unstable();
        let mut end = -1;
        for (x, note) in marks {
            let name = words::note(self.harp, note);
            if x > end {
                let own = self.key.is_none_or(|key| key.find(note).is_some());
                end = pen.text(x, y, &name, if own { self.look.theme.plain } else { self.look.theme.faint });
            }
        }
    }

    fn row(&self, pen: &mut Pen<'_>, (y, hole): (i32, u8), scale: &Scale) {
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let Some([lower, higher]) = reeds(self.harp, hole) else { return };
        let (left, right) = (scale.column(lower.number), scale.column(higher.number));
        pen.line(left..right, y, glyphs.span, theme.faint);
        for way in self.harp.ways_of_hole(hole) {
            let Some(number) = number_of(self.harp, way) else { continue };
            let own = |key: &ScaleInKey| self.harp.note(way).is_some_and(|note| key.find(note).is_some());
            let style = match self.key {
                _ if self.wanted.contains(&way) => theme.target.patch(theme.strong),
                Some(key) if !own(key) => theme.faint,
                _ => theme.plain,
            };
            pen.glyph(scale.column(number), y, self.sign(way), style);
        }
    }

    fn sign(&self, way: Way) -> char {
        let glyphs = &self.look.glyphs;
        match (way.technique, way.breath) {
            _ if self.wanted.contains(&way) => glyphs.target,
            (Technique::Natural, Breath::Blow) => glyphs.blow,
            (Technique::Natural, Breath::Draw) => glyphs.draw,
            (Technique::Bend(_), _) => glyphs.bend,
            (Technique::Overbend, _) => glyphs.overbend,
        }
    }

    /// The pitch as one upright line; where it meets a mark, the mark stays and is brought out, as are those of the
    /// other reeds that sound.
    fn upright(&self, pen: &mut Pen<'_>, (y, hole): (i32, u8), scale: &Scale) {
        let style = self.look.theme.voice;
        if let Some(pitch) = self.pitch.filter(|_| !self.still) {
            pen.glyph(scale.column(pitch), y, self.look.glyphs.upright, style);
        }
        for way in self.harp.ways_of_hole(hole).filter(|way| self.may_sound(*way)) {
            let Some(number) = number_of(self.harp, way) else { continue };
            pen.glyph(scale.column(number), y, self.sign(way), style.patch(self.look.theme.chosen));
        }
    }

    fn number(&self, pen: &mut Pen<'_>, y: i32, hole: u8) {
        let theme = &self.look.theme;
        let sounds = self.hole_may_sound(hole);
        let x = pen.text(1, y, &format!("{hole:>2}"), if sounds { theme.strong } else { theme.plain });
        if sounds {
            pen.glyph(x, y, self.look.glyphs.now, theme.voice);
        }
    }
}

impl Widget for &Stair<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let columns = area.width.saturating_sub(LEFT);
        let scale = Stair::scale(self.harp, columns);
        let (head, each) = (self.head(&scale), self.of_hole(&scale));
        let holes = self.holes(i32::from(area.height.saturating_sub(head) / each));
        let rows = || (i32::from(head)..).step_by(each.into()).zip(holes.clone());
        for (y, hole) in rows() {
            self.number(&mut Pen::new(buf, area), y, hole);
        }
        let mut pen = Pen::new(buf, Rect { x: area.x + LEFT.min(area.width), width: columns, ..area });
        self.ruler(&mut pen, 0, &scale);
        for (y, hole) in rows() {
            self.row(&mut pen, (y, hole), &scale);
            if each > 1 {
                if let Some(pitch) = self.pitch.filter(|_| !self.still) {
                    pen.glyph(scale.column(pitch), y + 1, self.look.glyphs.upright, self.look.theme.voice);
                }
                self.names(&mut pen, (y + 1, hole), &scale);
            }
            self.upright(&mut pen, (y, hole), &scale);
        }
    }
}

/// The signs of the stair and what they mean.
pub(crate) fn legend(look: &Look) -> String {
    let g = &look.glyphs;
    [(g.blow, "blow"), (g.draw, "draw"), (g.bend, "bend"), (g.overbend, words::OVERBEND)]
        .map(|(sign, word)| format!("{sign} {word}"))
        .join("   ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eighty_columns_give_two_columns_a_semitone_to_every_richter_harp() {
        for key in layout::HarpKey::all() {
            let harp = Harp::richter(key);
            let scale = Stair::scale(&harp, 80 - LEFT);
            assert_eq!(scale.per_semitone(), 2.0);
            for way in harp.ways() {
                let column = scale.column(number_of(&harp, way).unwrap());
                assert!((0..75).contains(&column), "{way} of a {key} harp at {column}");
            }
        }
    }
}
