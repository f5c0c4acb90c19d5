//! `jam`: free playing over the chords of a form.

use super::in_time::{mistake, start};
use crate::args::JamArgs;
use crate::failure::Failure;
use crate::own_recording::{NO_BEAT, OwnBand, OwnRecording};
use crate::report::Report;
use crate::scale_choice::{changes, note_name, scale};
use crate::setup::{HearFrom, Setup};
use crate::{lines, source, ui};
use practice::Order;
use practice::jam::{Form, JamPlan};
use practice::run::{Clicking, Rhythm, StartAt, Tempo};
use sound::Pace;
use std::path::Path;
use theory::{Groove, Position, ScaleInKey};

/// The form where none is said.
const USUAL_FORM: &str = "twelve-bar";

/// Runs the command: a line for each note and each chorus with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If an argument is wrong, or the sound or the output fails.
pub(crate) fn run(args: &JamArgs, mut setup: Setup) -> Result<(), Failure> {
    let plan = plan(args, &setup)?;
    let plan = match &args.recording {
        Some(file) => {
            let (plan, own) = own_band(file, plan, args)?;
            setup.own_band = Some(own);
            plan
        }
        None => plan,
    };
    match Report::new(args.output) {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            let position = Position::of(&setup.harp, plan.form.tonic);
            lines::run(vec![Order::Jam(Box::new(plan))], &setup, source, (report, position))
        }
        None => ui::run(setup, ui::Start::Jam(plan)),
    }
}

/// A jam over a recording, for as many choruses as it has whole ones, and the recording.
fn own_band(file: &Path, plan: JamPlan, args: &JamArgs) -> Result<(JamPlan, OwnBand), Failure> {
    let (Some(first_s), Some(_)) = (args.first_beat, &args.tempo) else {
        return Err(Failure::user(NO_BEAT));
    };
    if args.form.is_none() {
        return Err(Failure::user(
            "--recording: nobody knows its chords; say with --form which progression it is, or its numerals, such as \"I7 | IV7\"",
        ));
    }
    let recording = OwnRecording::new(file, None)?;
    let rhythm = &plan.rhythm;
    let own = OwnBand::new(recording, (first_s, rhythm.tempo, rhythm.metre), plan.form.title.clone())?;
    let choruses = u32::try_from(own.bars() / plan.form.bars() as u64).unwrap_or(u32::MAX);
    Ok((JamPlan { form: plan.form.times(choruses), ..plan }, own))
}

fn plan(args: &JamArgs, setup: &Setup) -> Result<JamPlan, Failure> {
    let progression = changes(args.form.as_deref().unwrap_or(USUAL_FORM), "form", setup)?;
    let feel: Groove = args.feel.parse().map_err(mistake("feel"))?;
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
        rhythm: Rhythm::of_groove(feel, tempo.unwrap_or(Tempo::usual_of(feel))),
        scale,
        ability: setup.ability(args.able.as_deref())?.unwrap_or_default(),
        start,
        clicking: Clicking { what: args.click.parse().map_err(mistake("click"))?, silent_bars: 0 },
        // The built-in player hears the beat as it is made.
        delay_s: matches!(setup.from, HearFrom::Player).then_some(0.0),
    })
}
