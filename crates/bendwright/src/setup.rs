//! What the command line and the settings file together ask for.
//!
//! A mistake on the command line ends the program; one in the settings file is said and the default is used, so
//! that a broken file never stands between a player and the harp.

use crate::args::{Common, ThemeName};
use crate::config::{Config, Settings};
use crate::failure::Failure;
use layout::{ConcertPitch, Harp, HarpKey, PitchClass, Tuning, Tunings, UnknownTuning};
use scoring::Tolerance;
use std::path::PathBuf;

/// Where the sound comes from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum From {
    /// An input device; by name, or the default one.
    Mic(Option<String>),
    /// The built-in player.
    Player,
    /// A recording.
    File(PathBuf),
}

/// Everything decided before a command starts.
#[derive(Debug)]
pub(crate) struct Setup {
    /// The harp in the hand.
    pub(crate) harp: Harp,
    /// How near is near enough.
    pub(crate) tolerance: Tolerance,
    /// Where the sound comes from.
    pub(crate) from: From,
    /// True if the player named the source, so that a missing device is an error and not an offer.
    pub(crate) from_was_named: bool,
    /// Which channel of it.
    pub(crate) channel: sound::Channel,
    /// No colour at all.
    pub(crate) mono: bool,
    /// ASCII glyphs only.
    pub(crate) ascii: bool,
    /// The settings file.
    pub(crate) settings: Settings,
    /// What in the settings file could not be used, one sentence each.
    pub(crate) warnings: Vec<String>,
}

impl Setup {
    /// Joins the command line and the settings file.
    ///
    /// # Errors
    /// [`Failure::User`] for a mistake on the command line.
    pub(crate) fn new(common: &Common) -> Result<Self, Failure> {
        let settings = Settings::load(common.config.as_deref());
        let mut warnings: Vec<String> =
            settings.problem.iter().map(|problem| format!("{problem}; using the defaults")).collect();
        let config = settings.config.clone();
        let mut choose = Chooser { warnings: &mut warnings };
        let harp = choose.harp(common, &config)?;
        let tolerance = choose.tolerance(&config);
        let channel = choose
            .pick("channel", common.channel.as_ref(), config.input.channel.as_ref())?
            .unwrap_or_default();
        let theme = choose.theme(common, &config);
        let from = common.from.as_ref().or(config.input.from.as_ref());
        Ok(Self {
            harp,
            tolerance,
            from: source(from.map(String::as_str), common.device.as_ref().or(config.input.device.as_ref())),
            from_was_named: from.is_some() || common.device.is_some(),
            channel,
            mono: theme == Some(ThemeName::Mono) || (theme.is_none() && environment_wants_mono()),
            ascii: common.ascii || config.ascii.unwrap_or_else(environment_wants_ascii),
            settings,
            warnings,
        })
    }

    /// The home note of a position on this harp, a fifth higher for each; 2nd position where none is given.
    pub(crate) fn tonic(&self, position: Option<u8>) -> PitchClass {
        let fifths = i32::from(position.unwrap_or(2)) - 1;
        PitchClass::new(i32::from(self.harp.key().pitch_class().semitones()) + 7 * fifths)
    }
}

fn source(from: Option<&str>, device: Option<&String>) -> From {
    match from {
        None | Some("mic") => From::Mic(device.cloned()),
        Some("player") => From::Player,
        Some(file) => From::File(PathBuf::from(file)),
    }
}

/// `NO_COLOR` (non-empty) and dumb terminals ask for no colour.
fn environment_wants_mono() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    set("NO_COLOR") || std::env::var("TERM").is_ok_and(|term| term == "dumb")
}

/// A locale that is not UTF-8, in the order of precedence POSIX gives, asks for ASCII.
fn environment_wants_ascii() -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .find_map(|name| std::env::var(name).ok().filter(|value| !value.is_empty()));
    let utf8 = |locale: String| locale.to_ascii_lowercase().replace('-', "").contains("utf8");
    cfg!(unix) && locale.is_some_and(|locale| !utf8(locale))
}

/// Takes the command line first, then the settings file, then the default.
struct Chooser<'a> {
    warnings: &'a mut Vec<String>,
}

impl Chooser<'_> {
    /// A value that is read from text.
    fn pick<T>(
        &mut self,
        name: &str,
        argument: Option<&String>,
        setting: Option<&String>,
    ) -> Result<Option<T>, Failure>
    where
        T: std::str::FromStr,
        T::Err: std::fmt::Display,
    {
        if let Some(text) = argument {
            return text.parse().map(Some).map_err(|e: T::Err| Failure::user(format!("--{name}: {e}")));
        }
        let read = setting.map(|text| text.parse());
        Ok(read.and_then(|read| self.or_warn(name, read)))
    }

    /// A setting from the file: a mistake becomes a warning.
    fn or_warn<T, E: std::fmt::Display>(&mut self, name: &str, read: Result<T, E>) -> Option<T> {
        read.map_err(|error| self.warnings.push(format!("settings, {name}: {error}; using the default"))).ok()
    }

    fn harp(&mut self, common: &Common, config: &Config) -> Result<Harp, Failure> {
        let key =
            self.pick::<HarpKey>("harp", common.harp.as_ref(), config.harp.as_ref())?.unwrap_or_default();
        let tuning = if let Some(name) = &common.tuning {
            tuning(name).map_err(|e| Failure::user(format!("--tuning: {e}")))?
        } else {
            let read = config.tuning.as_deref().map(tuning);
            read.and_then(|read| self.or_warn("tuning", read)).unwrap_or_else(Tuning::richter)
        };
        let concert = if let Some(hz) = common.a4 {
            ConcertPitch::new(hz).map_err(|e| Failure::user(format!("--a4: {e}")))?
        } else {
            let read = config.a4.map(ConcertPitch::new);
            read.and_then(|read| self.or_warn("a4", read)).unwrap_or_default()
        };
        Ok(Harp::new(key, tuning, concert))
    }

    fn tolerance(&mut self, config: &Config) -> Tolerance {
        let default = Tolerance::default();
        let read = Tolerance::new(
            config.tolerance.centred.unwrap_or(default.centred_cents),
            config.tolerance.in_tune.unwrap_or(default.in_tune_cents),
        );
        self.or_warn("tolerance", read).unwrap_or(default)
    }

    fn theme(&mut self, common: &Common, config: &Config) -> Option<ThemeName> {
        common.theme.or_else(|| {
            let read = config.theme.as_deref().map(|name| match name {
                "default" => Ok(ThemeName::Default),
                "mono" => Ok(ThemeName::Mono),
                _ => Err(format!("{name:?} is no theme; use default or mono")),
            });
            read.and_then(|read| self.or_warn("theme", read))
        })
    }
}

/// A tuning by its name, in any case.
fn tuning(name: &str) -> Result<Tuning, UnknownTuning> {
    Tunings::ours().find(name).map(|known| known.tuning)
}
