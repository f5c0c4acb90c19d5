//! `jam`: free playing over the chords of a form.

use super::in_time::{mistake, start};
use crate::args::JamArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::scale_choice::{changes, note_name, scale};
use crate::setup::{HearFrom, Setup};
use crate::{lines, source, ui};
use practice::Order;
use practice::jam::{Feel, Form, JamPlan};
use practice::run::{Clicking, StartAt, Tempo};
use sound::Pace;
use theory::{Position, ScaleInKey};

/// Runs the command: a line for each note and each chorus with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If an argument is wrong, or the sound or the output fails.
pub(crate) fn run(args: &JamArgs, setup: Setup) -> Result<(), Failure> {
    let plan = plan(args, &setup)?;
    match Report::new(args.output) {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            let position = Position::of(&setup.harp, plan.form.tonic);
            lines::run(vec![Order::Jam(Box::new(plan))], &setup, source, (report, position))
        }
        None => ui::run(setup, ui::Start::Jam(plan)),
    }
}

fn plan(args: &JamArgs, setup: &Setup) -> Result<JamPlan, Failure> {
    let progression = changes(&args.form, "form", setup)?;
    let feel: Feel = args.feel.parse().map_err(mistake("feel"))?;
    let tempo = args.tempo.as_deref().map(str::parse::<Tempo>).transpose().map_err(mistake("tempo"))?;
    let tonic = match &args.key {
        Some(text) => note_name(text, "key")?,
        None => Position::default().tonic_name(&setup.harp),
    };
    let scale = scale(setup, args.scale.as_deref().unwrap_or(Form::usual_scale(&progression)), "scale")?;
    let scale = ScaleInKey::new(scale, tonic);
    let form = Form::new(&progression, &scale, &setup.harp).map_err(mistake("form"))?;
    let start = start(args.starts, setup)?.unwrap_or(StartAt::CountIn);
    Ok(JamPlan {
        form: if args.endless { form } else { form.times(args.choruses) },
        feel,
        rhythm: feel.rhythm(tempo.unwrap_or(feel.usual_tempo())),
        scale,
        ability: setup.ability(args.able.as_deref())?.unwrap_or_default(),
        start,
        clicking: Clicking { what: args.click.parse().map_err(mistake("click"))?, silent_bars: 0 },
        // The built-in player hears the beat as it is made.
        delay_s: matches!(setup.from, HearFrom::Player).then_some(0.0),
    })
}
