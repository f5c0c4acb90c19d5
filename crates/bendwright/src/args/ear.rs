//! Arguments of `ear`.

use super::Output;
use clap::Args;
use practice::ear::Shape;

/// Arguments of `ear`.
#[derive(Args, Debug)]
pub(crate) struct EarArgs {
    /// What is asked: call (call and response), drone, interval, degree, depth (of a bend)
    #[arg(value_name = "WHAT", default_value_t)]
    pub(crate) shape: Shape,
    /// Sound an interval or a degree instead of naming it
    #[arg(long)]
    pub(crate) heard: bool,
    /// The position in which a call is to be answered, on the same degrees: 1 to 12, or straight, cross, slant
    #[arg(long, value_name = "N")]
    pub(crate) answer_in: Option<String>,
    /// Tell hole and breath of a bend whose depth is asked
    #[arg(long)]
    pub(crate) tell_hole: bool,
    /// Position: 1 to 12, or straight, cross, slant; 2 if neither it nor --key is given
    #[arg(long, value_name = "N")]
    pub(crate) position: Option<String>,
    /// The home note of the scale, instead of the position: D, Eb, F#
    #[arg(long, value_name = "NOTE", conflicts_with = "position")]
    pub(crate) key: Option<String>,
    /// The scale from which the notes are taken, by name
    #[arg(long, value_name = "NAME", default_value = "blues")]
    pub(crate) scale: String,
    /// What you command: a level, and after a comma single ways besides; nothing beyond it is asked
    #[arg(long, value_name = "LEVEL[, TAB]")]
    pub(crate) able: Option<String>,
    /// Decides which questions are asked; those of today if not given
    #[arg(long, value_name = "NUMBER")]
    pub(crate) seed: Option<u64>,
    /// How many questions
    #[arg(long, value_name = "N", default_value_t = Shape::QUESTIONS, value_parser = clap::value_parser!(u32).range(1..=200))]
    pub(crate) count: u32,
    /// Form of the output.
    #[command(flatten)]
    pub(crate) output: Output,
    /// Samples read at a time with --plain or --json; the results do not depend on it
    #[arg(long, hide = true, default_value_t = 512)]
    pub(crate) block: usize,
}
