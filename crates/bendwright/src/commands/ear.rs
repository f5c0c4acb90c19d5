//! `ear`: questions that are sounded or named, and answered on the harp.

use super::in_time::mistake;
use crate::args::EarArgs;
use crate::failure::Failure;
use crate::keeping;
use crate::report::Report;
use crate::scale_choice::{note_name, scale};
use crate::setup::{HearFrom, Setup};
use crate::{lines, source, ui};
use practice::Order;
use practice::ear::{EarPlan, Shape};
use sound::Pace;
use theory::{Position, ScaleInKey};

/// Runs the command: a line for each question and each answer with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If an argument is wrong, nothing can be asked on this harp, or the sound or the output fails.
pub(crate) fn run(args: &EarArgs, setup: Setup) -> Result<(), Failure> {
    let plan = plan(args, &setup)?;
    if let Some(why) = plan.cannot_ask(&setup.harp) {
        return Err(Failure::user(why));
    }
    match Report::new(args.output) {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            let position = Position::of(&setup.harp, plan.key.tonic().pitch_class());
            lines::run(vec![Order::Ear(Box::new(plan))], &setup, source, (report, position))
        }
        None => ui::run(setup, ui::Start::Ear(plan)),
    }
}

fn plan(args: &EarArgs, setup: &Setup) -> Result<EarPlan, Failure> {
    let (harp, shape) = (&setup.harp, args.shape);
    for (given, option, for_whom) in [
        (args.heard, "--heard", &[Shape::Interval, Shape::Degree][..]),
        (args.answer_in.is_some(), "--answer-in", &[Shape::Call]),
        (args.tell_hole, "--tell-hole", &[Shape::Depth]),
    ] {
        if given && !for_whom.contains(&shape) {
            let names: Vec<&str> = for_whom.iter().map(|shape| shape.name()).collect();
            return Err(Failure::user(format!("{option} is for {}, not for {shape}", names.join(" and "))));
        }
    }
    let position = |text: &str, option| text.parse::<Position>().map_err(mistake(option));
    let scale = scale(setup, &args.scale, "scale")?;
    let here = args.position.as_deref().map(|text| position(text, "position")).transpose()?;
    let tonic = args.key.as_deref().map(|text| note_name(text, "key")).transpose()?;
    let key = match tonic {
        Some(tonic) => ScaleInKey::new(scale.clone(), tonic),
        None => ScaleInKey::in_position(scale.clone(), harp, here.unwrap_or_default()),
    };
    let there = args.answer_in.as_deref().map(|text| position(text, "answer-in")).transpose()?;
    let elsewhere = there.map(|there| ScaleInKey::in_position(scale, harp, there));
    if elsewhere.as_ref().is_some_and(|other| other.tonic().pitch_class() == key.tonic().pitch_class()) {
        return Err(Failure::user(
            "--answer-in: that is the position in which it is called; name another one",
        ));
    }
    Ok(EarPlan {
        shape,
        heard: args.heard,
        questions: args.count,
        key,
        elsewhere,
        ability: setup.ability(args.able.as_deref())?.unwrap_or_default(),
        seed: args.seed.unwrap_or_else(|| u64::from(keeping::today().0.unsigned_abs())),
        hole_told: args.tell_hole,
        // A recording was made before it could be asked anything.
        sounded: !matches!(setup.from, HearFrom::File(_)),
    })
}
