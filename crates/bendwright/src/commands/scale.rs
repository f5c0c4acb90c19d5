//! `scale`: a scale in time.

use crate::args::RunArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::scale_choice::{ScaleChoice, note_range};
use crate::setup::{HearFrom, Setup};
use crate::{lines, source, ui};
use practice::Order;
use practice::run::{Clicking, Material, Plan, Rhythm, ScaleRun, Shape, StartAt};
use sound::Pace;

/// Runs the command: a line for each note and each run with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If an argument is wrong, the scale has nothing that the player can play, or the sound or the output fails.
pub(crate) fn run(args: &RunArgs, setup: Setup) -> Result<(), Failure> {
    let choice = ScaleChoice::new(&args.scale, &setup)?;
    let plan = plan(args, &choice, &setup)?;
    match Report::new(args.output) {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            lines::run(Order::Run(Box::new(plan)), &setup, source, (report, choice.position))
        }
        None => ui::run(setup, ui::Start::Run(plan)),
    }
}

fn plan(args: &RunArgs, choice: &ScaleChoice, setup: &Setup) -> Result<Plan, Failure> {
    let rhythm = rhythm(args)?;
    let shape: Shape = args.order.parse().map_err(|error| Failure::user(format!("--order: {error}")))?;
    let ability = choice.ability.clone().unwrap_or_default();
    let range = args.range.as_deref().map(note_range).transpose()?;
    let run = ScaleRun { key: &choice.key, shape, range, ability: &ability, seed: args.seed };
    let title = format!("{}, {shape}", choice.key.title());
    let ways = run.ways(&setup.harp);
    let material = Material::of_ways(title, &ways, rhythm).map_err(Failure::user)?;
    let recording = matches!(setup.from, HearFrom::File(_));
    let start = match args.starts {
        Some(seconds) if !seconds.is_finite() || seconds < 0.0 => {
            return Err(Failure::user(format!(
                "--starts: {seconds} is no moment of a recording; write seconds from its beginning"
            )));
        }
        Some(_) if !recording => {
            return Err(Failure::user("--starts is for a recording; name it with --from FILE.wav"));
        }
        Some(seconds) => StartAt::At(seconds),
        None if args.free => StartAt::FreeTime,
        None if recording => StartAt::FirstNote,
        None => StartAt::CountIn,
    };
    // A recording is played through once.
    let runs = if recording { 1 } else { args.runs };
    // The built-in player hears the beat as it is made.
    let delay_s = matches!(setup.from, HearFrom::Player).then_some(0.0);
    let what = args.click.parse().map_err(|error| Failure::user(format!("--click: {error}")))?;
    let clicking = Clicking { what, silent_bars: args.silent_bars };
    Ok(Plan { material, start, runs, ladder: args.ladder, clicking, delay_s })
}

fn rhythm(args: &RunArgs) -> Result<Rhythm, Failure> {
    let mistake = |option: &str, error| Failure::user(format!("--{option}: {error}"));
    let tempo = args.tempo.parse().map_err(|error| mistake("tempo", error))?;
    let metre = args.metre.parse().map_err(|error| mistake("metre", error))?;
    let values = args.values.parse().map_err(|error| mistake("values", error))?;
    let swing = args.swing.parse().map_err(|error| mistake("swing", error))?;
    Rhythm::new(tempo, metre, values, swing).map_err(|error| mistake("swing", error))
}
