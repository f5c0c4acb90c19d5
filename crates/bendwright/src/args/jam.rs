//! Arguments of `jam`.

use super::Output;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `jam`.
#[derive(Args, Debug)]
pub(crate) struct JamArgs {
    /// The chords: the name of a progression, or numerals, such as "I7 | IV7 | I7 | V7"; twelve-bar if not given
    #[arg(long, value_name = "CHORDS")]
    pub(crate) form: Option<String>,
    /// The key of the form, its home note: A, Bb, F#; the one of the second position of your harp if not given
    #[arg(long, value_name = "NOTE")]
    pub(crate) key: Option<String>,
    /// How the band plays, or your recording: straight, shuffle, swing, slow 12/8, train, waltz
    #[arg(long, value_name = "NAME", default_value = "shuffle")]
    pub(crate) feel: String,
    /// Beats a minute, 30 to 240; as is usual for the feel if not given
    #[arg(long, value_name = "BPM", allow_negative_numbers = true)]
    pub(crate) tempo: Option<String>,
    /// How often the form goes round; then comes one bar more with the last chord
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=200))]
    pub(crate) choruses: u32,
    /// The form goes round until you leave
    #[arg(long, conflicts_with = "choruses")]
    pub(crate) endless: bool,
    /// A recording of your own as the band (a WAV file), with --form, --first-beat and --tempo; it lasts as long as it does
    #[arg(long, value_name = "FILE.wav", conflicts_with_all = ["choruses", "endless"])]
    pub(crate) recording: Option<PathBuf>,
    /// The second of that recording at which its first bar begins
    #[arg(long, value_name = "S", requires = "recording", allow_negative_numbers = true)]
    pub(crate) first_beat: Option<f64>,
    /// The scale you want to play, by name; as is usual for the form if not given
    #[arg(long, value_name = "NAME")]
    pub(crate) scale: Option<String>,
    /// What you command: a level, and after a comma single ways besides; of the scale nothing else is called unplayed
    #[arg(long, value_name = "LEVEL[, TAB]")]
    pub(crate) able: Option<String>,
    /// What is clicked: count-in (nothing more), beats, bars, backbeats, notes
    #[arg(long, value_name = "WHAT", default_value = "count-in")]
    pub(crate) click: String,
    /// In a recording: the second at which the first beat is; the first note that is heard if not given
    #[arg(long, value_name = "S")]
    pub(crate) starts: Option<f64>,
    /// Form of the output.
    #[command(flatten)]
    pub(crate) output: Output,
    /// Samples read at a time with --plain or --json; the results do not depend on it
    #[arg(long, hide = true, default_value_t = 512)]
    pub(crate) block: usize,
}
