//! The command line, defined once: parser, help, completions and manual page all come from here.

mod band;
mod ear;
mod jam;
mod journal;

use clap::{Args, Parser, Subcommand, ValueEnum};
use practice::Feedback;
use serde::Deserialize;
use std::ffi::OsString;
use std::path::PathBuf;
use theory::Position;

pub(crate) use band::BandArgs;
pub(crate) use ear::EarArgs;
pub(crate) use jam::JamArgs;
pub(crate) use journal::{JournalArgs, JournalTask};

/// A practice trainer for the ten-hole diatonic harmonica: it listens, says how many cents off you are and which
/// depth a bend reached, and goes through drills with you.
#[derive(Debug, Parser)]
#[command(name = "bendwright", version, about, max_term_width = 100)]
pub(crate) struct Cli {
    /// What to do; without a command the first screen opens.
    #[command(subcommand)]
    pub(crate) command: Option<Task>,
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
    /// How its reeds are tuned: the name of a temperament
    #[arg(long, global = true, value_name = "NAME")]
    pub(crate) temperament: Option<String>,
    /// Reference pitch A4 in hertz, 400 to 480
    #[arg(long, global = true, value_name = "HZ")]
    pub(crate) a4: Option<f64>,
    /// Where the sound comes from: mic, player (the built-in one), a WAV file, or - for one on standard input
    #[arg(long, global = true, value_name = "mic|player|FILE.wav")]
    pub(crate) from: Option<OsString>,
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
    /// Who plays, where several players share a computer
    #[arg(long, global = true, value_name = "NAME")]
    pub(crate) who: Option<String>,
    /// Keep nothing of what is practised
    #[arg(long, global = true)]
    pub(crate) no_journal: bool,
}

/// Colours of the full screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum, Deserialize)]
#[serde(rename_all = "lowercase")]
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

/// What `track` prints.
const COLUMNS: &str = "\
Columns of the pitch: known_s, the seconds of the recording until the row was known; time_s, the moment it is about; hz, \
the fundamental, empty where no note sounds; clarity, 0 to 1; level_dbfs, decibels relative to a full-scale sine; onset, 1 \
where a note begins; sigma_cents, how uncertain the pitch is: one standard deviation.

Columns with --reeds: known_s; time_s, the middle of the 60 ms that were heard; voices, how many sound; then for each of up \
to five, the strongest first, tab_1, hz_1, level_dbfs_1 and so on, empty where there are fewer. With --harp or --tuning the \
voices are reeds of that harp; without them no harp is known, and up to two pitches are told without tab.

A recording on a pipe is read as it comes. Where its header leaves the length open (0 or 2^32 - 1, as programs do that write \
to a pipe), it ends where the pipe does.";

/// How `programme` counts.
const PROGRAMMES: &str = "\
A programme counts days on which something of it was practised, and not days of the calendar: whoever was away finds the week as \
it was left. A week is over when its goals are reached, after three days at least, or after seven days; what is open then goes \
along beside the next week. A distance in a goal, \"typically within 15 cents\", is the root of the mean square of all distances \
of those tries, misses included. What the built-in player or a recording plays does not count.";

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Task {
    /// Practise a drill: each try is judged
    Drill(DrillArgs),
    /// Play a scale in time, to a count-in and a beat: each note is judged in pitch and in time
    Scale(RunArgs),
    /// Play a phrase or lick in time, of ours or of your own: each note is judged in pitch and in time
    Phrase(PhraseArgs),
    /// Play freely over the chords of a form, with a band: what you played, bar by bar, and what it was to the chord under it
    Jam(JamArgs),
    /// Be asked by ear: answer a call, match a drone, play an interval or a degree, reproduce the depth of a bend
    Ear(EarArgs),
    /// Play freely and see what sounds: tab, note, cents
    Listen(ListenArgs),
    /// Show where a scale and its chords lie on your harp, and what each note asks of you
    Map(MapArgs),
    /// Find the harp, position and tuning on which a song costs you least
    Choose(ChooseArgs),
    /// Write a sheet, or a booklet, to print: text, SVG, HTML or PDF
    Sheet(SheetArgs),
    /// Print the pitch of a recording as CSV, one row a hop; or which reeds sound together
    #[command(after_help = COLUMNS)]
    Track(TrackArgs),
    /// Play over a band, a drone or a recording of your own on the loudspeaker, or write it as a WAV file
    Band(BandArgs),
    /// Show sound devices and how loud the input is
    Sound(SoundArgs),
    /// Show programmes that go week by week, follow one, and see where you stand in it
    #[command(after_help = PROGRAMMES)]
    Programme(ProgrammeArgs),
    /// Show what is kept of your practice: how much, and what you played last
    Journal(JournalArgs),
    /// Show where settings and files of your own lie, and what every setting is and means
    Config(ConfigArgs),
    /// Print the picture of the README, the drill screen as SVG: for who works on the program, not for players
    #[command(hide = true)]
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
    /// Print a complete drill file to begin your own from, and stop
    #[arg(long, conflicts_with_all = ["name", "list"])]
    pub(crate) example: bool,
    /// When your pitch is shown: always, fading (less and less often, at last only after every five tries), after (when a try is over)
    #[arg(long, value_name = "WHEN")]
    pub(crate) feedback: Option<Feedback>,
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
    /// Position for the degrees: 1 to 12, or straight, cross, slant; 2 if not given
    #[arg(long, value_name = "N")]
    pub(crate) position: Option<Position>,
    /// Samples read at a time with --plain or --json; the results do not depend on it
    #[arg(long, hide = true, default_value_t = 512)]
    pub(crate) block: usize,
}

/// Arguments of `track`.
#[derive(Args, Debug)]
pub(crate) struct TrackArgs {
    /// The recording: a WAV file, a pipe that brings one, or - for standard input
    pub(crate) file: PathBuf,
    /// Print which reeds sound together instead, one row every 10 ms
    #[arg(long)]
    pub(crate) reeds: bool,
    /// Samples read at a time; the results do not depend on it
    #[arg(long, hide = true, default_value_t = 512)]
    pub(crate) block: usize,
}

/// Arguments of `config`.
#[derive(Args, Debug)]
pub(crate) struct ConfigArgs {
    /// Print every setting in the form of a settings file: the value in force, where it comes from, what it means
    #[arg(long)]
    pub(crate) show: bool,
}

/// Arguments of `sound`.
#[derive(Args, Debug)]
pub(crate) struct SoundArgs {
    /// How long to watch the level, seconds; 0 only lists the devices
    #[arg(long, default_value_t = 5.0, value_name = "S")]
    pub(crate) seconds: f64,
    /// Measure how long a sound takes from the loudspeaker to the microphone, by chirps, and remember it for these two devices;
    /// with headphones hold one cup to the microphone
    #[arg(long)]
    pub(crate) delay: bool,
}

/// A scale on a harp, and who plays it.
#[derive(Args, Debug)]
pub(crate) struct ScaleArgs {
    /// Position: 1 to 12, or straight, cross, slant; 2 if neither it nor --tonic is given
    #[arg(long, value_name = "N")]
    pub(crate) position: Option<String>,
    /// The home note, instead of the position: D, Eb, F#
    #[arg(long, value_name = "NOTE", conflicts_with = "position")]
    pub(crate) tonic: Option<String>,
    /// The scale, by name; blues if not given, and for `scale` with a position the one that it is begun with
    #[arg(long, value_name = "NAME")]
    pub(crate) scale: Option<String>,
    /// What you command: a level, and after a comma single ways besides, such as "draw-bends, 8' 6o"
    #[arg(long, value_name = "LEVEL[, TAB]")]
    pub(crate) able: Option<String>,
}

/// Arguments of `scale`.
#[derive(Args, Debug)]
pub(crate) struct RunArgs {
    /// What is played.
    #[command(flatten)]
    pub(crate) scale: ScaleArgs,
    /// Note values: whole notes, halves, quarters, quarter triplets, eighths, triplets, sixteenths, sixteenth triplets
    #[arg(long, value_name = "NAME", default_value = "eighths")]
    pub(crate) values: String,
    /// The metre: 2/4, 3/4, 4/4, 5/4, 6/8, 12/8
    #[arg(long, value_name = "METRE", default_value = "4/4")]
    pub(crate) metre: String,
    /// The order of the notes: up, down, up-and-down, thirds, threes, fours, broken-chords, random-walk
    #[arg(long, value_name = "NAME", default_value = "up-and-down")]
    pub(crate) order: String,
    /// The chords to play, bar by bar, each broken into its notes: the name of a progression, such as twelve-bar, or
    /// numerals, such as "I7 | IV7 | I7 | V7"
    #[arg(long, value_name = "CHORDS", conflicts_with_all = ["order", "scale", "seed"])]
    pub(crate) changes: Option<String>,
    /// The lowest and the highest note, such as "G4 to G6"; the octave that costs you least if not given
    #[arg(long, value_name = "NOTES")]
    pub(crate) range: Option<String>,
    /// Decides about a random walk
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(crate) seed: u64,
    /// How it is played.
    #[command(flatten)]
    pub(crate) time: TimeArgs,
}

/// Arguments of `phrase`.
#[derive(Args, Debug)]
pub(crate) struct PhraseArgs {
    /// Name of a phrase, or a phrase file of your own (FILE.toml)
    pub(crate) name: Option<String>,
    /// List the phrases and stop
    #[arg(long)]
    pub(crate) list: bool,
    /// Print a complete phrase file to begin your own from, and stop
    #[arg(long, conflicts_with_all = ["name", "list"])]
    pub(crate) example: bool,
    /// How it is played.
    #[command(flatten)]
    pub(crate) time: TimeArgs,
}

/// How something is played in time, and what is written about it.
#[derive(Args, Debug)]
pub(crate) struct TimeArgs {
    /// Beats a minute, 30 to 240; 80 if not given, for a phrase what it suggests
    #[arg(long, value_name = "BPM", allow_negative_numbers = true)]
    pub(crate) tempo: Option<String>,
    /// How long the first of two eighths is against the second: straight, or a ratio such as 2:1; straight if not given, for a
    /// phrase as it says
    #[arg(long, value_name = "RATIO")]
    pub(crate) swing: Option<String>,
    /// How often it is played
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=200))]
    pub(crate) runs: u32,
    /// Move the tempo: a few beats a minute up after clean runs and down after others (steps), or slow and full in turn
    /// (in-turn); stops when the runs get worse
    #[arg(long, value_name = "HOW", num_args = 0..=1, require_equals = true, default_missing_value = "steps", conflicts_with = "free")]
    pub(crate) ladder: Option<String>,
    /// The first run in your own tempo; the runs behind it go on from there
    #[arg(long, conflicts_with_all = ["free", "starts"])]
    pub(crate) own_tempo_first: bool,
    /// Hear it first: a reed voice plays it to you on the loudspeaker, and then the count-in comes
    #[arg(long, conflicts_with = "starts")]
    pub(crate) hear: bool,
    /// What is clicked after the count-in: beats, bars, backbeats, notes, count-in (nothing more); beats if not given, with --band
    /// nothing more
    #[arg(long, value_name = "WHAT")]
    pub(crate) click: Option<String>,
    /// Over the band instead of the click: the name of a progression, or numerals, such as "I7 | IV7"; the chords of --changes, or
    /// that of home, if not given
    #[arg(long, value_name = "CHORDS", num_args = 0..=1, require_equals = true, default_missing_value = "", conflicts_with_all = ["free", "silent_bars"])]
    pub(crate) band: Option<String>,
    /// After so many bars with the click as many without it, in turn, to try your own time
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u32).range(0..=16))]
    pub(crate) silent_bars: u32,
    /// In a recording: the second at which the first beat is; the first note that is heard if not given
    #[arg(long, value_name = "S", conflicts_with = "free")]
    pub(crate) starts: Option<f64>,
    /// In your own tempo: nothing is judged in time, and your tempo is told
    #[arg(long)]
    pub(crate) free: bool,
    /// Form of the output.
    #[command(flatten)]
    pub(crate) output: Output,
    /// Samples read at a time with --plain or --json; the results do not depend on it
    #[arg(long, hide = true, default_value_t = 512)]
    pub(crate) block: usize,
}

/// Arguments of `map`.
#[derive(Args, Debug)]
pub(crate) struct MapArgs {
    /// What is shown.
    #[command(flatten)]
    pub(crate) scale: ScaleArgs,
    /// A second scale on the same home note, to fill what is out of your reach
    #[arg(long, value_name = "NAME")]
    pub(crate) fill: Option<String>,
    /// The chords to find a place for, by the name of a progression
    #[arg(long, value_name = "NAME")]
    pub(crate) progression: Option<String>,
    /// Everything as JSON
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `choose`.
#[derive(Args, Debug)]
pub(crate) struct ChooseArgs {
    /// The home note of the song: A, Bb, F#
    #[arg(long, value_name = "NOTE")]
    pub(crate) song_key: String,
    /// The song's scale, by name
    #[arg(long, value_name = "NAME", conflicts_with = "mode")]
    pub(crate) scale: Option<String>,
    /// The song's mode, by name: major, Dorian, Mixolydian, minor; the same as --scale
    #[arg(long, value_name = "NAME")]
    pub(crate) mode: Option<String>,
    /// The song's feel, by the chord on its home note: major, dominant or minor
    #[arg(long, value_name = "FEEL")]
    pub(crate) feel: Option<String>,
    /// The song's chords: a row of numerals such as "ii-V-I" or "I7 | IV7 V7", or the name of a progression
    #[arg(long, value_name = "CHORDS")]
    pub(crate) changes: Option<String>,
    /// Only the harps you own: "C, D, G, A, low F natural minor"
    #[arg(long, value_name = "HARPS")]
    pub(crate) owned: Option<String>,
    /// Tunings to choose from, by name, set apart by commas, or "all"; the one of your harp if not given
    #[arg(long, value_name = "NAMES", conflicts_with = "owned")]
    pub(crate) tunings: Option<String>,
    /// What you command: a level, and after a comma single ways besides, such as "draw-bends, 8' 6o"
    #[arg(long, value_name = "LEVEL[, TAB]")]
    pub(crate) able: Option<String>,
    /// How far the song's lowest and highest note lie apart, half steps
    #[arg(long, value_name = "N", default_value_t = 19, value_parser = clap::value_parser!(u8).range(1..=48))]
    pub(crate) span: u8,
    /// The song's lowest and highest note where its pitch is fixed, as by a singer: "E3 to E5"; low and high harps count then
    #[arg(long, value_name = "NOTES", conflicts_with = "span")]
    pub(crate) range: Option<String>,
    /// How many choices to show
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = clap::value_parser!(u16).range(1..))]
    pub(crate) most: u16,
    /// Everything as JSON
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `sheet`.
#[derive(Args, Debug)]
pub(crate) struct SheetArgs {
    /// What is shown.
    #[command(flatten)]
    pub(crate) scale: ScaleArgs,
    /// Many sheets: the scale in all positions, in all keys, or the mode that each position plays without bends
    #[arg(long, value_enum, value_name = "WHICH")]
    pub(crate) booklet: Option<Booklet>,
    /// Form of the output; without it the ending of FILE decides
    #[arg(long, value_enum)]
    pub(crate) format: Option<Format>,
    /// Size of the paper
    #[arg(long, value_enum, default_value_t)]
    pub(crate) paper: PaperName,
    /// The file to write; standard output if not given
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// Write over a file that is there already
    #[arg(long)]
    pub(crate) force: bool,
}

/// Sheets that belong together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Booklet {
    /// The scale in the twelve positions of the harp
    Positions,
    /// The scale and position on the twelve usual harps
    Keys,
    /// The mode of each position whose home note is a plain note
    Modes,
}

/// How a sheet is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Plain text, 80 columns
    Text,
    /// A picture of both pages
    Svg,
    /// A page for a browser and for screen readers
    Html,
    /// Paper
    Pdf,
}

/// Size of the paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperName {
    /// 210 × 297 mm
    #[default]
    A4,
    /// 8½ × 11 inches
    Letter,
}

/// Arguments of `programme`.
#[derive(Args, Debug)]
#[allow(clippy::struct_excessive_bools, reason = "each is a flag of the command line")]
pub(crate) struct ProgrammeArgs {
    /// Name of a programme, or a programme file of your own (FILE.toml); without one, where you stand in the one you follow
    pub(crate) name: Option<String>,
    /// List the programmes and stop
    #[arg(long, conflicts_with = "name")]
    pub(crate) list: bool,
    /// Follow it, from this day on: today, or a date such as 2026-11-28
    #[arg(long, value_name = "DAY", requires = "name")]
    pub(crate) begin: Option<String>,
    /// Follow no programme any more
    #[arg(long, conflicts_with_all = ["name", "list", "begin"])]
    pub(crate) none: bool,
    /// Print a complete programme file to begin your own from, and stop
    #[arg(long, conflicts_with_all = ["name", "list", "begin", "none"])]
    pub(crate) example: bool,
    /// Everything as JSON
    #[arg(long)]
    pub(crate) json: bool,
}
