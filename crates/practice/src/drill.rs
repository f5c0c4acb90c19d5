//! Drills: what to play, in order.

use crate::DrillId;
use crate::read::read;
use layout::{CannotPlay, Harp, Way};
use scoring::reeds::ReedsTarget;
use scoring::{Target, Tolerance};
use serde::Serialize;

/// What an item asks for.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Asks {
    /// Notes, one after the other and joined; mostly one.
    Notes(Vec<Target>),
    /// Holes that sound together: a chord, a split.
    Chord(ReedsTarget),
}

/// One line of a drill: what to play and how often.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// What to play.
    pub asks: Asks,
    /// Whether the note has to sound alone: no neighbour may leak in. Only of a single note.
    pub clean: bool,
    /// How many tries it gets (at most, where it is wanted several times in a row).
    pub tries: u32,
    /// How often it has to land one after the other before the drill goes on, where that is asked.
    pub in_a_row: Option<u32>,
    /// How near is near enough, where that departs from the player's own.
    pub tolerance: Option<Tolerance>,
}

impl Item {
    /// One note, so many tries.
    pub fn single(target: Target, tries: u32) -> Self {
        Self { asks: Asks::Notes(vec![target]), clean: false, tries, in_a_row: None, tolerance: None }
    }

    /// The notes it asks for, in order; none where it asks for a chord.
    pub fn notes(&self) -> &[Target] {
        match &self.asks {
            Asks::Notes(notes) => notes,
            Asks::Chord(_) => &[],
        }
    }

    /// The chord it asks for; nothing where it asks for notes.
    pub fn chord(&self) -> Option<ReedsTarget> {
        match &self.asks {
            Asks::Notes(_) => None,
            Asks::Chord(chord) => Some(*chord),
        }
    }

    /// How many verdicts there are on one try at it: one on each note, one on a chord.
    pub fn parts(&self) -> usize {
        match &self.asks {
            Asks::Notes(notes) => notes.len(),
            Asks::Chord(_) => 1,
        }
    }

    /// How long each note, or the chord, is to be held, seconds.
    pub fn hold_s(&self) -> f64 {
        let note = self.notes().first().map(|note| note.hold_s);
        note.or(self.chord().map(|chord| chord.hold_s)).unwrap_or_default()
    }

    /// The ways it asks for: of notes in order, of a chord from the lowest hole upwards.
    pub fn ways(&self) -> impl Iterator<Item = Way> {
        let chord = self.chord().into_iter().flat_map(|chord| chord.ways());
        self.notes().iter().map(|note| note.way).chain(chord)
    }
}

/// In which order the items of a drill are asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PlayOrder {
    /// As they are written.
    #[default]
    Written,
    /// Shuffled, another way each time.
    Random,
}

/// A drill. Whether a harp can play it, [`Drill::cannot_play`] says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drill {
    /// Short name, as given on the command line.
    pub name: String,
    /// Title for the screen.
    pub title: String,
    /// What it is good for, a sentence or two.
    pub about: String,
    /// What to take care of (breath, reeds), if the drill needs it said.
    pub caution: Option<String>,
    /// The tuning it is for, where it is for one only.
    pub tuning: Option<String>,
    /// Its items, as they are written.
    pub items: Vec<Item>,
    /// The order in which they are asked for.
    pub order: PlayOrder,
}

/// How long a player takes to reach a note, and to breathe between two tries, seconds. Ours; common practice, no
/// source.
const REACH_S: f64 = 1.0;
const BREATH_S: f64 = 2.0;

/// Why a harp is not for a drill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotForHarp {
    /// The drill is for this other tuning.
    Tuning(String),
    /// The harp cannot play this way.
    Way(Way, CannotPlay),
}

/// A drill file with a mistake: line, column, what is wrong, what is allowed.
pub type DrillError = layout::FileError;

impl Drill {
    /// Which drill it is.
    pub fn id(&self) -> DrillId {
        DrillId { name: self.name.clone(), title: self.title.clone() }
    }

    /// Reads a drill as a player writes it, in TOML:
    ///
    /// ```toml
    /// title = "First half steps"     # needed
    /// about = "What it is good for"  # the rest of this block may be left out
    /// caution = "What to take care of"
    /// tuning = "Richter"             # only for harps of this tuning
    /// hold = 2.0                     # seconds, 0.3 to 20, for every item that says nothing else
    /// tries = 1                      # 1 to 20, likewise
    /// in_a_row = 3                   # 2 to 10, likewise: until it has landed so often one after the other
    /// within = 15                    # 1 to 50, likewise: how many cents off is in tune
    /// order = "random"               # or "written", which is usual
    ///
    /// [[item]]                       # one such block for everything that is to be played
    /// play = "-4'"                   # tab, needed
    /// hold = 1.5
    /// tries = 2
    /// cents = 0                      # wanted offset from where it is in tune, −50 to 50
    ///
    /// [[item]]
    /// play = "-4 -4' -4"             # several notes are played in one go, each judged by itself
    /// hold = 0.5                     # of each of them
    ///
    /// [[item]]
    /// play = "4"
    /// clean = true                   # also of the whole drill: a neighbour that leaks in is no clean note
    /// ```
    ///
    /// A drill of chords has `chord = "-1 -2 -3"` in the place of `play` in all of its items: holes of one breath that
    /// sound together, two or more and as many as the ear for reeds tells apart ([`pitch::reeds::MAX_VOICES`]), next to
    /// each other or not (`"1 4"` is an octave with the tongue on what lies between), within five holes. The ear for
    /// reeds tells no more reeds, and none further apart. `cents`, `clean` and `within` are for notes only.
    ///
    /// Tab is written with the usual signs ([`layout::TabStyle::default`]): `4` blow, `-4` draw, an apostrophe for
    /// every half step of bend, `o` for an overblow or overdraw. An item that has to land several times in a row is
    /// asked for at most 20 times, or as often as `tries` says.
    ///
    /// # Errors
    /// If the text is no TOML, has an unknown key or a value out of range, or asks for something that `harp` cannot
    /// play: the first such mistake.
    pub fn parse(name: &str, text: &str, harp: &Harp) -> Result<Self, DrillError> {
        read(name, text, Some(harp))
    }

    /// Reads a drill for no harp in particular, as a list of drills to choose from needs it; [`Drill::cannot_play`]
    /// says whether a harp can play it.
    ///
    /// # Errors
    /// If the text is no TOML, has an unknown key or a value out of range: the first such mistake.
    pub fn read(name: &str, text: &str) -> Result<Self, DrillError> {
        read(name, text, None)
    }

    /// About how long it takes, seconds, if every note is found at once: each is reached and held, and between two
    /// tries there is a breath. An item that has to land several times in a row is counted that many times.
    pub fn about_s(&self) -> f64 {
        let item = |item: &Item| {
            let tries = f64::from(item.in_a_row.unwrap_or(item.tries));
            tries * (item.parts() as f64 * (REACH_S + item.hold_s()) + BREATH_S)
        };
        self.items.iter().map(item).sum()
    }

    /// Whether it is a drill of chords: then all of its items are.
    pub fn is_of_chords(&self) -> bool {
        self.items.first().is_some_and(|item| item.chord().is_some())
    }

    /// Whether it can only be judged by whoever is told which reeds sound together.
    pub fn wants_reeds(&self) -> bool {
        self.items.iter().any(|item| item.clean || item.chord().is_some())
    }

    /// Why a harp is not for this drill: its tuning, or the first way asked for that it cannot play. `None` if it can
    /// play the whole drill.
    pub fn cannot_play(&self, harp: &Harp) -> Option<NotForHarp> {
        not_for_harp(self.tuning.as_deref(), self.items.iter().flat_map(Item::ways), harp)
    }
}

/// Why a harp cannot play these ways: they are for another `tuning` (`None`: for any), or one of them is beyond the
/// harp. `None` if it can play them all.
pub(crate) fn not_for_harp(
    tuning: Option<&str>,
    mut ways: impl Iterator<Item = Way>,
    harp: &Harp,
) -> Option<NotForHarp> {
    if let Some(wanted) = tuning.filter(|wanted| !wanted.eq_ignore_ascii_case(harp.tuning().name())) {
        return Some(NotForHarp::Tuning(wanted.to_owned()));
    }
    ways.find_map(|way| harp.play(way).err().map(|why| NotForHarp::Way(way, why)))
}
