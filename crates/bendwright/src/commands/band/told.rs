//! What is said of the band: sentences for people, JSON lines for programs.

use super::asked::{Grid, Piece};
use super::tapped::Beats;
use crate::args::Output;
use crate::failure::Failure;
use serde::Serialize;
use sheets::Letters;
use std::io::{self, Write};

/// Version of the JSON lines; it changes when a field changes its meaning or goes.
const SCHEMA: &str = "bendwright/band/1";
/// Bars on a line of the form.
const PER_LINE: usize = 4;

/// How things are said.
pub(super) struct Told {
    output: Output,
    letters: Letters,
}

#[derive(Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
enum Line<'a> {
    Band {
        title: &'a str,
        /// Beats of a bar and seconds of a bar, where there are bars.
        beats: Option<u32>,
        bar_s: Option<f64>,
        /// The second of the sound at which the first bar begins.
        first_bar_s: Option<f64>,
        /// How many bars there are, the last chord's included; nothing where they go on and on.
        bars: Option<u64>,
        /// The chords of each bar of the form.
        form: Option<&'a [Vec<String>]>,
    },
    Bar {
        /// From 1, since the band began.
        bar: u64,
        /// From 1, in the form.
        of_form: Option<u64>,
        /// The second of the sound at which it begins.
        at_s: f64,
        chords: Vec<String>,
    },
    Notice {
        message: &'a str,
    },
    /// Where the beats of a recording are, by the player's taps.
    Tapped {
        first_beat_s: f64,
        tempo_bpm: f64,
        /// How far a tap lay off its beat, as a root of the mean square.
        off_s: f64,
    },
    Written {
        file: String,
        seconds: f64,
        peak_dbfs: f64,
    },
    End,
}

#[derive(Serialize)]
struct WithSchema<'a> {
    schema: &'static str,
    #[serde(flatten)]
    line: Line<'a>,
}

impl Told {
    pub(super) fn new(output: Output, letters: Letters) -> Self {
        Self { output, letters }
    }

    /// Announces the piece; `how` tells a listener how to end it.
    pub(super) fn piece(&self, piece: &Piece, how: &str) -> Result<(), Failure> {
        let grid = piece.grid.as_ref();
        if self.output.json {
            return json(Line::Band {
                title: &piece.title,
                beats: grid.map(|grid| grid.beats),
                bar_s: grid.map(Grid::bar_s),
                first_bar_s: grid.map(|grid| grid.first_s),
                bars: grid.and_then(|grid| grid.bars),
                form: grid.map(|grid| &grid.form[..]).filter(|form| !form.is_empty()),
            });
        }
        let mut text = format!("{}{how}\n", piece.title);
        for bars in grid.map_or(&[][..], |grid| &grid.form).chunks(PER_LINE) {
            let bars: Vec<String> = bars.iter().map(|bar| format!("{:<9}", bar.join(" "))).collect();
            text = text + "  | " + &bars.join(" | ") + " |\n";
        }
        self.text(&text)
    }

    /// A bar that begins, counted from 0. It is told where lines of text are wanted.
    pub(super) fn bar(&self, grid: &Grid, bar: u64) -> Result<(), Failure> {
        let of_form = grid.form.len() as u64;
        let is_last = grid.last.is_some() && grid.bars == Some(bar + 1);
        let of_form = (of_form > 0 && !is_last).then(|| bar % of_form + 1);
        let chords = grid.chords(bar);
        if self.output.json {
            let at_s = grid.first_s + bar as f64 * grid.bar_s();
            return json(Line::Bar { bar: bar + 1, of_form, at_s, chords });
        }
        if !self.output.plain {
            return Ok(());
        }
        let place = of_form.map_or(String::new(), |n| format!(" ({n} of {})", grid.form.len()));
        let chords = if chords.is_empty() { String::new() } else { format!(": {}", chords.join(" ")) };
        self.text(&format!("bar {}{place}{chords}\n", bar + 1))
    }

    /// A sentence about the sound.
    pub(super) fn notice(&self, message: &str) -> Result<(), Failure> {
        if self.output.json { json(Line::Notice { message }) } else { self.text(&format!("{message}\n")) }
    }

    /// Where the beats of a recording are.
    pub(super) fn tapped(&self, beats: &Beats) -> Result<(), Failure> {
        let Beats { first_s, bpm, off_s } = *beats;
        if self.output.json {
            return json(Line::Tapped { first_beat_s: first_s, tempo_bpm: bpm, off_s });
        }
        let ms = (off_s * 1_000.0).round();
        self.text(&format!(
            "--first-beat {first_s:.2} --tempo {bpm:.1} (your taps lie {ms} ms off these beats)\n"
        ))
    }

    /// A file that has been written, for programs; people are told by the code that wrote it.
    pub(super) fn written(&self, file: String, seconds: f64, peak_dbfs: f64) -> Result<(), Failure> {
        if self.output.json { json(Line::Written { file, seconds, peak_dbfs }) } else { Ok(()) }
    }

    /// The piece has come to its end.
    pub(super) fn end(&self) -> Result<(), Failure> {
        if self.output.json { json(Line::End) } else { Ok(()) }
    }

    fn text(&self, text: &str) -> Result<(), Failure> {
        put(&self.letters.spell(text))
    }
}

fn json(line: Line<'_>) -> Result<(), Failure> {
    let text = serde_json::to_string(&WithSchema { schema: SCHEMA, line }).map_err(io::Error::from)?;
    put(&format!("{text}\n"))
}

/// Each line goes out at once, for whoever reads along.
fn put(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    Ok(out.flush()?)
}
