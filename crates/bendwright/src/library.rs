//! What is known by name: ours, and the player's own files beside the settings file.
//!
//! `tunings/*.toml`, `drills/*.toml`, `phrases/*.toml`, `programmes/*.toml`, `scales.toml`, `progressions.toml` and
//! `temperaments.toml` have the form of our own files in `assets/`. A file with a mistake is said and left out; it
//! never keeps the program from starting.

use crate::files::{self, Mistake};
use course::{Known, Programme};
use layout::{FileError, Harp, KnownTuning, Temperament, Tunings, plain_name};
use practice::Drill;
use practice::run::Phrase;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;
use theory::{Progressions, Scales};

/// The folders of own files, one thing in each file.
const FOLDERS: [&str; 4] = ["tunings", "drills", "phrases", "programmes"];
/// The own files that hold many things.
const LISTS: [&str; 3] = ["temperaments.toml", "scales.toml", "progressions.toml"];

/// What a programme is called in a sentence.
pub(crate) const PROGRAMME: &str = "programme";

/// Everything known by name.
#[derive(Clone, Debug)]
pub(crate) struct Library {
    /// Tunings.
    pub(crate) tunings: Tunings,
    /// Temperaments, equal temperament first.
    pub(crate) temperaments: Vec<Temperament>,
    /// Scales.
    pub(crate) scales: Scales,
    /// Progressions.
    pub(crate) progressions: Progressions,
    /// Drills, ours first; one of the player's own replaces ours of the same name.
    pub(crate) drills: Vec<Written>,
    /// Phrases, likewise.
    pub(crate) phrases: Vec<Written>,
    /// Programmes, likewise.
    pub(crate) programmes: Vec<Written>,
    /// Where the player's own files lie, if the platform has a place for them.
    folder: Option<PathBuf>,
    /// The state of the player's own files when they were read.
    read_as: Stamps,
}

/// A drill, phrase or programme as it stands in its file; which harp it is for is known later.
#[derive(Clone, Debug)]
pub(crate) struct Written {
    /// The name it goes by.
    pub(crate) name: String,
    /// The player's file, if it is none of ours.
    pub(crate) file: Option<PathBuf>,
    text: String,
}

/// What is read from a file of its own and then practised.
pub(crate) trait Practised: Sized {
    /// What it is called in a sentence, which with an `s` is the name of its folder.
    const WHAT: &'static str;

    /// Those that are known, as they stand in their files.
    fn written(library: &Library) -> &[Written];

    /// Reads it for a harp.
    ///
    /// # Errors
    /// If it has a mistake or asks for what this harp cannot do.
    fn parse(name: &str, text: &str, harp: &Harp) -> Result<Self, FileError>;

    /// Reads it, whatever the harp.
    ///
    /// # Errors
    /// If it has a mistake.
    fn read(name: &str, text: &str) -> Result<Self, FileError>;

    /// Its title.
    fn title(&self) -> &str;
}

impl Practised for Drill {
    const WHAT: &'static str = "drill";

    fn written(library: &Library) -> &[Written] {
        &library.drills
    }

    fn parse(name: &str, text: &str, harp: &Harp) -> Result<Self, FileError> {
        Self::parse(name, text, harp)
    }

    fn read(name: &str, text: &str) -> Result<Self, FileError> {
        Self::read(name, text)
    }

    fn title(&self) -> &str {
        &self.title
    }
}

impl Practised for Phrase {
    const WHAT: &'static str = "phrase";

    fn written(library: &Library) -> &[Written] {
        &library.phrases
    }

    fn parse(name: &str, text: &str, harp: &Harp) -> Result<Self, FileError> {
        Self::parse(name, text, harp)
    }

    fn read(name: &str, text: &str) -> Result<Self, FileError> {
        Self::read(name, text)
    }

    fn title(&self) -> &str {
        &self.material.name.title
    }
}

/// Files, each with the time of its last change and its length in bytes; `None` for a file that is not there.
type Stamps = BTreeMap<PathBuf, Option<(SystemTime, u64)>>;

impl Default for Library {
    /// What comes with the program.
    fn default() -> Self {
        let ours = |texts: &[(&str, &str)]| {
            let written = |(name, text): &(&str, &str)| Written {
                name: (*name).into(),
                file: None,
                text: (*text).into(),
            };
            texts.iter().map(written).collect()
        };
        Self {
            tunings: Tunings::ours(),
            temperaments: Temperament::ours(),
            scales: Scales::ours(),
            progressions: Progressions::ours(),
            drills: ours(practice::built_in()),
            phrases: ours(practice::built_in_phrases()),
            programmes: ours(course::programmes()),
            folder: None,
            read_as: Stamps::new(),
        }
    }
}

impl Library {
    /// Ours and what lies in `folder`; and a sentence for each file that could not be used.
    pub(crate) fn load(folder: Option<&Path>) -> (Self, Vec<String>) {
        let mut library = Self::default();
        let mut reader = Reader::default();
        if let Some(folder) = folder {
            // Taken before the files are read, so that what is written meanwhile counts as a change.
            library.read_as = stamps(folder);
            library.folder = Some(folder.to_owned());
            library.add(folder, &mut reader);
        }
        (library, reader.problems)
    }

    /// Whether the player's own files have changed since they were read. It asks the system about each file and reads
    /// none, so that it can be asked again and again.
    pub(crate) fn changed(&self) -> bool {
        self.folder.as_deref().is_some_and(|folder| stamps(folder) != self.read_as)
    }

    /// Everything read anew; and a sentence for each file that cannot be used.
    pub(crate) fn reload(&mut self) -> Vec<String> {
        let (library, problems) = Self::load(self.folder.as_deref());
        *self = library;
        problems
    }

    fn add(&mut self, folder: &Path, reader: &mut Reader) {
        for file in reader.toml_files(&folder.join("tunings")) {
            let Some(text) = reader.text(&file) else { continue };
            let Some(own) = reader.told(&file, KnownTuning::read(&text)) else { continue };
            if reader.is_new(&file, "tuning", own.tuning.name()) {
                reader.told(&file, self.tunings.add(&text));
            }
        }
        let [temperaments, scales, progressions] = LISTS.map(|name| folder.join(name));
        if let Some(own) = reader.read(&temperaments, Temperament::read) {
            let same = |a: &Temperament, b: &Temperament| plain_name(a.name()) == plain_name(b.name());
            self.temperaments.retain(|ours| own.iter().all(|own| !same(own, ours)));
            self.temperaments.extend(own);
        }
        if let Some(own) = reader.read(&scales, Scales::read) {
            self.scales = std::mem::take(&mut self.scales).with(own);
        }
        if let Some(own) = reader.read(&progressions, Progressions::read) {
            self.progressions = std::mem::take(&mut self.progressions).with(own);
        }
        reader.add_own(Drill::WHAT, folder, &mut self.drills);
        reader.add_own(Phrase::WHAT, folder, &mut self.phrases);
        reader.add_own(PROGRAMME, folder, &mut self.programmes);
    }

    /// A sentence for each drill and phrase of the player's own that has a mistake or that this harp cannot play, and
    /// for each programme that has a mistake.
    pub(crate) fn own_problems(&self, harp: &Harp) -> Vec<String> {
        let drills = problems(&self.drills, |it| it.parse::<Drill>(harp));
        let phrases = problems(&self.phrases, |it| it.parse::<Phrase>(harp));
        drills.chain(phrases).chain(problems(&self.programmes, |it| self.programme(it))).collect()
    }

    /// A programme as it stands in its file.
    ///
    /// # Errors
    /// If it has a mistake, or names something that does not exist.
    pub(crate) fn programme(&self, written: &Written) -> Result<Programme, FileError> {
        let drills: Vec<Drill> = self.drills.iter().filter_map(|it| it.read().ok()).collect();
        let phrases: Vec<Phrase> = self.phrases.iter().filter_map(|it| it.read().ok()).collect();
        let (scales, tunings) = (&self.scales, &self.tunings);
        let known = Known { drills: &drills, phrases: &phrases, scales, tunings };
        Programme::parse(&written.name, &written.text, &known)
    }
}

/// A sentence for each of the player's own files that cannot be read.
fn problems<'a, T>(
    written: &'a [Written],
    read: impl Fn(&Written) -> Result<T, FileError> + 'a,
) -> impl Iterator<Item = String> + 'a {
    let own = written.iter().filter_map(|it| Some((it, it.file.as_ref()?)));
    own.filter_map(move |(it, file)| Some(left_out(&Mistake::inside(file, read(it).err()?))))
}

impl Written {
    /// One that lies in a file elsewhere.
    pub(crate) fn from_file(name: &str, text: String) -> Self {
        Self { name: name.to_owned(), file: Some(PathBuf::from(name)), text }
    }

    /// A mistake in it, with its file, or with its name if it is one of ours.
    pub(crate) fn mistake(&self, error: FileError) -> Mistake {
        Mistake::inside(self.file.as_deref().unwrap_or(Path::new(&self.name)), error)
    }

    /// Reads it for a harp.
    ///
    /// # Errors
    /// If it has a mistake or asks for what this harp cannot do.
    pub(crate) fn parse<T: Practised>(&self, harp: &Harp) -> Result<T, FileError> {
        T::parse(&self.name, &self.text, harp)
    }

    /// Reads it, whatever the harp.
    ///
    /// # Errors
    /// If it has a mistake.
    pub(crate) fn read<T: Practised>(&self) -> Result<T, FileError> {
        T::read(&self.name, &self.text)
    }
}

/// Reads files and notes what is wrong with them.
#[derive(Default)]
struct Reader {
    problems: Vec<String>,
    /// The file that each name was read from, by kind and name.
    names: BTreeMap<(&'static str, String), PathBuf>,
}

impl Reader {
    /// The text of a file; a file that does not exist is no problem.
    fn text(&mut self, file: &Path) -> Option<String> {
        files::read(file).unwrap_or_else(|mistake| {
            self.problems.push(left_out(&mistake));
            None
        })
    }

    /// What was made of the text of a file, if it has no mistake.
    fn told<T>(&mut self, file: &Path, made: Result<T, FileError>) -> Option<T> {
        made.map_err(|error| self.problems.push(left_out(&Mistake::inside(file, error)))).ok()
    }

    /// What `make` makes of the text of a file.
    fn read<T>(&mut self, file: &Path, make: impl FnOnce(&str) -> Result<T, FileError>) -> Option<T> {
        let text = self.text(file)?;
        self.told(file, make(&text))
    }

    /// Adds what lies in the folder of its kind; one of the player's own replaces ours of the same name.
    fn add_own(&mut self, what: &'static str, folder: &Path, known: &mut Vec<Written>) {
        for file in self.toml_files(&folder.join(format!("{what}s"))) {
            let name = file.file_stem().map(|stem| files::shown(Path::new(stem))).unwrap_or_default();
            let Some(text) = self.text(&file) else { continue };
            if self.is_new(&file, what, &name) {
                let own = Written { name, file: Some(file), text };
                match known.iter_mut().find(|known| known.name == own.name) {
                    Some(known) => *known = own,
                    None => known.push(own),
                }
            }
        }
    }

    /// Whether no other own file says that its drill, phrase or tuning goes by this name.
    fn is_new(&mut self, file: &Path, what: &'static str, name: &str) -> bool {
        let name = plain_name(name);
        if let Some(first) = self.names.get(&(what, name.clone())) {
            let message = format!("the {what} {name:?} stands in {} already", files::shown(first));
            self.problems.push(left_out(&Mistake::about(file, message)));
            return false;
        }
        self.names.insert((what, name), file.to_owned());
        true
    }

    /// The TOML files of a folder in the order of their names; none if there is no such folder.
    fn toml_files(&mut self, folder: &Path) -> Vec<PathBuf> {
        toml_files(folder).unwrap_or_else(|error| {
            if !files::is_missing(&error) {
                let message = format!("the folder cannot be listed: {}", files::reason(&error));
                self.problems.push(left_out(&Mistake::about(folder, message)));
            }
            Vec::new()
        })
    }
}

/// Everything in a folder whose name ends in `.toml`, in the order of the names; what is no file is said when it is
/// read. Hidden files are left out: editors put them there for a while.
fn toml_files(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let files = fs::read_dir(folder)?.filter_map(|entry| Some(entry.ok()?.path()));
    let is_toml = |file: &PathBuf| {
        let hidden = file.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
        !hidden && file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"))
    };
    let mut files: Vec<PathBuf> = files.filter(is_toml).collect();
    files.sort();
    Ok(files)
}

fn stamps(folder: &Path) -> Stamps {
    let in_folders = FOLDERS.iter().flat_map(|name| toml_files(&folder.join(name)).unwrap_or_default());
    let all = LISTS.iter().map(|name| folder.join(name)).chain(in_folders);
    all.map(|file| {
        let known = fs::metadata(&file).ok();
        let stamp = known.and_then(|known| Some((known.modified().ok()?, known.len())));
        (file, stamp)
    })
    .collect()
}

fn left_out(mistake: &Mistake) -> String {
    mistake.and("left out")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_after_the_start_is_seen_and_read() {
        let folder = tempfile::tempdir().unwrap();
        let put = |name: &str, text: &str| {
            let file = folder.path().join(name);
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(file, text).unwrap();
        };
        let (mut library, problems) = Library::load(Some(folder.path()));
        assert!(problems.is_empty() && !library.changed());
        let drills = library.drills.len();
        let known = |library: &Library| library.drills.len() - drills;
        put("drills/mine.toml", "title = 'x'\n[[item]]\nplay = '4'\n");
        assert!(library.changed());
        assert_eq!((library.reload().len(), known(&library), library.changed()), (0, 1, false));
        put("drills/mine.toml", "title = 'xy'\n[[item]]\nplay = '4'\n");
        assert!(library.changed(), "another length");
        library.reload();
        put("scales.toml", "[[scale]]\nname = 'odd'\ndegrees = '1 q'\n");
        assert!(library.changed());
        assert_eq!(library.reload().len(), 1);
        put("drills/.mine.toml.swp", "");
        assert!(!library.changed(), "what editors leave is none of ours");
        fs::remove_file(folder.path().join("drills/mine.toml")).unwrap();
        assert!(library.changed());
        assert_eq!((library.reload().len(), known(&library)), (1, 0));
        assert!(!Library::default().changed());
    }

    #[test]
    fn the_same_length_at_another_time_is_a_change() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("scales.toml");
        fs::write(&file, "# a").unwrap();
        let (library, _) = Library::load(Some(folder.path()));
        fs::write(&file, "# b").unwrap();
        let later = SystemTime::now() + std::time::Duration::from_secs(2);
        fs::File::options().write(true).open(&file).unwrap().set_modified(later).unwrap();
        assert!(library.changed());
    }
}
