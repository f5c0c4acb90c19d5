//! The raw tables as others see them: in an export, and in an import of one.

use std::fmt::Write;

/// A table of an export: a file of its own as CSV, a `kind` of line as JSON.
#[derive(Clone, Copy, Debug)]
pub struct Table {
    /// What it is called.
    pub name: &'static str,
    /// What a row of it is.
    pub about: &'static str,
    /// Its columns in their order.
    pub columns: &'static [Column],
}

/// A column of an export.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// What it is called.
    pub name: &'static str,
    /// What stands in it, with its unit.
    pub about: &'static str,
    /// Whether it may be empty.
    pub optional: bool,
    pub(crate) holds: Holds,
}

/// What stands in a column, so that an import takes nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Holds {
    /// The name of a session.
    Session,
    /// A whole number.
    Integer,
    /// A whole number from 0.
    Count,
    /// A number.
    Real,
    /// A text.
    Text,
    /// One of these texts.
    OneOf(&'static [&'static str]),
    /// A text that comes again and again.
    Word,
    /// A way, as tab.
    Way,
}

const fn column(name: &'static str, holds: Holds, about: &'static str) -> Column {
    Column { name, about, optional: false, holds }
}

const fn maybe(name: &'static str, holds: Holds, about: &'static str) -> Column {
    Column { name, about, optional: true, holds }
}

const SESSION: Column = column("session", Holds::Session, "the session it belongs to");
const NUMBER: Column = column("number", Holds::Count, "which entry of the session, from 1");
const OFFSET: Column =
    column("offset_s", Holds::Integer, "how far the clock on the wall was ahead of UTC, seconds");
const WAY: Column =
    column("way", Holds::Way, "what was asked for, as tab: -3'' is 3 draw bent by a whole step");
const IN_TUNE: Column = column("in_tune_cents", Holds::Real, "how far off still counted as in tune, cents");

/// The tables, those first to which others refer.
pub const TABLES: [Table; 10] = [
    Table {
        name: "session",
        about: "a practice session: from the start of the program to its end",
        columns: &[
            column("session", Holds::Text, "its name, which no other session has"),
            column("player", Holds::Text, "who practised"),
            column("began_ms", Holds::Integer, "when it began, milliseconds since 1970 in UTC"),
            OFFSET,
            column("program", Holds::Text, "which program wrote it"),
        ],
    },
    Table {
        name: "entry",
        about: "something that was practised, in the order of the session",
        columns: &[
            SESSION,
            NUMBER,
            column("at_ms", Holds::Integer, "when, milliseconds since 1970 in UTC"),
            OFFSET,
            column(
                "by",
                Holds::OneOf(&["player", "built-in", "recording"]),
                "who played: player, built-in, recording",
            ),
            column(
                "entry",
                Holds::OneOf(&["began", "try", "run", "answer", "ended", "remark", "delay"]),
                "what it is: began, try, run, answer, ended, remark, delay",
            ),
            column(
                "what",
                Holds::Word,
                "the drill, the run, the jam or what is asked by ear; of an end: done, left, and of a jam chorus; of a remark: try, day",
            ),
            maybe("harp", Holds::Word, "key and tuning"),
        ],
    },
    Table {
        name: "try",
        about: "a judged try of a drill",
        columns: &[
            SESSION,
            NUMBER,
            column("item", Holds::Count, "which item of the drill, from 0"),
            column("note", Holds::Count, "which note of the item, from 0"),
            column("attempt", Holds::Count, "which try at it, from 1"),
            WAY,
            column("asked_cents", Holds::Real, "how far from the note itself it was to be, cents"),
            column("hold_ms", Holds::Count, "how long it was to be held, milliseconds"),
            IN_TUNE,
            column("outcome", Holds::Word, "the verdict: landed, short, past, flat, sharp, another note …"),
            maybe("off_cents", Holds::Real, "distance from what was asked, cents; sharp is positive"),
            maybe("depth_semitones", Holds::Real, "distance from the natural reed, semitones"),
            maybe("reach_ms", Holds::Count, "from the first sound until the pitch stayed, milliseconds"),
            maybe("held_ms", Holds::Count, "how long it was held, milliseconds"),
            maybe("spread_cents", Holds::Real, "spread while held, cents"),
            maybe("drift_cents_per_s", Holds::Real, "slope while held, cents a second"),
            maybe("overshoot_cents", Holds::Real, "how far it first went beyond, cents"),
            maybe("sigma_cents", Holds::Real, "standard error of a reading, cents"),
            maybe("level_spread_db", Holds::Real, "how steady the loudness was, dB"),
            maybe("hnr_db", Holds::Real, "harmonics-to-noise ratio, dB"),
            maybe("vibrato_hz", Holds::Real, "rate of the vibrato, hertz"),
            maybe("vibrato_cents", Holds::Real, "depth of the vibrato either way, cents"),
            maybe(
                "feedback",
                Holds::OneOf(&["always", "fading", "after"]),
                "when the pitch was shown: always, fading (at fewer and fewer tries), after (each try); empty: not kept then",
            ),
        ],
    },
    Table {
        name: "clean",
        about: "whether a note that was to sound alone did so",
        columns: &[
            SESSION,
            NUMBER,
            column("outcome", Holds::Word, "clean, leaked in, cannot tell"),
            maybe("hole", Holds::Count, "the hole that leaked in"),
            maybe("below_db", Holds::Real, "its level below the note, dB"),
        ],
    },
    Table {
        name: "chord",
        about: "a judged try at a chord of a drill",
        columns: &[
            SESSION,
            NUMBER,
            column("item", Holds::Count, "which item of the drill, from 0"),
            column("attempt", Holds::Count, "which try at it, from 1"),
            column("asked", Holds::Word, "the holes that were asked for, as tab"),
            column("hold_ms", Holds::Count, "how long they were to sound, milliseconds"),
            column("outcome", Holds::Word, "the verdict: right, missing, leaked in, wrong breath …"),
            maybe("heard", Holds::Word, "the reeds that surely sounded, as tab"),
            column("held_ms", Holds::Count, "how long it sounded, milliseconds"),
        ],
    },
    Table {
        name: "run",
        about: "a judged run in time",
        columns: &[
            SESSION,
            NUMBER,
            column("rhythm", Holds::Word, "the rhythm with its tempo and metre"),
            column("tempo", Holds::Real, "beats a minute"),
            IN_TUNE,
            column("timed", Holds::Count, "1 if it was held against a beat, 0 in the player's own time"),
            column("asked", Holds::Count, "notes that were asked"),
            column("played", Holds::Count, "how many of them were played"),
            column("in_pitch", Holds::Count, "how many were right in pitch"),
            column("in_time", Holds::Count, "how many were right in time"),
            column("right", Holds::Count, "how many were both"),
            column("clean", Holds::Count, "1 if it was clean, 0 if not"),
            maybe("late_ms", Holds::Real, "how late it was as a whole, milliseconds"),
            maybe("spread_ms", Holds::Real, "spread of the notes about that, milliseconds"),
            maybe("uneven_ms", Holds::Real, "how uneven the steps from note to note were, milliseconds"),
            maybe("played_tempo", Holds::Real, "the tempo that was played, beats a minute"),
        ],
    },
    Table {
        name: "run_note",
        about: "a note of a run",
        columns: &[
            SESSION,
            NUMBER,
            column("place", Holds::Count, "which note of the run, from 0"),
            column("bar", Holds::Count, "which bar it stands in, from 0"),
            WAY,
            column("asked_ms", Holds::Integer, "when it was asked, milliseconds from the first beat"),
            maybe("played_ms", Holds::Integer, "when it was played; empty if it was not"),
            maybe("late_ms", Holds::Integer, "how late it was against the run as a whole, milliseconds"),
            maybe("tenths_of_cents", Holds::Integer, "distance from where it is in tune, tenths of a cent"),
            column("outcome", Holds::Word, "its pitch, in the words of a try, or missing"),
            column("right", Holds::Count, "1 if it was right in pitch and in time, 0 if not"),
        ],
    },
    Table {
        name: "answer",
        about: "an answer to what was asked by ear",
        columns: &[
            SESSION,
            NUMBER,
            column("question", Holds::Count, "which question of the exercise, from 1"),
            column("attempt", Holds::Count, "which time it was asked, from 1"),
            column("scale", Holds::Word, "the scale on its tonic from which it was taken"),
            maybe("elsewhere", Holds::Word, "the other tonic on which a call was to be answered"),
            column("asked", Holds::Word, "what was asked for, as tab"),
            maybe("played", Holds::Word, "what was played, as tab"),
            column("notes", Holds::Count, "notes that were asked for"),
            column("right", Holds::Count, "how many of them were right"),
            column(
                "result",
                Holds::OneOf(&["right", "wrong", "cannot tell", "passed"]),
                "what came of it: right, wrong, cannot tell, passed",
            ),
            maybe("off_cents", Holds::Real, "of a note that was held: distance from what was asked, cents"),
            IN_TUNE,
        ],
    },
    Table {
        name: "remark",
        about: "what somebody remarked",
        columns: &[
            SESSION,
            NUMBER,
            maybe(
                "about",
                Holds::Count,
                "the number of the entry of this session that it is about; empty: the day",
            ),
            column("day", Holds::Integer, "the day that it is about, days since 1970"),
            column("text", Holds::Text, "the remark"),
        ],
    },
    Table {
        name: "delay",
        about: "a measured delay of the sound devices",
        columns: &[
            SESSION,
            NUMBER,
            column("input", Holds::Text, "the microphone"),
            column("output", Holds::Text, "the loudspeaker"),
            column(
                "delay_ms",
                Holds::Real,
                "from the loudspeaker to the microphone through both devices, milliseconds",
            ),
        ],
    },
];

impl Table {
    /// The query for the rows of a player (`?1`), or of all (null), in an order that does not depend on the file.
    pub(crate) fn select(&self) -> String {
        let mut text = String::from("SELECT ");
        for (index, column) in self.columns.iter().enumerate() {
            let comma = if index == 0 { "" } else { ", " };
            let stored = self.stored(column);
            let _ = match column.holds {
                Holds::Session => write!(text, "{comma}session.name"),
                Holds::Word | Holds::Way => {
                    write!(text, "{comma}(SELECT text FROM word WHERE id = it.{stored})")
                }
                _ => write!(text, "{comma}it.{stored}"),
            };
        }
        let from = match self.name {
            "session" => "session AS it WHERE ?1 IS NULL OR it.player = ?1 ORDER BY it.name",
            name => {
                let place = if name == "run_note" { ", it.place" } else { "" };
                let _ = write!(
                    text,
                    " FROM session JOIN {name} AS it ON it.session = session.id
                     WHERE ?1 IS NULL OR session.player = ?1 ORDER BY session.name, it.number{place}"
                );
                return text;
            }
        };
        let _ = write!(text, " FROM {from}");
        text
    }

    /// The statement that inserts a row. A row that is there already stays as it is.
    pub(crate) fn insert(&self) -> String {
        let columns: Vec<&str> = self.columns.iter().map(|column| self.stored(column)).collect();
        let places: Vec<String> = (1..=columns.len()).map(|place| format!("?{place}")).collect();
        format!("INSERT OR IGNORE INTO {} ({}) VALUES ({})", self.name, columns.join(", "), places.join(", "))
    }

    /// The name of a column in the file.
    fn stored(&self, column: &Column) -> &'static str {
        match (self.name, column.name) {
            ("entry", "entry") => "kind",
            ("session", "session") => "name",
            (_, name) => name,
        }
    }
}
