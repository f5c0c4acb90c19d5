//! The player's settings: read at the start, never fatal, never overwritten when they cannot be read.

use layout::{MarksError, ReedCents, TabStyle};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use theory::Ability;

/// Settings as the player writes them; everything is optional.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct Config {
    /// Harp key, as on `--harp`.
    pub(crate) harp: Option<String>,
    /// Tuning by name.
    pub(crate) tuning: Option<String>,
    /// Temperament by name.
    pub(crate) temperament: Option<String>,
    /// A4 in hertz.
    pub(crate) a4: Option<f64>,
    /// `default` or `mono`.
    pub(crate) theme: Option<String>,
    /// ASCII glyphs only.
    pub(crate) ascii: Option<bool>,
    /// Numbers instead of moving marks, and at most four pictures a second.
    pub(crate) reduced_motion: bool,
    /// How near is near enough.
    pub(crate) tolerance: ToleranceConfig,
    /// Where the sound comes from.
    pub(crate) input: InputConfig,
    /// What the player commands.
    pub(crate) ability: Option<Ability>,
    /// How tab is written.
    pub(crate) tab: TabConfig,
    /// Cents by which single reeds lie off the temperament, by harp: `[reeds.A]`.
    pub(crate) reeds: BTreeMap<String, ReedCents>,
    /// Keys by action, as the help lists them.
    pub(crate) keys: BTreeMap<String, String>,
}

/// `[tolerance]`, cents.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct ToleranceConfig {
    /// Within this a note counts as centred.
    pub(crate) centred: Option<f64>,
    /// Within this it counts as in tune.
    pub(crate) in_tune: Option<f64>,
}

/// `[input]`.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct InputConfig {
    /// `mic`, `player` or a WAV file.
    pub(crate) from: Option<String>,
    /// Device name.
    pub(crate) device: Option<String>,
    /// Channel.
    pub(crate) channel: Option<String>,
}

/// `[tab]`: a style by name, and single marks that depart from it.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct TabConfig {
    /// One of [`TabStyle::NAMES`].
    pub(crate) style: Option<String>,
    /// Mark of the blow.
    pub(crate) blow: Option<String>,
    /// Mark of the draw.
    pub(crate) draw: Option<String>,
    /// Whether the breath's mark stands after the hole number.
    pub(crate) breath_after: Option<bool>,
    /// Mark of a half step of bend.
    pub(crate) bend: Option<String>,
    /// Mark of an overblow or overdraw.
    pub(crate) overbend: Option<String>,
}

impl TabConfig {
    /// The style that is asked for.
    ///
    /// # Errors
    /// If there is no such style, or its marks could be mistaken for one another.
    pub(crate) fn style(&self) -> Result<TabStyle, MarksError> {
        let mut marks =
            self.style.as_deref().map_or(Ok(TabStyle::default()), TabStyle::named)?.marks().clone();
        let own = [
            (&mut marks.blow, &self.blow),
            (&mut marks.draw, &self.draw),
            (&mut marks.bend, &self.bend),
            (&mut marks.overbend, &self.overbend),
        ];
        for (mark, own) in own {
            if let Some(own) = own {
                mark.clone_from(own);
            }
        }
        marks.breath_after = self.breath_after.unwrap_or(marks.breath_after);
        TabStyle::new(marks)
    }
}

/// Settings that could not be read: where and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ConfigError {
    file: PathBuf,
    place: Option<(usize, usize)>,
    message: String,
}

impl fmt::Display for ConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file.display())?;
        if let Some((line, column)) = self.place {
            write!(f, ", line {line}, column {column}")?;
        }
        write!(f, ": {}", self.message)
    }
}

/// The settings in force, and where they may be written.
#[derive(Debug, Default)]
pub(crate) struct Settings {
    /// What was read, or the defaults.
    pub(crate) config: Config,
    /// Why the defaults are in force although there is a file.
    pub(crate) problem: Option<ConfigError>,
    /// The file, if the platform has a place for one.
    file: Option<PathBuf>,
}

impl Settings {
    /// Reads `file`, or the one in the platform's config folder. A missing file is no problem.
    pub(crate) fn load(file: Option<&Path>) -> Self {
        let Some(path) = file.map(Path::to_owned).or_else(default_file) else {
            return Self::default();
        };
        let (config, problem) = match read(&path) {
            Ok(text) => match parse(&path, &text) {
                Ok(config) => (config, None),
                Err(problem) => (Config::default(), Some(problem)),
            },
            Err(error) if error.kind() == io::ErrorKind::NotFound => (Config::default(), None),
            Err(error) => {
                let message = format!("cannot be read: {error}");
                (Config::default(), Some(ConfigError { file: path.clone(), place: None, message }))
            }
        };
        Self { config, problem, file: Some(path) }
    }

    /// The folder of the file, where the player's own tunings, scales and drills lie.
    pub(crate) fn folder(&self) -> Option<&Path> {
        self.file.as_deref().and_then(Path::parent)
    }

    /// Writes one top-level setting, keeping everything else in the file as it stands, comments included.
    ///
    /// # Errors
    /// A sentence, if the file was broken (it is then left alone) or cannot be written; the old file is still whole.
    pub(crate) fn remember(&self, name: &str, value: &str) -> Result<(), String> {
        let Some(file) = &self.file else { return Ok(()) };
        if self.problem.is_some() {
            return Err(format!("not saved: mend {} first", file.display()));
        }
        write(file, name, value).map_err(|error| format!("{} is not saved: {error}", file.display()))
    }
}

/// The text of a file of the player's own. A pipe would be waited for without a word.
pub(crate) fn read(file: &Path) -> io::Result<String> {
    let about = std::fs::metadata(file)?;
    if !about.is_file() && !about.is_dir() {
        return Err(io::Error::other("it is a pipe or a device and must be a file"));
    }
    std::fs::read_to_string(file)
}

/// Sets one top-level setting in a file that may not exist yet.
fn write(file: &Path, name: &str, value: &str) -> io::Result<()> {
    let text = match read(file) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(error),
    };
    let mut document: toml_edit::DocumentMut =
        text.parse().map_err(|error: toml_edit::TomlError| io::Error::other(error.message().to_owned()))?;
    document[name] = toml_edit::value(value);
    replace(file, &document.to_string())
}

/// Puts `text` in place of `file` in one step, so that a full disk leaves the old file whole.
fn replace(file: &Path, text: &str) -> io::Result<()> {
    let folder = file.parent().filter(|f| !f.as_os_str().is_empty()).unwrap_or(Path::new("."));
    std::fs::create_dir_all(folder)?;
    let mut new = tempfile::NamedTempFile::new_in(folder)?;
    new.write_all(text.as_bytes())?;
    new.as_file().sync_all()?;
    new.persist(file).map_err(|error| error.error)?;
    Ok(())
}

/// `bendwright/config.toml` in the platform's config folder.
fn default_file() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    let strategy = etcetera::choose_base_strategy().ok()?;
    Some(strategy.config_dir().join("bendwright").join("config.toml"))
}

fn parse(file: &Path, text: &str) -> Result<Config, ConfigError> {
    toml::from_str(text).map_err(|error| ConfigError {
        file: file.to_owned(),
        place: error.span().map(|span| line_and_column(text, span.start)),
        message: error.message().to_owned(),
    })
}

/// Line and column, both from 1, of a byte offset; the column counts characters.
fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let before = text.get(..offset).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(text: &str) -> String {
        parse(Path::new("c.toml"), text).unwrap_err().to_string()
    }

    #[test]
    fn a_full_file_is_read() {
        let text = "harp = \"Bb\"\na4 = 442\n[tolerance]\nin_tune = 20\n[keys]\nquit = \"x\"\n";
        let config = parse(Path::new("c.toml"), text).unwrap();
        assert_eq!(config.harp.as_deref(), Some("Bb"));
        assert_eq!((config.a4, config.tolerance.in_tune), (Some(442.0), Some(20.0)));
        assert_eq!(config.keys["quit"], "x");
    }

    #[test]
    fn mistakes_are_named_with_their_place() {
        assert!(problem("harp = \"C\"\na4 = \"x\"\n").starts_with("c.toml, line 2, column 6: invalid type"));
        let unknown = problem("hrap = \"C\"\n");
        assert!(unknown.contains("line 1, column 1") && unknown.contains("`harp`"), "{unknown}");
        assert!(problem("harp = \n").contains("line 1"), "{}", problem("harp = \n"));
    }

    #[test]
    fn remembering_keeps_comments_and_other_settings() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("deep/config.toml");
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(&file, "# mine\ntheme = \"mono\" # quiet\n").unwrap();
        Settings::load(Some(&file)).remember("harp", "A").unwrap();
        assert_eq!(
            std::fs::read_to_string(&file).unwrap(),
            "# mine\ntheme = \"mono\" # quiet\nharp = \"A\"\n"
        );
    }

    #[test]
    fn a_broken_file_is_reported_and_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("config.toml");
        // No TOML at all, and TOML that says something else than settings can.
        for broken in ["harp = [", "a4 = \"high\"\n"] {
            std::fs::write(&file, broken).unwrap();
            let settings = Settings::load(Some(&file));
            assert_eq!(settings.config, Config::default());
            assert!(settings.problem.is_some());
            assert!(settings.remember("harp", "A").is_err());
            assert_eq!(std::fs::read_to_string(&file).unwrap(), broken);
        }
    }
}
