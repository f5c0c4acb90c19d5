//! `scale`: a scale in time.

use super::in_time::{self, InKey, mistake};
use crate::args::RunArgs;
use crate::failure::Failure;
use crate::scale_choice::{ScaleChoice, changes, note_range};
use crate::setup::Setup;
use crate::stderr;
use layout::Note;
use practice::run::{FormRun, Material, Rhythm, ScaleRun, Shape, Swing, Tempo};

/// Runs the command: a line for each note and each run with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If an argument is wrong, the scale has nothing that the player can play, or the sound or the output fails.
pub(crate) fn run(args: &RunArgs, setup: Setup) -> Result<(), Failure> {
    let (choice, range) = match args.changes {
        Some(_) => (ScaleChoice::new(&args.scale, &setup)?, None),
        None => ScaleChoice::to_begin_with(&args.scale, &setup)?,
    };
    let material = material(args, (&choice, range), &setup)?;
    let key = InKey { key: &choice.key, changes: args.changes.as_deref() };
    in_time::run((material, choice.position), (&args.time, Some(key)), setup)
}

/// The scale in its order, or the notes of the chords that are named.
fn material(
    args: &RunArgs,
    (choice, usual_range): (&ScaleChoice, Option<(Note, Note)>),
    setup: &Setup,
) -> Result<Material, Failure> {
    let rhythm = rhythm(args)?;
    let (key, harp) = (&choice.key, &setup.harp);
    let ability = &choice.ability.clone().unwrap_or_default();
    let range = args.range.as_deref().map(note_range).transpose()?.or(usual_range);
    if let Some(text) = &args.changes {
        let form = &changes(text, "changes", setup)?;
        return FormRun { key, form, range, ability }.material(harp, rhythm).map_err(Failure::user);
    }
    let shape: Shape = args.order.parse().map_err(mistake("order"))?;
    let run = ScaleRun { key, shape, range, ability, seed: args.seed };
    if args.scale.able.is_none() {
        say_left_out(&run, setup);
    }
    run.material(harp, rhythm).map_err(Failure::user)
}

/// Says which notes the run leaves out although the player claims them: by what was heard they do not come yet.
fn say_left_out(run: &ScaleRun<'_>, setup: &Setup) {
    let harp = &setup.harp;
    let claimed = setup.config_ability();
    let kept: Vec<Option<Note>> = run.ways(harp).into_iter().map(|way| harp.note(way)).collect();
    let all = ScaleRun { ability: &claimed, ..run.clone() }.ways(harp);
    let mut left_out: Vec<String> = Vec::new();
    for way in all.into_iter().filter(|way| !kept.contains(&harp.note(*way))) {
        let tab = setup.tab.print(way);
        if !left_out.contains(&tab) {
            left_out.push(tab);
        }
    }
    if !left_out.is_empty() {
        let tab = left_out.join(" ");
        stderr::say(&format!(
            "bendwright: left out, because it does not come yet: {tab}; --able everything asks for it"
        ));
    }
}

fn rhythm(args: &RunArgs) -> Result<Rhythm, Failure> {
    let tempo = args.time.tempo()?.unwrap_or(Tempo::USUAL);
    let metre = args.metre.parse().map_err(mistake("metre"))?;
    let values = args.values.parse().map_err(mistake("values"))?;
    let swing = args.time.swing()?.unwrap_or(Swing::STRAIGHT);
    Rhythm::new(tempo, metre, values, swing).map_err(mistake("swing"))
}
