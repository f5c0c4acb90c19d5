//! Which value holds: that of the command line, else the one remembered, else that of the settings, else the default.

use super::{HearFrom, Origin, reeds};
use crate::args::{Common, ThemeName};
use crate::config::{Settings, TabConfig};
use crate::failure::Failure;
use crate::library::Library;
use crate::state::State;
use layout::{ConcertPitch, Harp, TabStyle, Temperament, Tuning};
use scoring::Tolerance;
use screen::keys::{KeyMap, KeyMapError};
use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fmt::Display;
use std::path::PathBuf;

/// Chooses, and notes where each value comes from and what could not be used.
pub(super) struct Chooser<'a> {
    pub(super) common: &'a Common,
    pub(super) settings: &'a Settings,
    pub(super) state: &'a State,
    pub(super) library: &'a Library,
    pub(super) origins: BTreeMap<&'static str, Origin>,
    pub(super) warnings: Vec<String>,
}

/// Harp, temperament, source and channel.
type Named = (Harp, Option<Temperament>, HearFrom, sound::Channel);

impl Chooser<'_> {
    /// A value that `read` makes from text. A setting in a table is given on the command line by its last name alone.
    fn pick<T, E: Display>(
        &mut self,
        name: &'static str,
        (given, setting): (Option<&String>, Option<&String>),
        read: impl Fn(&str) -> Result<T, E>,
    ) -> Result<Option<T>, Failure> {
        if let Some(text) = given {
            self.origins.insert(name, Origin::CommandLine);
            let option = name.rsplit('.').next().unwrap_or(name);
            return read(text).map(Some).map_err(|error| Failure::user(format!("--{option}: {error}")));
        }
        Ok(setting.and_then(|text| self.or_warn(name, read(text))))
    }

    /// What was made of a setting: a mistake becomes a warning.
    fn or_warn<T, E: Display>(&mut self, name: &'static str, read: Result<T, E>) -> Option<T> {
        read.map_err(|error| {
            self.origins.insert(name, Origin::Default);
            self.warnings.push(self.settings.mistake(name, error.to_string()));
        })
        .ok()
    }

    /// What the command line may ask for in vain: the harp in equal temperament, the temperament, the source of the
    /// sound and its channel.
    ///
    /// # Errors
    /// If the command line asks for one of these in vain.
    pub(super) fn named(&mut self) -> Result<Named, Failure> {
        Ok((self.harp()?, self.temperament()?, self.source()?, self.channel()?))
    }

    fn harp(&mut self) -> Result<Harp, Failure> {
        let (common, config) = (self.common, &self.settings.config);
        let words = config.harp_words();
        let remembered = self.state.harp(&words).filter(|_| common.harp.is_none());
        let key = if let Some((key, _)) = remembered {
            self.origins.insert("harp", Origin::Remembered);
            Some(key)
        } else {
            let tunings = &self.library.tunings;
            self.pick("harp", (common.harp.as_ref(), None), |text| tunings.key(text))?.or(config.harp)
        };
        let find = |name: &str| self.library.tunings.find(name).map(|known| known.tuning);
        // A tuning of the player's own may be gone by now.
        let tuning = remembered.filter(|_| common.tuning.is_none()).and_then(|(_, tuning)| find(tuning).ok());
        let tuning = match tuning {
            Some(tuning) => {
                self.origins.insert("tuning", Origin::Remembered);
                Some(tuning)
            }
            None => self.tuning()?,
        };
        let concert = match common.a4 {
            Some(hz) => {
                self.origins.insert("a4", Origin::CommandLine);
                ConcertPitch::new(hz).map_err(|error| Failure::user(format!("--a4: {error}")))?
            }
            None => config.a4.unwrap_or_default(),
        };
        Ok(Harp::new(key.unwrap_or_default(), tuning.unwrap_or_else(Tuning::richter), concert))
    }

    fn tuning(&mut self) -> Result<Option<Tuning>, Failure> {
        let library = self.library;
        let find = |name: &str| library.tunings.find(name).map(|known| known.tuning);
        let both = (self.common.tuning.as_ref(), self.settings.config.tuning.as_ref());
        self.pick("tuning", both, find)
    }

    fn temperament(&mut self) -> Result<Option<Temperament>, Failure> {
        let known = &self.library.temperaments;
        let both = (self.common.temperament.as_ref(), self.settings.config.temperament.as_ref());
        self.pick("temperament", both, |name| Temperament::find(known, name).cloned())
    }

    /// The harps that the player owns, from the lowest up.
    pub(super) fn owned(&mut self, concert: ConcertPitch) -> Vec<Harp> {
        let library = self.library;
        let names = self.settings.config.owned.iter().flat_map(|list| list.split(',')).map(str::trim);
        let read = names.filter(|name| !name.is_empty()).map(|name| library.tunings.harp(name, concert));
        let read: Vec<_> = read.collect();
        let mut owned: Vec<Harp> = read.into_iter().filter_map(|harp| self.or_warn("owned", harp)).collect();
        owned.sort_by_key(Harp::key);
        owned
    }

    /// Says which tables of single reeds cannot be used.
    pub(super) fn check_reeds(&mut self, concert: ConcertPitch) {
        for (name, own) in &self.settings.config.reeds {
            if let Err(error) = reeds::own_reeds(self.library, (name, own), concert) {
                let message = format!("reeds of {name:?}: {error}");
                self.warnings.push(self.settings.mistake(&format!("reeds.{name}"), message));
            }
        }
    }

    fn channel(&mut self) -> Result<sound::Channel, Failure> {
        let both = (self.common.channel.as_ref(), self.settings.config.input.channel.as_ref());
        Ok(self.pick("input.channel", both, str::parse)?.unwrap_or_default())
    }

    /// Where the sound comes from. A device on the command line means a microphone, whatever the settings listen to.
    fn source(&mut self) -> Result<HearFrom, Failure> {
        let (common, input) = (self.common, &self.settings.config.input);
        for (name, given) in
            [("input.from", common.from.is_some()), ("input.device", common.device.is_some())]
        {
            if given {
                self.origins.insert(name, Origin::CommandLine);
            }
        }
        let wanted = common.from.as_deref();
        let from = match (wanted, &common.device, &input.from) {
            (None, None, Some(from)) => from.as_ref(),
            _ => wanted.unwrap_or(OsStr::new("mic")),
        };
        if from == "mic" {
            return Ok(HearFrom::Mic(common.device.as_ref().or(input.device.as_ref()).cloned()));
        }
        if let Some(device) = &common.device {
            let from = from.display();
            return Err(Failure::user(format!(
                "--device {device} is a microphone, and --from {from} listens to none; leave one of them out"
            )));
        }
        Ok(if from == "player" { HearFrom::Player } else { HearFrom::File(PathBuf::from(from)) })
    }

    /// Whether no colour at all is wanted.
    pub(super) fn mono(&mut self) -> bool {
        if self.common.theme.is_some() {
            self.origins.insert("theme", Origin::CommandLine);
        }
        match self.common.theme.or(self.settings.config.theme) {
            Some(theme) => theme == ThemeName::Mono,
            None => self.environment("theme", environment_wants_mono()),
        }
    }

    /// Whether only ASCII characters may be written.
    pub(super) fn ascii(&mut self) -> bool {
        if self.common.ascii {
            self.origins.insert("ascii", Origin::CommandLine);
            return true;
        }
        match self.settings.config.ascii {
            Some(ascii) => ascii,
            None => self.environment("ascii", environment_wants_ascii()),
        }
    }

    fn environment(&mut self, name: &'static str, wants: bool) -> bool {
        if wants {
            self.origins.insert(name, Origin::Environment);
        }
        wants
    }

    pub(super) fn tolerance(&mut self) -> Tolerance {
        let own = self.settings.config.tolerance;
        let usual = Tolerance::default();
        let read = |centred: Option<f64>, in_tune: Option<f64>| {
            Tolerance::new(centred.unwrap_or(usual.centred_cents), in_tune.unwrap_or(usual.in_tune_cents))
        };
        let both = read(own.centred, own.in_tune);
        let Err(error) = both else { return both.unwrap_or(usual) };
        // One of them may be right without the other.
        let alone = [
            ("tolerance.centred", own.centred, read(None, own.in_tune)),
            ("tolerance.in_tune", own.in_tune, read(own.centred, None)),
        ];
        for (wrong, given, read) in alone {
            if let (Some(_), Ok(tolerance)) = (given, read) {
                self.or_warn::<(), _>(wrong, Err(error));
                return tolerance;
            }
        }
        self.origins.insert("tolerance.in_tune", Origin::Default);
        self.or_warn::<(), _>("tolerance.centred", Err(error));
        usual
    }

    pub(super) fn tab(&mut self) -> TabStyle {
        let own = &self.settings.config.tab;
        let error = match own.style() {
            Ok(style) => return style,
            Err(error) => error,
        };
        // One mark may be wrong and the rest right.
        for wrong in TabConfig::NAMES {
            if let Ok(style) = own.without(wrong).style() {
                self.or_warn::<(), _>(wrong, Err(error));
                return style;
            }
        }
        self.origins.extend(TabConfig::NAMES.map(|name| (name, Origin::Default)));
        self.warnings.push(self.settings.mistake("tab", error.to_string()));
        TabStyle::default()
    }

    /// The keys with those of the player's own that can be used.
    pub(super) fn keys(&mut self) -> KeyMap {
        let mut own = self.settings.config.keys.clone();
        loop {
            let error = match KeyMap::with(own.iter().map(|(name, keys)| (name.as_str(), keys.as_str()))) {
                Ok(keys) => return keys,
                Err(error) => error,
            };
            let named = match &error {
                KeyMapError::NoCommand(name) | KeyMapError::NoKey(name) | KeyMapError::Key(name, _) => {
                    vec![name]
                }
                KeyMapError::Twice(_, first, second) => vec![second, first],
            };
            let wrong = named.into_iter().find(|name| own.contains_key(*name)).cloned();
            let place = wrong.as_ref().map_or("keys".to_owned(), |name| format!("keys.{name}"));
            self.warnings.push(self.settings.mistake(&place, error.to_string()));
            match wrong {
                Some(name) => own.remove(&name),
                None => return KeyMap::default(),
            };
        }
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
