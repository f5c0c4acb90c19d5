//! What the program remembers by itself from one time to the next: the harp in the hand, the position, the scale, the
//! programme.
//!
//! It stands in a file of the program's own, so that the player's settings are never written to. What cannot be
//! remembered costs a sentence and nothing else.

use crate::files::{self, Mistake};
use course::Day;
use layout::{FileError, Harp, HarpKey, read_toml};
use serde::{Deserialize, Serialize};
use std::fs;
use std::path::{Path, PathBuf};
use theory::Position;

/// The version of the file; a later program may write one that this one does not understand.
const VERSION: u32 = 2;

/// How long a day's practice takes if the player does not say, minutes: short and daily. Common practice, no source.
pub(crate) const USUAL_MINUTES: u32 = 15;

/// A day's practice of more minutes than this cannot have been chosen.
const LONGEST_DAY_MINUTES: u32 = 24 * 60;

/// A delay of more seconds than this cannot have been measured.
const LONGEST_DELAY_S: f64 = 1.0;

/// What a player finds at the head of the file.
const HEAD: &str =
    "# Bendwright writes this by itself; what you want to set yourself belongs in the settings.\n";

/// What was chosen last.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Remembered {
    version: u32,
    /// A number that is no position counts as none.
    position: Option<u8>,
    scale: Option<String>,
    /// How long there is for a day's practice.
    #[serde(skip_serializing_if = "Option::is_none")]
    minutes: Option<u32>,
    harp: Option<RememberedHarp>,
    #[serde(default, rename = "delay", skip_serializing_if = "Vec::is_empty")]
    delays: Vec<RememberedDelay>,
    #[serde(default, rename = "programme", skip_serializing_if = "Vec::is_empty")]
    programmes: Vec<RememberedProgramme>,
}

/// The programme that a player follows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RememberedProgramme {
    player: String,
    name: String,
    began: Day,
}

/// How long a sound takes from a loudspeaker to a microphone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RememberedDelay {
    input: String,
    output: String,
    seconds: f64,
}

/// The harp that was in the hand last.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RememberedHarp {
    key: HarpKey,
    tuning: String,
    /// What the settings said about the harp at that time; see [`State::harp`].
    settings: String,
}

/// The part of the file that tells whether the rest can be understood.
#[derive(Deserialize)]
struct Version {
    version: u32,
}

/// What is remembered, and where.
#[derive(Debug, Default)]
pub(crate) struct State {
    remembered: Remembered,
    /// The file, if the platform has a place for one and it may be written.
    file: Option<PathBuf>,
    /// The player has been told that it cannot be written.
    told: bool,
}

impl State {
    /// Reads the file in the platform's state folder; and a sentence if it cannot be used. A missing file is no
    /// mistake.
    pub(crate) fn load() -> (Self, Option<String>) {
        default_file().map_or((Self::default(), None), |file| Self::read(&file))
    }

    /// Reads a file. One with a mistake is set aside, because the program wrote it and the player need not mend it; one
    /// of a later version is left alone.
    fn read(file: &Path) -> (Self, Option<String>) {
        let state = |remembered, file| Self { remembered, file, told: false };
        let mistake = match files::read(file) {
            Ok(None) => return (state(Remembered::default(), Some(file.to_owned())), None),
            Ok(Some(text)) => match parse(&text) {
                Ok(Some(remembered)) => return (state(remembered, Some(file.to_owned())), None),
                Ok(None) => {
                    let later = Mistake::about(file, "this was written by a later Bendwright");
                    let said = later.and("left alone; nothing is remembered this time");
                    return (Self::default(), Some(said));
                }
                Err(error) => Mistake::inside(file, error),
            },
            Err(mistake) => mistake,
        };
        let aside = file.with_extension("toml.broken");
        match fs::rename(file, &aside) {
            Ok(()) => {
                let said = mistake.and(&format!("set aside as {}", files::shown(&aside)));
                (state(Remembered::default(), Some(file.to_owned())), Some(said))
            }
            Err(_) => (Self::default(), Some(mistake.and("nothing is remembered this time"))),
        }
    }

    /// The file, if there is a place for one.
    pub(crate) fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// Key and tuning of the harp that was in the hand last, unless the player has written another one into the
    /// settings since. `settings` is what they say now about the harp, empty if nothing.
    pub(crate) fn harp(&self, settings: &str) -> Option<(HarpKey, &str)> {
        let harp = self.remembered.harp.as_ref()?;
        let holds = settings.is_empty() || settings == harp.settings;
        holds.then_some((harp.key, harp.tuning.as_str()))
    }

    /// The position chosen last.
    pub(crate) fn position(&self) -> Option<Position> {
        self.remembered.position.and_then(Position::new)
    }

    /// The name of the scale chosen last.
    pub(crate) fn scale(&self) -> Option<&str> {
        self.remembered.scale.as_deref()
    }

    /// How long there was for the last day's practice, minutes.
    pub(crate) fn minutes(&self) -> Option<u32> {
        self.remembered.minutes.filter(|minutes| (1..=LONGEST_DAY_MINUTES).contains(minutes))
    }

    /// How long a sound takes from a loudspeaker to a microphone, seconds, if that was ever measured for these two.
    pub(crate) fn delay(&self, input: &str, output: &str) -> Option<f64> {
        let known =
            self.remembered.delays.iter().find(|known| (&*known.input, &*known.output) == (input, output));
        known.map(|known| known.seconds).filter(|seconds| (0.0..=LONGEST_DELAY_S).contains(seconds))
    }

    /// Remembers how long a sound takes from a loudspeaker to a microphone, seconds.
    ///
    /// # Errors
    /// A sentence, the first time that it cannot be written.
    pub(crate) fn remember_delay(&mut self, input: &str, output: &str, seconds: f64) -> Result<(), String> {
        let delay = RememberedDelay { input: input.to_owned(), output: output.to_owned(), seconds };
        self.remember(|remembered| {
            remembered.delays.retain(|known| (&*known.input, &*known.output) != (input, output));
            remembered.delays.push(delay.clone());
        })
    }

    /// The name of the programme that a player follows, and the day on which it was begun.
    pub(crate) fn programme(&self, player: &str) -> Option<(&str, Day)> {
        let known = self.remembered.programmes.iter().find(|known| known.player == player)?;
        Some((known.name.as_str(), known.began))
    }

    /// Remembers the programme that a player follows, and since when; or that he follows none.
    ///
    /// # Errors
    /// A sentence, the first time that it cannot be written.
    pub(crate) fn remember_programme(
        &mut self,
        player: &str,
        followed: Option<(&str, Day)>,
    ) -> Result<(), String> {
        let followed = followed.map(|(name, began)| RememberedProgramme {
            player: player.to_owned(),
            name: name.to_owned(),
            began,
        });
        self.remember(|remembered| {
            remembered.programmes.retain(|known| known.player != player);
            remembered.programmes.extend(followed.clone());
        })
    }

    /// Remembers the harp in the hand; `settings` is what the settings say about it.
    ///
    /// # Errors
    /// A sentence, the first time that it cannot be written.
    pub(crate) fn remember_harp(&mut self, harp: &Harp, settings: &str) -> Result<(), String> {
        let tuning = harp.tuning().name().to_owned();
        let harp = RememberedHarp { key: harp.key(), tuning, settings: settings.to_owned() };
        self.remember(|remembered| remembered.harp = Some(harp.clone()))
    }

    /// Remembers how long there is for a day's practice, minutes.
    ///
    /// # Errors
    /// A sentence, the first time that it cannot be written.
    pub(crate) fn remember_minutes(&mut self, minutes: u32) -> Result<(), String> {
        // What was never changed need not be written.
        if self.remembered.minutes.is_none() && minutes == USUAL_MINUTES {
            return Ok(());
        }
        self.remember(|remembered| remembered.minutes = Some(minutes))
    }

    /// Remembers what was looked at, if that is another thing than last time.
    ///
    /// # Errors
    /// A sentence, the first time that it cannot be written.
    pub(crate) fn remember_view(&mut self, position: Position, scale: Option<&str>) -> Result<(), String> {
        if self.remembered.position.is_none() && position == Position::default() && scale.is_none() {
            return Ok(());
        }
        self.remember(|remembered| {
            remembered.position = Some(position.number());
            if let Some(scale) = scale {
                remembered.scale = Some(scale.to_owned());
            }
        })
    }

    /// Changes what is remembered, here and in the file. What another instance has written meanwhile stays.
    fn remember(&mut self, change: impl Fn(&mut Remembered)) -> Result<(), String> {
        let before = self.remembered.clone();
        change(&mut self.remembered);
        let Some(file) = &self.file else { return Ok(()) };
        if self.remembered == before {
            return Ok(());
        }
        let written = match files::read(file).ok().flatten().map(|text| parse(&text)) {
            Some(Ok(None)) => Err("the file was written by a later Bendwright meanwhile".to_owned()),
            Some(Ok(Some(mut newest))) => {
                change(&mut newest);
                write(file, &newest)
            }
            None | Some(Err(_)) => write(file, &self.remembered),
        };
        match written {
            Err(error) if !self.told => {
                self.told = true;
                let message = format!("what you chose is not remembered: {error}");
                Err(Mistake::about(file, message).to_string())
            }
            _ => Ok(()),
        }
    }
}

/// What stands in a file; nothing if a later program wrote it.
pub(crate) fn parse(text: &str) -> Result<Option<Remembered>, FileError> {
    if read_toml::<Version>(text)?.version > VERSION {
        return Ok(None);
    }
    read_toml(text).map(Some)
}

fn write(file: &Path, remembered: &Remembered) -> Result<(), String> {
    let text = toml::to_string(&Remembered { version: VERSION, ..remembered.clone() })
        .map_err(|error| error.to_string())?;
    let folder = file.parent().unwrap_or(file);
    let written =
        fs::create_dir_all(folder).and_then(|()| files::write(file, format!("{HEAD}{text}").as_bytes()));
    written.map_err(|error| files::reason(&error))
}

/// `bendwright/state.toml` in the platform's state folder, or in its data folder where there is no such folder.
fn default_file() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    let strategy = etcetera::choose_base_strategy().ok()?;
    let folder = strategy.state_dir().unwrap_or_else(|| strategy.data_dir());
    Some(folder.join("bendwright").join("state.toml"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use tempfile::TempDir;

    fn place() -> (TempDir, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("deep/er/state.toml");
        (folder, file)
    }

    fn fresh(file: &Path) -> State {
        let (state, problem) = State::read(file);
        assert_eq!(problem, None);
        state
    }

    fn harp(text: &str) -> Harp {
        layout::Tunings::ours().harp(text, layout::ConcertPitch::ISO).unwrap()
    }

    #[test]
    fn harp_position_and_scale_are_there_the_next_time() {
        let (_folder, file) = place();
        let mut state = fresh(&file);
        state.remember_harp(&harp("low F natural minor"), "C").unwrap();
        state.remember_view(Position::new(5).unwrap(), Some("Dorian")).unwrap();
        let state = fresh(&file);
        assert_eq!(state.harp("C"), Some(("low F".parse().unwrap(), "natural minor")));
        assert_eq!((state.position(), state.scale()), (Position::new(5), Some("Dorian")));
        let text = fs::read_to_string(&file).unwrap();
        assert!(
            text.starts_with("# Bendwright writes this by itself") && text.contains("version = 2\n"),
            "{text}"
        );
    }

    #[test]
    fn a_harp_written_into_the_settings_since_then_wins() {
        let (_folder, file) = place();
        let mut state = fresh(&file);
        assert_eq!(state.harp("A"), None, "nothing is remembered: the settings hold");
        state.remember_harp(&harp("D"), "A").unwrap();
        let state = fresh(&file);
        let d = Some(("D".parse().unwrap(), "Richter"));
        assert_eq!((state.harp("A"), state.harp("G"), state.harp("")), (d, None, d));
    }

    #[test]
    fn a_delay_belongs_to_two_devices() {
        let (_folder, file) = place();
        let mut state = fresh(&file);
        state.remember_delay("desk microphone", "headphones", 0.031).unwrap();
        state.remember_delay("desk microphone", "loudspeaker", 0.052).unwrap();
        state.remember_delay("desk microphone", "headphones", 0.033).unwrap();
        let state = fresh(&file);
        assert_eq!(state.delay("desk microphone", "headphones"), Some(0.033), "the newest counts");
        assert_eq!(state.delay("desk microphone", "loudspeaker"), Some(0.052));
        assert_eq!(state.delay("another", "headphones"), None);
    }

    #[test]
    fn each_player_has_a_programme_of_his_own() {
        let (_folder, file) = place();
        let mut state = fresh(&file);
        state.remember_programme("ida", Some(("second-position", Day(20_785)))).unwrap();
        state.remember_programme("me", Some(("mine", Day(20_000)))).unwrap();
        state.remember_programme("me", Some(("third-position", Day(20_786)))).unwrap();
        let mut state = fresh(&file);
        assert_eq!(state.programme("ida"), Some(("second-position", Day(20_785))));
        assert_eq!(state.programme("me"), Some(("third-position", Day(20_786))));
        assert_eq!(state.programme("you"), None);
        assert!(fs::read_to_string(&file).unwrap().contains("began = \"2026-11-28\""));
        state.remember_programme("ida", None).unwrap();
        let state = fresh(&file);
        assert_eq!(
            (state.programme("ida"), state.programme("me").map(|it| it.0)),
            (None, Some("third-position"))
        );
    }

    #[test]
    fn what_an_earlier_program_remembered_is_read() {
        let earlier = "version = 1\nposition = 3\n";
        assert_eq!(parse(earlier).unwrap().unwrap().position, Some(3));
    }

    #[test]
    fn nothing_chosen_is_nothing_written() {
        let (folder, file) = place();
        fresh(&file).remember_view(Position::default(), None).unwrap();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_broken_file_is_said_once_and_set_aside() {
        for (broken, line) in
            [("", 1), ("version = 1\nharp = 3\n", 2), ("version = [\n", 1), ("version = 1\nx = 1", 2)]
        {
            let (_folder, file) = place();
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(&file, broken).unwrap();
            let (mut state, problem) = State::read(&file);
            let problem = problem.unwrap();
            let said = format!("state.toml, line {line}, column ");
            assert!(problem.contains(&said) && problem.contains("set aside as"), "{broken:?}: {problem}");
            assert_eq!(fs::read_to_string(file.with_extension("toml.broken")).unwrap(), broken);
            assert_eq!(fresh(&file).remembered, Remembered::default(), "said once");
            state.remember_harp(&harp("A"), "").unwrap();
            assert!(fresh(&file).harp("").is_some());
        }
    }

    #[test]
    fn the_file_of_a_later_program_is_left_alone() {
        let (_folder, file) = place();
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        let later = "version = 3\nharps = [\"A\"]\n";
        fs::write(&file, later).unwrap();
        let (mut state, problem) = State::read(&file);
        assert!(problem.is_some_and(|said| said.contains("later Bendwright") && said.contains("left alone")));
        state.remember_harp(&harp("A"), "").unwrap();
        assert_eq!(fs::read_to_string(&file).unwrap(), later);
        // A file of a later version may also appear while this program runs.
        let (_folder, file) = place();
        let mut state = fresh(&file);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, later).unwrap();
        assert!(state.remember_harp(&harp("A"), "").is_err_and(|said| said.contains("later Bendwright")));
        assert_eq!(fs::read_to_string(&file).unwrap(), later);
    }

    #[test]
    fn what_cannot_be_written_is_said_once() {
        let (folder, file) = place();
        // A file where a folder should be keeps even the superuser out.
        fs::write(folder.path().join("deep"), "").unwrap();
        let mut state = fresh(&file);
        let said = state.remember_harp(&harp("A"), "").unwrap_err();
        assert!(said.starts_with("what you chose is not remembered: not a directory ("), "{said}");
        assert_eq!(state.remember_harp(&harp("G"), ""), Ok(()));
        assert_eq!(
            state.harp(""),
            Some(("G".parse().unwrap(), "Richter")),
            "it holds while the program runs"
        );
    }

    /// Four instances that write and one that reads: nobody ever sees half a file.
    #[test]
    fn instances_that_save_at_once_tear_nothing() {
        let (_folder, file) = place();
        fresh(&file).remember_harp(&harp("C"), "").unwrap();
        let keys = ["G", "A", "B", "D"];
        std::thread::scope(|scope| {
            for key in keys {
                let file = &file;
                scope.spawn(move || {
                    let mut state = fresh(file);
                    for n in 1..=25 {
                        state.remember_harp(&harp(if n % 2 == 0 { key } else { "F" }), "").unwrap();
                        let position = Position::new(n % 12 + 1).unwrap();
                        state.remember_view(position, Some("blues")).unwrap();
                    }
                });
            }
            for _ in 0..200 {
                assert!(fresh(&file).harp("").is_some());
            }
        });
        let state = fresh(&file);
        assert_eq!((state.position(), state.scale()), (Position::new(25 % 12 + 1), Some("blues")));
        let folder: Vec<_> = fs::read_dir(file.parent().unwrap()).unwrap().collect();
        assert_eq!(folder.len(), 1, "{folder:?}");
    }
}
