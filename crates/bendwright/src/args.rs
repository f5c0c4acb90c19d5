//! The command line, defined once: parser, help, completions and manual page all come from here.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// A practice trainer for the ten-hole diatonic harmonica: it listens, says how many cents off you are and which
/// depth a bend reached, and goes through drills with you.
#[derive(Debug, Parser)]
#[command(name = "bendwright", version, about, max_term_width = 100)]
pub(crate) struct Cli {
    /// What to do; without a command the first screen opens.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
    /// What every command understands.
    #[command(flatten)]
    pub(crate) common: Common,
}

/// Options of every command.
#[derive(Args, Clone, Debug)]
pub(crate) struct Common {
    /// The harp in your hand: C, Bb, F#, "low F", "high G"
    #[arg(long, global = true, value_name = "KEY")]
    pub(crate) harp: Option<String>,
    /// Which reeds it has: the name of a tuning
    #[arg(long, global = true, value_name = "NAME")]
    pub(crate) tuning: Option<String>,
    /// Reference pitch A4 in hertz, 400 to 480
    #[arg(long, global = true, value_name = "HZ")]
    pub(crate) a4: Option<f64>,
    /// Where the sound comes from: mic, player (the built-in one) or a WAV file
    #[arg(long, global = true, value_name = "mic|player|FILE.wav")]
    pub(crate) from: Option<String>,
    /// Input device, by the name that `bendwright sound` lists
    #[arg(long, global = true, value_name = "NAME")]
    pub(crate) device: Option<String>,
    /// Channel of the input: auto, left, right, mix, or a number from 1
    #[arg(long, global = true, value_name = "WHICH")]
    pub(crate) channel: Option<String>,
    /// Settings file instead of the one in the config folder
    #[arg(long, global = true, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// Colours of the full screen
    #[arg(long, global = true, value_enum)]
    pub(crate) theme: Option<ThemeName>,
    /// Draw with plain ASCII characters only
    #[arg(long, global = true)]
    pub(crate) ascii: bool,
}

/// Colours of the full screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ThemeName {
    /// The terminal's own colours, one blue, one orange
    Default,
    /// No colour at all
    Mono,
}

/// How events are written where there is no full screen.
#[derive(Args, Clone, Copy, Debug)]
pub(crate) struct Output {
    /// One line per event on standard output, no full screen (for screen readers and pipes)
    #[arg(long)]
    pub(crate) plain: bool,
    /// The same as JSON lines
    #[arg(long, conflicts_with = "plain")]
    pub(crate) json: bool,
}

impl Output {
    /// Whether lines of text are wanted instead of the full screen.
    pub(crate) fn is_text(self) -> bool {
        self.plain || self.json
    }
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Practise a drill: each try is judged
    Drill(DrillArgs),
    /// Play freely and see what sounds: tab, note, cents
    Listen(ListenArgs),
    /// Print the pitch of a recording as CSV, one row a hop
    Track(TrackArgs),
    /// Show sound devices and how loud the input is
    Sound(SoundArgs),
    /// Print a picture of the drill screen as SVG
    Picture,
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
}

/// Arguments of `drill`.
#[derive(Args, Debug)]
pub(crate) struct DrillArgs {
    /// Name of a drill, or a drill file of your own (FILE.toml)
    pub(crate) name: Option<String>,
    /// List the drills and stop
    #[arg(long)]
    pub(crate) list: bool,
    /// Form of the output.
    #[command(flatten)]
    pub(crate) output: Output,
    /// Samples read at a time with --plain or --json; the results do not depend on it
    #[arg(long, hide = true, default_value_t = 512)]
    pub(crate) block: usize,
}

/// Arguments of `listen`.
#[derive(Args, Debug)]
pub(crate) struct ListenArgs {
    /// Form of the output.
    #[command(flatten)]
    pub(crate) output: Output,
    /// Position for the degrees: 1 to 12
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=12))]
    pub(crate) position: Option<u8>,
}

/// Arguments of `track`.
#[derive(Args, Debug)]
pub(crate) struct TrackArgs {
    /// The recording
    pub(crate) file: PathBuf,
}

/// Arguments of `sound`.
#[derive(Args, Debug)]
pub(crate) struct SoundArgs {
    /// How long to watch the level, seconds; 0 only lists the devices
    #[arg(long, default_value_t = 5.0, value_name = "S")]
    pub(crate) seconds: f64,
}
