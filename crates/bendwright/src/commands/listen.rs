//! `listen`: free playing.

use crate::args::ListenArgs;
use crate::failure::Failure;
use crate::pipeline::Heard;
use crate::report::{Line, Report};
use crate::setup::Setup;
use crate::signals::Signals;
use crate::source::{self, Source};
use crate::{ui, words};
use layout::PitchClass;
use practice::{FreePlay, PlayedNote, ReedSet, ReedSets};
use sound::Pace;

/// Runs the command: a line for each note with `--plain` or `--json`, the full screen otherwise.
///
/// # Errors
/// If the sound or the output fails, or a signal ends the program.
pub(crate) fn run(args: &ListenArgs, setup: Setup) -> Result<(), Failure> {
    let Some(report) = Report::new(args.output) else { return ui::run(setup, ui::Start::Listen) };
    let Source { mut pipeline, coach } =
        source::open(&setup.from, &setup, Pace::AsFastAsPossible, args.block)?;
    let left = coach.map(|mut coach| coach.play_freely(&setup.harp));
    let rate = pipeline.sample_rate();
    let mut free = Free {
        notes: FreePlay::new(setup.harp.clone(), rate),
        reeds: ReedSets::new(setup.harp.clone(), rate),
        tonic: setup.tonic(args.position),
        setup: &setup,
        rate,
        left,
        report,
    };
    if let Err(failure) = pipeline.tell_reeds(true) {
        // Notes can be heard where reeds cannot be told apart.
        free.report.notice(failure.message().map(str::to_owned));
    }
    let signals = Signals::watch(|| {})?;
    let mut goes_on = true;
    while goes_on && free.left != Some(0) {
        signals.check()?;
        goes_on = pipeline.step(&mut |heard| free.hear(heard))?;
        free.report.check()?;
    }
    free.end();
    free.report.check()
}

/// Free playing, told line by line.
struct Free<'a> {
    notes: FreePlay,
    reeds: ReedSets,
    tonic: PitchClass,
    setup: &'a Setup,
    rate: f64,
    /// How many notes the built-in player has yet to play.
    left: Option<usize>,
    report: Report,
}

impl Free<'_> {
    fn hear(&mut self, heard: Heard) {
        match heard {
            Heard::Readings(readings) => {
                for reading in &readings {
                    let note = self.notes.hear(reading);
                    self.say_note(note);
                }
            }
            Heard::Reeds(now) => {
                let set = self.reeds.hear(&now);
                self.say_set(set);
            }
            Heard::Gap => self.end(),
            Heard::Restarted(rate) => {
                self.end();
                self.rate = rate;
                self.notes = FreePlay::new(self.setup.harp.clone(), rate);
                self.reeds = ReedSets::new(self.setup.harp.clone(), rate);
            }
            Heard::Feed(event) => self.report.notice(words::feed_event(&event)),
            Heard::Level(_) => {}
            Heard::Complaint(complaint) => self.report.notice(words::complaint(complaint)),
        }
    }

    /// Ends what sounds.
    fn end(&mut self) {
        let set = self.reeds.end();
        self.say_set(set);
        let note = self.notes.end();
        self.say_note(note);
    }

    fn say_note(&mut self, note: Option<PlayedNote>) {
        let Some(note) = note else { return };
        self.left = self.left.map(|left| left.saturating_sub(1));
        let alone = self.alone(&note);
        self.report.say(&Line::note((&note, alone), self.rate, self.tonic, &self.setup.tab));
    }

    fn say_set(&mut self, set: Option<ReedSet>) {
        if let Some(set) = set.filter(|set| set.voices.len() > 1) {
            self.report.say(&Line::together(&set, self.rate, &self.setup.tab));
        }
    }

    /// Whether nothing else sounded steadily while the note did; nothing where that is not sure.
    fn alone(&self, note: &PlayedNote) -> Option<bool> {
        let during = || self.reeds.during(note.began, note.ended);
        if during().any(|set| set.voices.len() > 1) {
            return Some(false);
        }
        (during().count() > 0 && during().all(|set| set.agrees(note.hz))).then_some(true)
    }
}
