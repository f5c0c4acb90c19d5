//! `scale`: a scale in time.

use crate::args::RunArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::scale_choice::{ScaleChoice, changes, note_range};
use crate::setup::{HearFrom, Setup};
use crate::{lines, source, ui};
use practice::Order;
use practice::run::{Clicking, FormRun, Material, Plan, Rhythm, ScaleRun, Shape, StartAt, Tempi};
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
    let material = material(args, choice, setup, rhythm)?;
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
    let tempi = args.ladder.as_deref().map_or(Ok(Tempi::Same), str::parse);
    let tempi = tempi.map_err(|error| Failure::user(format!("--ladder: {error}")))?;
    // A recording is played once, to its own beat.
    let own_tempo_first = args.own_tempo_first && !recording;
    Ok(Plan { material, start, runs, tempi, own_tempo_first, clicking, delay_s })
}

/// The scale in its order, or the notes of the chords that are named.
fn material(
    args: &RunArgs,
    choice: &ScaleChoice,
    setup: &Setup,
    rhythm: Rhythm,
) -> Result<Material, Failure> {
    let (key, harp) = (&choice.key, &setup.harp);
    let ability = &choice.ability.clone().unwrap_or_default();
    let range = args.range.as_deref().map(note_range).transpose()?;
    if let Some(text) = &args.changes {
        let form = &changes(text, setup)?;
        let title = format!("{} in {}, chord by chord", form.name(), key.tonic());
        return FormRun { key, form, range, ability }.material(harp, title, rhythm).map_err(Failure::user);
    }
    let shape: Shape = args.order.parse().map_err(|error| Failure::user(format!("--order: {error}")))?;
    let ways = ScaleRun { key, shape, range, ability, seed: args.seed }.ways(harp);
    Material::of_ways(format!("{}, {shape}", key.title()), &ways, rhythm).map_err(Failure::user)
}

fn rhythm(args: &RunArgs) -> Result<Rhythm, Failure> {
    let mistake = |option: &str, error| Failure::user(format!("--{option}: {error}"));
    let tempo = args.tempo.parse().map_err(|error| mistake("tempo", error))?;
    let metre = args.metre.parse().map_err(|error| mistake("metre", error))?;
    let values = args.values.parse().map_err(|error| mistake("values", error))?;
    let swing = args.swing.parse().map_err(|error| mistake("swing", error))?;
    Rhythm::new(tempo, metre, values, swing).map_err(|error| mistake("swing", error))
}
