//! What the command line, the settings file and what is remembered from last time together ask for.
//!
//! A mistake on the command line ends the program; one in the settings file is said and left out, so that a broken file
//! never stands between a player and the harp.

mod chooser;
mod reeds;

use crate::args::Common;
use crate::config::Settings;
use crate::failure::Failure;
use crate::files::Mistake;
use crate::keeping::{self, JournalPlace};
use crate::library::Library;
use crate::own_recording::OwnBand;
use crate::state::State;
use crate::stderr;
use chooser::Chooser;
use course::{Day, Programme, Skills};
use layout::{Harp, ReedCents, TabStyle, Temperament};
use practice::{Exercise, Feedback, Order};
use scoring::Tolerance;
use screen::keys::KeyMap;
use sheets::Letters;
use std::collections::BTreeMap;
use std::path::PathBuf;
use theory::Ability;

/// Where the sound comes from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum HearFrom {
    /// An input device; by name, or the default one.
    Mic(Option<String>),
    /// The built-in player.
    Player,
    /// A recording; `-` is standard input.
    File(PathBuf),
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Origin {
    /// The command line.
    CommandLine,
    /// What was chosen last in the program.
    Remembered,
    /// This line of the settings.
    Settings(usize),
    /// Variables of the environment.
    Environment,
    /// Nobody said anything that could be used.
    Default,
}

/// Everything decided before a command starts.
#[derive(Debug)]
pub(crate) struct Setup {
    /// The harp in the hand.
    pub(crate) harp: Harp,
    /// How its reeds are tuned, apart from what the settings say of single reeds.
    pub(crate) temperament: Option<Temperament>,
    /// Tunings, scales, drills and the like: ours and the player's own.
    pub(crate) library: Library,
    /// How tab is written.
    pub(crate) tab: TabStyle,
    /// How near is near enough.
    pub(crate) tolerance: Tolerance,
    /// When the pitch is shown in a drill.
    pub(crate) feedback: Feedback,
    /// Where the sound comes from.
    pub(crate) from: HearFrom,
    /// True if the player named the source, so that a missing device is an error and not an offer.
    pub(crate) from_was_named: bool,
    /// Which channel of it.
    pub(crate) channel: sound::Channel,
    /// No colour at all.
    pub(crate) mono: bool,
    /// ASCII glyphs only.
    pub(crate) ascii: bool,
    /// The keys in force.
    pub(crate) keys: KeyMap,
    /// The harps that the player owns, from the lowest up; empty if the settings do not say.
    pub(crate) owned: Vec<Harp>,
    /// The settings file.
    pub(crate) settings: Settings,
    /// What is remembered from last time.
    pub(crate) state: State,
    /// Where what is practised is kept; `None` if it is not.
    pub(crate) journal: Option<JournalPlace>,
    /// A recording of the player's own that is the band of a jam.
    pub(crate) own_band: Option<OwnBand>,
    /// What in the player's files could not be used, one sentence each.
    pub(crate) warnings: Vec<String>,
    /// Where those values come from that do not simply come from the settings.
    origins: BTreeMap<&'static str, Origin>,
}

impl Setup {
    /// Joins the command line, the settings file and what is remembered.
    ///
    /// # Errors
    /// [`Failure::User`] for a mistake on the command line. What is wrong with the player's own files is said before,
    /// because a name may be unknown for the reason that its file could not be read.
    pub(crate) fn new(common: &Common) -> Result<Self, Failure> {
        let (settings, mut warnings) = Settings::load(common.config.as_deref());
        if let Some(file) = common.config.as_ref().filter(|file| file.symlink_metadata().is_err()) {
            warnings.push(Mistake::about(file, "there is no such file yet").and("using the defaults"));
        }
        let (library, problems) = Library::load(settings.folder());
        warnings.extend(problems);
        let (state, problem) = State::load();
        warnings.extend(problem);
        let origins = BTreeMap::new();
        let mut choose =
            Chooser { common, settings: &settings, state: &state, library: &library, origins, warnings };
        let named = choose.named();
        if named.is_err() {
            choose.warnings.iter().for_each(|warning| stderr::say(&format!("bendwright: {warning}")));
        }
        let (harp, temperament, from, channel) = named?;
        choose.check_reeds(harp.concert());
        let from_was_named =
            common.from.is_some() || settings.config.input.from.is_some() || common.device.is_some();
        let (tab, tolerance, keys) = (choose.tab(), choose.tolerance(), choose.keys());
        let (mono, ascii, owned) = (choose.mono(), choose.ascii(), choose.owned(harp.concert()));
        let Chooser { origins, warnings, .. } = choose;
        let cents = reeds::reed_cents(&harp, &library, temperament.as_ref(), &settings.config);
        let harp = harp.with_reed_cents(cents);
        Ok(Self {
            harp,
            temperament,
            library,
            tab,
            tolerance,
            feedback: settings.config.feedback,
            from,
            from_was_named,
            channel,
            mono,
            ascii,
            keys,
            owned,
            settings,
            state,
            journal: JournalPlace::new(common),
            own_band: None,
            warnings,
            origins,
        })
    }

    /// The player at rest with the harp in the hand, judged as is asked for; readings will come at so many samples a
    /// second.
    pub(crate) fn exercise(&self, sample_rate: f64) -> Exercise {
        let mut exercise = Exercise::new(self.harp.clone(), self.tolerance, sample_rate);
        exercise.order(Order::TakeFeedback(self.feedback));
        exercise
    }

    /// A sentence for each setting that can be read but not used.
    #[cfg(test)]
    pub(crate) fn warnings_of(settings: &Settings, library: &Library) -> Vec<String> {
        use clap::Parser;
        let common = crate::args::Cli::parse_from(["bendwright"]).common;
        let (state, origins, warnings) = (State::default(), BTreeMap::new(), Vec::new());
        let mut choose = Chooser { common: &common, settings, state: &state, library, origins, warnings };
        let (harp, ..) = choose.named().expect("nothing is asked for on the command line");
        choose.check_reeds(harp.concert());
        let (_, _, _) = (choose.tab(), choose.tolerance(), choose.keys());
        choose.owned(harp.concert());
        choose.warnings
    }

    /// Where the value of a setting comes from.
    pub(crate) fn origin(&self, name: &str) -> Origin {
        let other = self.origins.get(name).copied();
        other.or_else(|| self.settings.line(name).map(Origin::Settings)).unwrap_or(Origin::Default)
    }

    /// Remembers the harp in the hand for the next time.
    ///
    /// # Errors
    /// A sentence, the first time that it cannot be written.
    pub(crate) fn remember_harp(&mut self, harp: &Harp) -> Result<(), String> {
        self.state.remember_harp(harp, &self.settings.config.harp_words())
    }

    /// Notes which drills, phrases and programmes of the player's own cannot be used. This is said only where they are
    /// offered, because one without a mistake may still be for other reeds.
    pub(crate) fn check_own(&mut self) {
        self.warnings.extend(self.library.own_problems(&self.harp));
        if let Some((name, _)) = self.follows()
            && self.library.programmes.iter().all(|known| known.name != name)
        {
            let list = "bendwright programme --list names those that there are";
            self.warnings
                .push(format!("the programme {name:?} that you follow is not there any more; {list}"));
        }
    }

    /// The name of the programme that the player follows, and since when.
    pub(crate) fn follows(&self) -> Option<(&str, Day)> {
        self.state.programme(&self.journal.as_ref()?.who)
    }

    /// The programme that the player follows, if it has no mistake, and since when.
    pub(crate) fn followed(&self) -> Option<(Programme, Day)> {
        let (name, began) = self.follows()?;
        let written = self.library.programmes.iter().find(|known| known.name == name)?;
        Some((self.library.programme(written).ok()?, began))
    }

    /// What the player claims in the settings to command; a usual level if they do not say.
    pub(crate) fn config_ability(&self) -> Ability {
        self.settings.config.ability.clone().unwrap_or_default()
    }

    /// What the player commands: by the command line; or else by what was heard of him, and where too little was, by
    /// the settings. `None` if nothing says it.
    ///
    /// # Errors
    /// [`Failure::User`] if the text on the command line describes no ability.
    pub(crate) fn ability(&self, able: Option<&str>) -> Result<Option<Ability>, Failure> {
        if let Some(text) = able {
            return text.parse().map(Some).map_err(|error| Failure::user(format!("--able: {error}")));
        }
        Ok(self.heard(&self.config_ability()).or_else(|| self.settings.config.ability.clone()))
    }

    /// What the player commands by what was heard, if anything was. A journal that cannot be read says nothing here;
    /// the full screen says what is wrong with it.
    fn heard(&self, claimed: &Ability) -> Option<Ability> {
        let past = self.journal.as_ref()?.past().ok()?;
        let skills = Skills::of(&past, claimed, keeping::today());
        skills.heard().next().is_some().then(|| skills.ability())
    }

    /// How far the reeds of a harp lie from equal temperament, by the temperament and the settings.
    pub(crate) fn reed_cents(&self, harp: &Harp) -> ReedCents {
        reeds::reed_cents(harp, &self.library, self.temperament.as_ref(), &self.settings.config)
    }

    /// The microphone that was named, or the default one.
    pub(crate) fn microphone(&self) -> HearFrom {
        match &self.from {
            HearFrom::Mic(_) => self.from.clone(),
            HearFrom::Player | HearFrom::File(_) => HearFrom::Mic(None),
        }
    }

    /// Which characters a text may hold.
    pub(crate) fn letters(&self) -> Letters {
        if self.ascii { Letters::Ascii } else { Letters::Unicode }
    }
}
