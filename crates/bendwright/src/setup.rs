//! What the command line and the settings file together ask for.
//!
//! A mistake on the command line ends the program; one in the settings file is said and the default is used, so
//! that a broken file never stands between a player and the harp.

use crate::args::{Common, ThemeName};
use crate::config::{Config, InputConfig, Settings};
use crate::failure::Failure;
use crate::library::Library;
use layout::{ConcertPitch, Harp, HarpKey, ReedCents, TabStyle, Temperament, Tuning};
use scoring::Tolerance;
use sheets::Letters;
use std::ffi::OsStr;
use std::path::PathBuf;
use theory::Ability;

/// Where the sound comes from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum From {
    /// An input device; by name, or the default one.
    Mic(Option<String>),
    /// The built-in player.
    Player,
    /// A recording; `-` is standard input.
    File(PathBuf),
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
        if let Some(file) = common.config.as_ref().filter(|file| !file.exists()) {
            warnings.push(format!("{}: there is no such file yet; using the defaults", file.display()));
        }
        let config = settings.config.clone();
        let (library, problems) = Library::load(settings.folder());
        warnings.extend(problems);
        let mut choose = Chooser { warnings: &mut warnings, library: &library };
        let temperament = choose.temperament(common, &config)?;
        let harp = choose.harp(common, &config)?;
        choose.check_reeds(&config, harp.concert());
        let tab = choose.or_warn("tab", config.tab.style()).unwrap_or_default();
        let tolerance = choose.tolerance(&config);
        let channel = choose
            .pick("channel", common.channel.as_ref(), config.input.channel.as_ref(), str::parse)?
            .unwrap_or_default();
        let theme = choose.theme(common, &config);
        let cents = reed_cents(&harp, &library, temperament.as_ref(), &config);
        Ok(Self {
            harp: harp.with_reed_cents(cents),
            temperament,
            library,
            tab,
            tolerance,
            from: source(common, &config.input)?,
            from_was_named: common.from.is_some() || config.input.from.is_some() || common.device.is_some(),
            channel,
            mono: theme == Some(ThemeName::Mono) || (theme.is_none() && environment_wants_mono()),
            ascii: common.ascii || config.ascii.unwrap_or_else(environment_wants_ascii),
            settings,
            warnings,
        })
    }

    /// Notes which drills of the player's own cannot be used. Only where drills are offered is that worth a word: a
    /// drill without a mistake may still be for other reeds.
    pub(crate) fn check_drills(&mut self) {
        self.warnings.extend(self.library.drill_problems(&self.harp));
    }

    /// What the player commands, by the command line or else by the settings, if either says it.
    ///
    /// # Errors
    /// [`Failure::User`] if the text on the command line describes no ability.
    pub(crate) fn ability(&self, able: Option<&str>) -> Result<Option<Ability>, Failure> {
        match able {
            Some(text) => text.parse().map(Some).map_err(|error| Failure::user(format!("--able: {error}"))),
            None => Ok(self.settings.config.ability.clone()),
        }
    }

    /// How far the reeds of a harp lie from equal temperament, by the temperament and the settings.
    pub(crate) fn reed_cents(&self, harp: &Harp) -> ReedCents {
        reed_cents(harp, &self.library, self.temperament.as_ref(), &self.settings.config)
    }

    /// The microphone that was named, or the default one.
    pub(crate) fn microphone(&self) -> From {
        match &self.from {
            From::Mic(_) => self.from.clone(),
            From::Player | From::File(_) => From::Mic(None),
        }
    }

    /// Which characters a text may hold.
    pub(crate) fn letters(&self) -> Letters {
        if self.ascii { Letters::Ascii } else { Letters::Unicode }
    }
}

/// A device on the command line means a microphone, whatever the settings listen to.
fn source(common: &Common, settings: &InputConfig) -> Result<From, Failure> {
    let wanted = common.from.as_deref();
    let from = match (wanted, &common.device, &settings.from) {
        (None, None, Some(from)) => from.as_ref(),
        _ => wanted.unwrap_or(OsStr::new("mic")),
    };
    if from == "mic" {
        return Ok(From::Mic(common.device.as_ref().or(settings.device.as_ref()).cloned()));
    }
    if let Some(device) = &common.device {
        let from = from.display();
        return Err(Failure::user(format!(
            "--device {device} is a microphone, and --from {from} listens to none; leave one of them out"
        )));
    }
    Ok(if from == "player" { From::Player } else { From::File(PathBuf::from(from)) })
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
    library: &'a Library,
}

impl Chooser<'_> {
    /// A value that `read` makes from text.
    fn pick<T, E: std::fmt::Display>(
        &mut self,
        name: &str,
        argument: Option<&String>,
        setting: Option<&String>,
        read: impl Fn(&str) -> Result<T, E>,
    ) -> Result<Option<T>, Failure> {
        if let Some(text) = argument {
            return read(text).map(Some).map_err(|error| Failure::user(format!("--{name}: {error}")));
        }
        let read = setting.map(|text| read(text));
        Ok(read.and_then(|read| self.or_warn(name, read)))
    }

    /// A setting from the file: a mistake becomes a warning.
    fn or_warn<T, E: std::fmt::Display>(&mut self, name: &str, read: Result<T, E>) -> Option<T> {
        read.map_err(|error| self.warnings.push(format!("settings, {name}: {error}; using the default"))).ok()
    }

    /// The harp in equal temperament.
    fn harp(&mut self, common: &Common, config: &Config) -> Result<Harp, Failure> {
        let key = self.pick("harp", common.harp.as_ref(), config.harp.as_ref(), str::parse::<HarpKey>)?;
        let tunings = &self.library.tunings;
        let find = |name: &str| tunings.find(name).map(|known| known.tuning);
        let tuning = self.pick("tuning", common.tuning.as_ref(), config.tuning.as_ref(), find)?;
        let concert = if let Some(hz) = common.a4 {
            ConcertPitch::new(hz).map_err(|e| Failure::user(format!("--a4: {e}")))?
        } else {
            let read = config.a4.map(ConcertPitch::new);
            read.and_then(|read| self.or_warn("a4", read)).unwrap_or_default()
        };
        Ok(Harp::new(key.unwrap_or_default(), tuning.unwrap_or_else(Tuning::richter), concert))
    }

    fn temperament(&mut self, common: &Common, config: &Config) -> Result<Option<Temperament>, Failure> {
        let known = &self.library.temperaments;
        let find = |name: &str| Temperament::find(known, name).cloned();
        self.pick("temperament", common.temperament.as_ref(), config.temperament.as_ref(), find)
    }

    /// Says which tables of single reeds cannot be used.
    fn check_reeds(&mut self, config: &Config, concert: ConcertPitch) {
        for (name, own) in &config.reeds {
            let read = own_reeds(self.library, (name, own), concert);
            self.or_warn(&format!("reeds of {name:?}"), read);
        }
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

/// How far the reeds of a harp lie from equal temperament: by the temperament, and by what the settings say of them.
fn reed_cents(
    harp: &Harp,
    library: &Library,
    temperament: Option<&Temperament>,
    config: &Config,
) -> ReedCents {
    let tempered = temperament.map(|temperament| temperament.reed_cents(harp.tuning()));
    let own = config.reeds.iter().filter(|(name, own)| {
        own_reeds(library, (name, own), harp.concert())
            .is_ok_and(|own| own.key() == harp.key() && own.tuning() == harp.tuning())
    });
    own.fold(tempered.unwrap_or_default(), |cents, (_, own)| cents.plus(own))
}

/// The harp that a table of reeds is for, if its figures can be right.
fn own_reeds(
    library: &Library,
    (name, own): (&str, &ReedCents),
    concert: ConcertPitch,
) -> Result<Harp, String> {
    let harp = library.tunings.harp(name, concert).map_err(|error| error.to_string())?;
    let holes = usize::from(harp.holes());
    if own.blow.len().max(own.draw.len()) > holes {
        return Err(format!("the harp has {holes} holes; give no more figures than that"));
    }
    let fits = |cents: f64| (-100.0..100.0).contains(&cents);
    match own.blow.iter().chain(&own.draw).find(|cents| !fits(**cents)) {
        Some(cents) => Err(format!("{cents} cents is a half step or more; stay below 100")),
        None => Ok(harp),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::Breath;

    #[test]
    fn single_reeds_count_on_their_own_harp_only() {
        let config: Config = toml::from_str("[reeds.'A natural minor']\ndraw = [0, -3.5]\n").unwrap();
        let library = Library::default();
        let just = Temperament::find(&library.temperaments, "just").unwrap();
        let offset = |name: &str, temperament| {
            let harp = library.tunings.harp(name, ConcertPitch::ISO).unwrap();
            let cents = reed_cents(&harp, &library, temperament, &config);
            harp.with_reed_cents(cents).reed_cents(2, Breath::Draw)
        };
        assert!((offset("A natural minor", None) + 3.5).abs() < 1e-9);
        assert!(offset("A", None).abs() < 1e-9 && offset("C natural minor", None).abs() < 1e-9);
        // 3/2 lies 1.955 cents above seven equal half steps (Ellis's cents).
        assert!((offset("A natural minor", Some(just)) - (1.955 - 3.5)).abs() < 1e-3);
        assert!((offset("C", Some(just)) - 1.955).abs() < 1e-3);
    }
}
