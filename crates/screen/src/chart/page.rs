//! The chart with everything around it, as a page of plain text.

use super::Chart;
use crate::pen::width;
use std::fmt::Write;
use theory::{MapNote, PlayerNote, Position, ScaleMap, ScaleNote, for_player};

/// Columns of the labels on the left of the page.
const LABEL: usize = 12;

impl Chart<'_> {
    /// The chart of `columns` with its title, its legend, its notes, the tab of each octave up and down, and what is
    /// out of reach with what can stand in for it.
    pub fn page(&self, columns: u16) -> String {
        let mut out = String::new();
        self.title(&mut out);
        let _ = write!(out, "\n{}\n", self.text(columns));
        self.legend(&mut out, columns);
        let map = ScaleMap::new(self.harp, self.key);
        let notes = for_player(self.harp, map.notes_either_way(), self.ability);
        self.scale(&mut out);
        self.octaves(&mut out, &map, &notes);
        self.out_of_reach(&mut out, &notes);
        if self.look.glyphs.ascii() { out.chars().map(crate::glyphs::ascii_for).collect() } else { out }
    }

    fn title(&self, out: &mut String) {
        let position = Position::of(self.harp, self.key.tonic().pitch_class());
        let customary = position.customary_name().map(|name| format!(" ({name})")).unwrap_or_default();
        let dot = self.look.glyphs.dot;
        let _ = writeln!(
            out,
            "{} {dot} {position}{customary} {dot} {} harp {dot} {} tuning\nfor a player of {}",
            self.key.title(),
            self.harp.key(),
            self.harp.tuning().name(),
            self.ability.level().about()
        );
    }

    fn legend(&self, out: &mut String, columns: u16) {
        let g = &self.look.glyphs;
        let mut signs = vec![
            format!("{} blow", g.blow),
            format!("{} draw", g.draw),
            format!("{} bend", g.bend),
            format!("{} overblow or overdraw", g.overbend),
            "(5) out of reach".to_owned(),
            "5~ not every time".to_owned(),
        ];
        if self.key.scale().falling_degrees() != self.key.scale().degrees() {
            signs.push(format!("5{} on the way up only", g.rising));
            signs.push(format!("5{} on the way down only", g.falling));
        }
        let tab = self.look.tab.legend().into_iter().map(|(sign, words)| format!("{sign} = {words}"));
        for items in [signs, tab.collect()] {
            for row in rows(&items, columns.into()) {
                let _ = writeln!(out, "{row}");
            }
        }
        out.push('\n');
    }

    /// The notes of the scale by degree and by name, and those of its way down where they differ.
    fn scale(&self, out: &mut String) {
        let said = |out: &mut String, (degrees, names): (&str, &str), notes: &[ScaleNote]| {
            let all = |say: fn(&ScaleNote) -> String| notes.iter().map(say).collect::<Vec<_>>().join(" ");
            line(out, degrees, &all(|note| note.step.degree.to_string()));
            line(out, names, &all(|note| note.name.to_string()));
        };
        let (rising, falling): (Vec<_>, Vec<_>) =
            (self.key.notes().collect(), self.key.falling_notes().collect());
        said(out, ("degrees", "notes"), &rising);
        if falling != rising {
            said(out, ("downwards", ""), &falling);
        }
    }

    /// The tab of each octave, up and down.
    fn octaves(&self, out: &mut String, map: &ScaleMap, notes: &[PlayerNote]) {
        for [ends, up, down] in self.runs(map, notes) {
            line(out, &ends, &format!("up    {up}"));
            line(out, "", &format!("down  {down}"));
        }
    }

    /// Each octave of the scale: from where to where, and its tab up and down.
    pub(crate) fn runs(&self, map: &ScaleMap, notes: &[PlayerNote]) -> Vec<[String; 3]> {
        let run = |octave: &theory::Octave<'_>| {
            let (low, high) = octave.range()?;
            let name = |note: Option<&MapNote>| note.map(MapNote::name).unwrap_or_default();
            let ends = format!("{} to {}", name(octave.notes.first()), name(octave.notes.last()));
            let up = self.run(&map.run_up(low, high), notes);
            Some([ends, up, self.run(&map.run_down(high, low), notes)])
        };
        map.octaves().iter().filter_map(run).collect()
    }

    /// A run as tab; what is out of reach stands in brackets, by its name where the harp does not have it.
    fn run(&self, run: &[&MapNote], notes: &[PlayerNote]) -> String {
        let one = |note: &&MapNote| {
            let way = notes.iter().find(|own| own.note.note == note.note).and_then(|own| own.way);
            let reached = way.or_else(|| note.ways.iter().copied().find(|way| self.ability.reaches(*way)));
            match (reached, note.simplest()) {
                (Some(way), _) => self.look.tab(way),
                (None, Some(way)) => format!("({})", self.look.tab(way)),
                (None, None) => format!("({})", note.name()),
            }
        };
        run.iter().map(one).collect::<Vec<_>>().join(" ")
    }

    fn out_of_reach(&self, out: &mut String, notes: &[PlayerNote]) {
        let mut label = "out of reach";
        for gap in notes.iter().filter(|note| !note.reachable()) {
            let instead: Vec<String> = gap
                .substitutes
                .iter()
                .map(|other| format!("{} ({})", self.key.written(other.note), self.look.tab(other.way)))
                .collect();
            let degree = gap.note.is.step.degree;
            let mut text = format!("{} (degree {degree})", gap.note.name());
            if !instead.is_empty() {
                let _ = write!(text, "; instead {}", instead.join(" or "));
            }
            line(out, label, &text);
            label = "";
        }
    }
}

/// Items set apart by commas, as many in a row as fit into `room` columns.
fn rows(items: &[String], room: i32) -> Vec<String> {
    let mut rows: Vec<String> = Vec::new();
    for item in items {
        match rows.last_mut() {
            Some(row) if width(row) + 2 + width(item) <= room => {
                row.push_str(", ");
                row.push_str(item);
            }
            _ => rows.push(item.clone()),
        }
    }
    rows
}

/// A line of the page with its label.
fn line(out: &mut String, label: &str, text: &str) {
    let _ = writeln!(out, "{label:<LABEL$}  {text}");
}
