//! What is played in time: how it begins, and for whom it is written down.

use crate::args::TimeArgs;
use crate::failure::Failure;
use crate::report::Report;
use crate::scale_choice::changes;
use crate::setup::{HearFrom, Setup};
use crate::{lines, source, ui};
use practice::Order;
use practice::run::{Clicked, Clicking, Material, Over, Plan, StartAt, Swing, Tempi, Tempo};
use sound::Pace;
use std::fmt::Display;
use theory::{Position, ScaleInKey};

/// Plays it: a line for each note and each run with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If an argument is wrong, or the sound or the output fails.
pub(super) fn run(
    (material, position): (Material, Position),
    (args, key): (&TimeArgs, Option<InKey<'_>>),
    setup: Setup,
) -> Result<(), Failure> {
    let plan = plan(material, (args, key), &setup)?;
    let report = Report::new(args.output);
    match &setup.from {
        HearFrom::File(_) if args.hear => {
            return Err(Failure::user("--hear is for playing: a recording does not wait for it"));
        }
        HearFrom::Player if args.hear && report.is_some() => {
            return Err(Failure::user("--hear: with --plain or --json it is sounded only for a microphone"));
        }
        _ => {}
    }
    match report {
        Some(report) => {
            let source = source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
            let orders = [Order::Run(Box::new(plan))].into_iter().chain(args.hear.then_some(Order::Model));
            lines::run(orders.collect(), &setup, source, (report, position))
        }
        None => ui::run(setup, ui::Start::Run(plan, args.hear)),
    }
}

impl TimeArgs {
    /// The tempo, if one is given.
    ///
    /// # Errors
    /// If the text is no tempo.
    pub(super) fn tempo(&self) -> Result<Option<Tempo>, Failure> {
        self.tempo.as_deref().map(|text| text.parse().map_err(mistake("tempo"))).transpose()
    }

    /// The swing, if one is given.
    ///
    /// # Errors
    /// If the text is no swing.
    pub(super) fn swing(&self) -> Result<Option<Swing>, Failure> {
        self.swing.as_deref().map(|text| text.parse().map_err(mistake("swing"))).transpose()
    }
}

/// What is wrong with an option.
pub(super) fn mistake<E: Display>(option: &str) -> impl Fn(E) -> Failure {
    move |error| Failure::user(format!("--{option}: {error}"))
}

fn plan(
    material: Material,
    (args, key): (&TimeArgs, Option<InKey<'_>>),
    setup: &Setup,
) -> Result<Plan, Failure> {
    if let Some(most) = material.too_fast() {
        return Err(Failure::user(format!(
            "--tempo: at {} its shortest notes follow each other too soon to be told apart; take {most} or less",
            material.rhythm.tempo
        )));
    }
    let recording = matches!(setup.from, HearFrom::File(_));
    let start = match start(args.starts, setup)? {
        Some(StartAt::At(seconds)) => StartAt::At(seconds),
        _ if args.free => StartAt::FreeTime,
        Some(start) => start,
        None => StartAt::CountIn,
    };
    // A recording is played through once.
    let runs = if recording { 1 } else { args.runs };
    // The built-in player hears the beat as it is made.
    let delay_s = matches!(setup.from, HearFrom::Player).then_some(0.0);
    let over = over(&material, (args, key), setup)?;
    let usual = if over.is_some() { Clicked::CountIn } else { Clicked::Beats };
    let what = args.click.as_deref().map_or(Ok(usual), str::parse).map_err(mistake("click"))?;
    let clicking = Clicking { what, silent_bars: args.silent_bars };
    let tempi = args.ladder.as_deref().map_or(Ok(Tempi::Same), str::parse).map_err(mistake("ladder"))?;
    // A recording is played once, to its own beat.
    let own_tempo_first = args.own_tempo_first && !recording;
    Ok(Plan { material, start, runs, tempi, own_tempo_first, clicking, over, delay_s })
}

/// The key of what is played, and the changes it was made from, if it was.
#[derive(Clone, Copy)]
pub(super) struct InKey<'a> {
    pub(super) key: &'a ScaleInKey,
    pub(super) changes: Option<&'a str>,
}

/// The band over which the player plays; `None` if none is asked for.
///
/// # Errors
/// If the chords cannot be understood, or the chord of home is asked for and nobody knows where home is.
fn over(
    material: &Material,
    (args, key): (&TimeArgs, Option<InKey<'_>>),
    setup: &Setup,
) -> Result<Option<Over>, Failure> {
    let Some(text) = &args.band else { return Ok(None) };
    let Some(InKey { key, changes: own }) = key else {
        return Err(Failure::user(
            "--band: this phrase does not say in which position it is thought; write position = 2 into it",
        ));
    };
    let harp = &setup.harp;
    let home = || Over::home(key.tonic().pitch_class(), material.classes(harp));
    let text = if text.is_empty() { own.unwrap_or_else(home) } else { text };
    let progression = changes(text, "band", setup)?;
    Over::new(&progression, (key, harp), &material.rhythm).map(Some).map_err(mistake("band"))
}

/// Where the first beat of a recording is: at the second that is given, or at its first note. `None` if the source is
/// no recording.
///
/// # Errors
/// If the second is no moment of a recording, or is given although the source is no recording.
pub(super) fn start(starts: Option<f64>, setup: &Setup) -> Result<Option<StartAt>, Failure> {
    let recording = matches!(setup.from, HearFrom::File(_));
    match starts {
        Some(seconds) if !seconds.is_finite() || seconds < 0.0 => Err(Failure::user(format!(
            "--starts: {seconds} is no moment of a recording; write seconds from its beginning"
        ))),
        Some(_) if !recording => {
            Err(Failure::user("--starts is for a recording; name it with --from FILE.wav"))
        }
        Some(seconds) => Ok(Some(StartAt::At(seconds))),
        None => Ok(recording.then_some(StartAt::FirstNote)),
    }
}
