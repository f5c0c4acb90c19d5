//! The player's settings: read at the start, never fatal, never written by the program.
//!
//! Each line is read by itself: what is right is used, and what is wrong is said with its place and left out.

use crate::args::ThemeName;
use crate::files::{self, Mistake};
use layout::{ConcertPitch, FileError, HarpKey, MarksError, ReedCents, TabStyle};
use practice::Feedback;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::{Path, PathBuf};
use theory::Ability;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue, Deserializer};

/// So many mistakes are told one by one; of a file that has more, nobody reads all.
const TOLD: usize = 12;

/// Settings as the player writes them; everything is optional. `commands/config.rs` says what each means.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct Config {
    /// Harp key, as on `--harp`.
    pub(crate) harp: Option<HarpKey>,
    /// The harps the player owns, keys with or without a tuning, set apart by commas.
    pub(crate) owned: Option<String>,
    /// Tuning by name.
    pub(crate) tuning: Option<String>,
    /// Temperament by name.
    pub(crate) temperament: Option<String>,
    /// A4 in hertz.
    pub(crate) a4: Option<ConcertPitch>,
    /// `default` or `mono`.
    pub(crate) theme: Option<ThemeName>,
    /// ASCII glyphs only.
    pub(crate) ascii: Option<bool>,
    /// Numbers instead of moving marks, and at most four pictures a second.
    pub(crate) reduced_motion: bool,
    /// When the pitch is shown in a drill.
    pub(crate) feedback: Feedback,
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

impl Config {
    /// What the settings say about the harp in the hand, to tell whether they have changed; empty if they say nothing.
    pub(crate) fn harp_words(&self) -> String {
        let harp = self.harp.map(|harp| harp.to_string());
        [harp, self.tuning.clone()].into_iter().flatten().collect::<Vec<_>>().join(" ")
    }
}

impl TabConfig {
    /// The settings of `[tab]`.
    pub(crate) const NAMES: [&'static str; 6] =
        ["tab.style", "tab.blow", "tab.draw", "tab.breath_after", "tab.bend", "tab.overbend"];

    /// These settings without the one of this name.
    pub(crate) fn without(&self, name: &str) -> Self {
        let keep = |own: &str| own != name;
        let mark = |own: &str, mark: &Option<String>| mark.clone().filter(|_| keep(own));
        Self {
            style: mark("tab.style", &self.style),
            blow: mark("tab.blow", &self.blow),
            draw: mark("tab.draw", &self.draw),
            breath_after: self.breath_after.filter(|_| keep("tab.breath_after")),
            bend: mark("tab.bend", &self.bend),
            overbend: mark("tab.overbend", &self.overbend),
        }
    }

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

/// The settings in force, and where they stand.
#[derive(Debug, Default)]
pub(crate) struct Settings {
    /// What was read, or the defaults.
    pub(crate) config: Config,
    /// The file, if the platform has a place for one.
    file: Option<PathBuf>,
    text: String,
    /// Where each setting stands that was read, by its name with the tables before it: `tolerance.in_tune`.
    places: BTreeMap<String, Range<usize>>,
}

impl Settings {
    /// Reads `file`, or the one in the platform's config folder; and a sentence for each mistake in it. A missing file
    /// is no mistake.
    pub(crate) fn load(file: Option<&Path>) -> (Self, Vec<String>) {
        let Some(file) = file.map(Path::to_owned).or_else(default_file) else {
            return Self::default().with(Vec::new());
        };
        let settings = |text| Self { text, file: Some(file.clone()), ..Self::default() };
        match files::read(&file) {
            Ok(text) => {
                let mut settings = settings(text.unwrap_or_default());
                let mistakes = settings.parse();
                let said = mistakes.iter().map(|error| Mistake::inside(&file, error.clone()).and("left out"));
                let mut said: Vec<String> = said.take(TOLD).collect();
                if mistakes.len() > TOLD {
                    let more = format!("{} more mistakes are not told", mistakes.len() - TOLD);
                    said.push(Mistake::about(&file, more).and("all left out"));
                }
                settings.with(said)
            }
            Err(mistake) => settings(String::new()).with(vec![mistake.and("using the defaults")]),
        }
    }

    /// The settings of a text, with what is wrong in it.
    #[cfg(test)]
    pub(crate) fn of(text: &str) -> (Self, Vec<FileError>) {
        let mut settings = Self { text: text.to_owned(), ..Self::default() };
        let mistakes = settings.parse();
        (settings, mistakes)
    }

    fn with(self, said: Vec<String>) -> (Self, Vec<String>) {
        (self, said)
    }

    /// The file, whether it is there or not.
    pub(crate) fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// The folder of the file, where the player's own tunings, scales and drills lie.
    pub(crate) fn folder(&self) -> Option<&Path> {
        self.file().and_then(Path::parent)
    }

    /// The line, from 1, where a setting stands, or the first line of a table.
    pub(crate) fn line(&self, name: &str) -> Option<usize> {
        Some(FileError::at_span(&self.text, self.place(name)?, "").line)
    }

    /// A sentence for a setting that can be read but not used.
    pub(crate) fn mistake(&self, name: &str, message: impl Into<String>) -> String {
        let file = self.file.as_deref().unwrap_or(Path::new("settings"));
        let mistake = match self.place(name) {
            Some(place) => Mistake::inside(file, FileError::at_span(&self.text, place, message)),
            None => Mistake::about(file, message),
        };
        mistake.and("left out")
    }

    fn place(&self, name: &str) -> Option<&Range<usize>> {
        let inside = format!("{name}.");
        let exact = self.places.get(name);
        exact.or_else(|| {
            let inside = self.places.iter().filter(|(own, _)| own.starts_with(&inside));
            inside.map(|(_, place)| place).min_by_key(|place| place.start)
        })
    }

    /// Reads the text; gives back the mistakes in the order in which they stand.
    fn parse(&mut self) -> Vec<FileError> {
        let text = self.text.as_str();
        let (document, faults) = DeTable::parse_recoverable(text);
        let mut mistakes: BTreeMap<(usize, usize), FileError> = BTreeMap::new();
        let mut tell = |error: FileError| {
            mistakes.entry((error.line, error.column)).or_insert(error);
        };
        let line_of = |offset: usize| FileError::at(text, offset, "").line;
        // What else is wrong with a line follows from the first fault in it.
        let mut broken = BTreeSet::new();
        for fault in &faults {
            let error = FileError::from_toml(text, fault);
            if broken.insert(error.line) {
                tell(error);
            }
        }
        let mut sound = DeTable::new();
        for leaf in leaves(document.get_ref()) {
            if broken.range(line_of(leaf.span().start)..=line_of(leaf.span().end)).next().is_some() {
                continue;
            }
            let mut alone = DeTable::new();
            leaf.plant(&mut alone);
            match read(alone) {
                Ok(_) => {
                    self.places.insert(leaf.name(), leaf.value.span());
                    leaf.plant(&mut sound);
                }
                Err(error) => tell(FileError::from_toml(text, &error)),
            }
        }
        let (config, clashes) = together(sound);
        self.config = config;
        for clash in clashes {
            tell(FileError::from_toml(text, &clash));
        }
        mistakes.into_values().collect()
    }
}

/// Reads settings each of which can be read by itself. Where some of one table contradict one another, that table is
/// left out.
fn together(mut sound: DeTable<'_>) -> (Config, Vec<toml::de::Error>) {
    let mut clashes = Vec::new();
    loop {
        let error = match read(sound.clone()) {
            Ok(config) => return (config, clashes),
            Err(error) => error,
        };
        let at = error.span().map_or(0, |span| span.start);
        let whose = sound.iter().filter(|(_, value)| value.span().start <= at);
        let Some(name) = whose.max_by_key(|(_, value)| value.span().start).map(|(name, _)| name.clone())
        else {
            return (Config::default(), clashes);
        };
        sound.remove(name.get_ref().as_ref());
        clashes.push(error);
    }
}

fn read(table: DeTable<'_>) -> Result<Config, toml::de::Error> {
    Config::deserialize(Deserializer::from(Spanned::new(0..0, table)))
}

/// One setting, with the tables it stands in.
struct Leaf<'a, 'i> {
    tables: Vec<(&'a Spanned<DeString<'i>>, Range<usize>)>,
    key: &'a Spanned<DeString<'i>>,
    value: &'a Spanned<DeValue<'i>>,
}

/// Every setting of a table in alphabetical order.
fn leaves<'a, 'i>(table: &'a DeTable<'i>) -> Vec<Leaf<'a, 'i>> {
    let mut found = Vec::new();
    for (key, value) in table {
        match value.get_ref().as_table() {
            Some(inner) if !inner.is_empty() => found.extend(leaves(inner).into_iter().map(|mut leaf| {
                leaf.tables.insert(0, (key, value.span()));
                leaf
            })),
            _ => found.push(Leaf { tables: Vec::new(), key, value }),
        }
    }
    found
}

impl<'i> Leaf<'_, 'i> {
    /// From the key to the end of the value.
    fn span(&self) -> Range<usize> {
        let (key, value) = (self.key.span(), self.value.span());
        key.start.min(value.start)..key.end.max(value.end)
    }

    fn name(&self) -> String {
        let tables = self.tables.iter().map(|(table, _)| *table);
        tables.chain([self.key]).map(|key| key.get_ref().as_ref()).collect::<Vec<_>>().join(".")
    }

    /// Puts the setting where it belongs in another document.
    fn plant(&self, document: &mut DeTable<'i>) {
        let mut table = document;
        for (key, span) in &self.tables {
            let inner = table
                .entry((*key).clone())
                .or_insert_with(|| Spanned::new(span.clone(), DeValue::Table(DeTable::new())));
            // A name that stands for a table in one place and for a value in another is a fault of the whole document.
            let DeValue::Table(inner) = inner.get_mut() else { return };
            table = inner;
        }
        table.insert(self.key.clone(), self.value.clone());
    }
}

/// `bendwright/config.toml` in the platform's config folder.
fn default_file() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    let strategy = etcetera::choose_base_strategy().ok()?;
    Some(strategy.config_dir().join("bendwright").join("config.toml"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    /// The settings of a text, and what is said about it.
    fn loaded(text: &str) -> (Settings, Vec<String>) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("config.toml");
        fs::write(&file, text).unwrap();
        let loaded = Settings::load(Some(&file));
        assert_eq!(fs::read_to_string(&file).unwrap(), text, "the settings are never written");
        loaded
    }

    #[test]
    fn a_full_file_is_read() {
        let text = "harp = \"Bb\"\na4 = 442\n[tolerance]\nin_tune = 20\n[keys]\nquit = \"x\"\n[reeds.'low F']\nblow = [1]\n";
        let (settings, said) = loaded(text);
        assert_eq!(said, [""; 0]);
        let config = &settings.config;
        assert_eq!(config.harp, "Bb".parse().ok());
        assert_eq!((config.a4.unwrap().a4_hz(), config.tolerance.in_tune), (442.0, Some(20.0)));
        assert_eq!((config.keys["quit"].as_str(), &config.reeds["low F"].blow[..]), ("x", &[1.0][..]));
        let line = |name| settings.line(name);
        assert_eq!(
            (line("harp"), line("tolerance.in_tune"), line("reeds.low F")),
            (Some(1), Some(4), Some(8))
        );
        assert_eq!((line("tolerance.centred"), line("tuning")), (None, None));
    }

    #[test]
    fn each_mistake_is_said_with_its_place_and_the_rest_holds() {
        let text = "hrap = \"D\"\nharp = \"A\"\na4 = \"high\"\ntheme = mono\nascii = true\ntuning = \"x\ntemperament = \"just\"\n\
                    [tolerance]\nin_tune = 20\ncentred = []\n[colours]\nred = 1\nblue = 2\n[ability]\nlevel = \"great\"\nsure = \"6o\"\n\
                    [reeds.A]\nblow = [1, \"x\"]\ndraw = [2]\n";
        let (settings, said) = loaded(text);
        let places = [(1, 1), (3, 6), (4, 9), (6, 12), (10, 11), (11, 2), (15, 9), (18, 12)];
        assert_eq!(said.len(), places.len(), "{said:#?}");
        for (said, (line, column)) in said.iter().zip(places) {
            let end = format!("config.toml, line {line}, column {column}; left out)");
            assert!(said.ends_with(&end), "{said}");
        }
        assert!(
            said[0]
                .starts_with("there is no entry \"hrap\"; did you mean \"harp\"? There are: harp, owned, ")
        );
        assert!(said[1].starts_with("a number is wanted, not the text \"high\" (/"), "{}", said[1]);
        let Config { harp, a4, theme, ascii, tuning, temperament, tolerance, ability, reeds, .. } =
            settings.config;
        assert_eq!((harp, a4, theme, ascii), ("A".parse().ok(), None, None, Some(true)));
        assert_eq!((tuning, temperament.as_deref()), (None, Some("just")));
        assert_eq!((tolerance.in_tune, tolerance.centred), (Some(20.0), None));
        assert_eq!(ability.unwrap().to_string(), "draw-bends, 6o", "the level is the usual one");
        assert_eq!((&reeds["A"].blow[..], &reeds["A"].draw[..]), (&[][..], &[2.0][..]));
    }

    #[test]
    fn a_mistake_of_form_costs_no_more_than_it_must() {
        for (text, lines) in [
            ("harp = \"A\"\na4 = \nascii = true\n", &[2][..]),
            ("harp = \"A\"\n[tolerance\nin_tune = 20\n[input]\nfrom = 'mic'\n", &[2]),
            ("harp = \"A\"\nharp = \"B\"\n", &[2]),
            ("harp = \"A\"\n= 3\n\"\"\"x\"\"\" = 3\n", &[2, 3]),
            ("harp = \"A\"\nowned = [\n'C'\n", &[3]),
            ("harp = 'A'\n[tab]\nstyle = { x = 3\n", &[3]),
        ] {
            let (settings, said) = loaded(text);
            assert_eq!(settings.config.harp, "A".parse().ok(), "{text:?}: {said:?}");
            let told =
                lines.iter().filter(|line| said.iter().any(|said| said.contains(&format!("line {line}, "))));
            assert_eq!((told.count(), said.len()), (lines.len(), lines.len()), "{text:?}: {said:#?}");
        }
    }

    #[test]
    fn what_contradicts_itself_is_left_out_alone() {
        let (settings, said) =
            loaded("[ability]\nsure = \"-4'\"\nlearning = \"-4'\"\n[tolerance]\nin_tune = 20\n");
        assert!(
            said.len() == 1 && said[0].contains("-4' is listed twice") && said[0].contains("line 1"),
            "{said:?}"
        );
        assert_eq!((settings.config.ability, settings.config.tolerance.in_tune), (None, Some(20.0)));
    }

    #[test]
    fn of_very_many_mistakes_some_are_told() {
        let lines: Vec<String> = (0..2000).map(|n| format!("x{n} = 1")).collect();
        let (settings, said) = loaded(&(lines.join("\n") + "\nharp = 'A'\n"));
        assert_eq!((said.len(), settings.config.harp), (TOLD + 1, "A".parse().ok()));
        assert!(said[TOLD].starts_with("1988 more mistakes are not told ("), "{}", said[TOLD]);
    }

    #[test]
    fn a_missing_file_is_no_mistake_and_an_odd_one_is() {
        let folder = tempfile::tempdir().unwrap();
        let (settings, said) = Settings::load(Some(&folder.path().join("config.toml")));
        assert_eq!((settings.config, said.len()), (Config::default(), 0));
        let (settings, said) = Settings::load(Some(folder.path()));
        assert_eq!(settings.config, Config::default());
        assert!(said.len() == 1 && said[0].ends_with("; using the defaults)"), "{said:?}");
    }
}
