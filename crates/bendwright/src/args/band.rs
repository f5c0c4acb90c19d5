//! Arguments of `band`.

use super::Output;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `band`.
#[derive(Args, Debug)]
pub(crate) struct BandArgs {
    /// The chords: the name of a progression, such as twelve-bar, or numerals bar by bar, such as "I7 | IV7 | I7 V7 | I7"; twelve-bar if not given
    #[arg(long, value_name = "FORM")]
    pub(crate) form: Option<String>,
    /// The home note: A, Bb, F#; that of 2nd position on your harp if not given
    #[arg(long, value_name = "NOTE")]
    pub(crate) key: Option<String>,
    /// How it is played: straight, shuffle, swing, slow 12/8, train, waltz
    #[arg(long, value_name = "FEEL", default_value = "shuffle")]
    pub(crate) feel: String,
    /// Beats a minute, 30 to 240; as the feel has it if not given
    #[arg(long, value_name = "BPM", allow_negative_numbers = true)]
    pub(crate) tempo: Option<String>,
    /// The metre: 2/4, 3/4, 4/4, 5/4, 6/8, 12/8; as the feel has it if not given
    #[arg(long, value_name = "METRE")]
    pub(crate) metre: Option<String>,
    /// How often the form is played before the last chord; without end on the loudspeaker and 3 times in a file if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(crate) choruses: Option<u32>,
    /// Who does not play, set apart by commas: bass, chords, kit
    #[arg(long, value_name = "WHO")]
    pub(crate) without: Option<String>,
    /// Another number, other small differences from bar to bar
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(crate) seed: u64,
    /// A steady tone on a degree of the key instead of a band: 1, 5, b7
    #[arg(long, value_name = "DEGREE", conflicts_with_all = ["form", "feel", "tempo", "metre", "choruses", "without", "seed"])]
    pub(crate) drone: Option<String>,
    /// How long the drone sounds, seconds; without end on the loudspeaker and 60 in a file if not given
    #[arg(long, value_name = "S", requires = "drone", allow_negative_numbers = true)]
    pub(crate) seconds: Option<f64>,
    /// A recording of your own as the band (a WAV file), with --first-beat and --tempo, or --tap to find them; --form says which chords it has
    #[arg(long, value_name = "FILE.wav", conflicts_with_all = ["feel", "choruses", "without", "seed", "drone", "out"])]
    pub(crate) recording: Option<PathBuf>,
    /// The second of the recording at which its first bar begins
    #[arg(long, value_name = "S", requires = "recording", allow_negative_numbers = true)]
    pub(crate) first_beat: Option<f64>,
    /// Sound the recording while you press enter on each beat, from the first beat of its first bar on: says --first-beat and --tempo
    #[arg(long, requires = "recording", conflicts_with_all = ["first_beat", "tempo", "form", "metre"])]
    pub(crate) tap: bool,
    /// How loud its loudest moment is at most, dBFS, -60 to -12; -15 if not given, for a drone -20
    #[arg(long, value_name = "DBFS", allow_negative_numbers = true)]
    pub(crate) level: Option<f64>,
    /// Write it into this WAV file instead of sounding it
    #[arg(long, value_name = "FILE.wav")]
    pub(crate) out: Option<PathBuf>,
    /// Write over a file that is there already
    #[arg(long, requires = "out")]
    pub(crate) force: bool,
    /// List the forms and stop
    #[arg(long)]
    pub(crate) list: bool,
    /// Form of the output: with it each bar is told as it begins.
    #[command(flatten)]
    pub(crate) output: Output,
}
