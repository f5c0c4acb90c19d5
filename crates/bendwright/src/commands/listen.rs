//! `listen`: free playing.

use crate::args::ListenArgs;
use crate::failure::Failure;
use crate::pipeline::Heard;
use crate::report::{Line, Report};
use crate::setup::Setup;
use crate::signals::Signals;
use crate::source::{self, BLOCK, Source};
use crate::{ui, words};
use practice::FreePlay;
use sound::Pace;

/// Runs the command: a line for each note with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If the sound or the output fails, or a signal ends the program.
pub(crate) fn run(args: &ListenArgs, setup: Setup) -> Result<(), Failure> {
    let Some(mut report) = Report::new(args.output) else { return ui::run(setup, ui::Start::Listen) };
    let Source { mut pipeline, coach } = source::open(&setup.from, &setup, Pace::AsFastAsPossible, BLOCK)?;
    let mut left = coach.map(|mut coach| coach.play_freely(&setup.harp));
    let signals = Signals::watch(|| {})?;
    let mut rate = pipeline.sample_rate();
    let mut free = FreePlay::new(setup.harp.clone(), rate);
    let tonic = setup.tonic(args.position);
    let mut goes_on = true;
    while goes_on && left != Some(0) {
        signals.check()?;
        goes_on = pipeline.step(&mut |heard| {
            let played = match heard {
                Heard::Readings(readings) => readings.iter().filter_map(|r| free.hear(r)).collect(),
                Heard::Gap => Vec::from_iter(free.end()),
                Heard::Restarted(new) => {
                    let ended = Vec::from_iter(free.end());
                    rate = new;
                    free = FreePlay::new(setup.harp.clone(), rate);
                    ended
                }
                Heard::Feed(event) => return report.notice(words::feed_event(&event)),
                Heard::Level(_) => return,
                Heard::Complaint(complaint) => return report.notice(words::complaint(complaint)),
            };
            for note in played {
                left = left.map(|left| left.saturating_sub(1));
                report.say(&Line::note(&note, rate, tonic, &setup.tab));
            }
        })?;
        report.check()?;
    }
    free.end().iter().for_each(|note| report.say(&Line::note(note, rate, tonic, &setup.tab)));
    report.check()
}
