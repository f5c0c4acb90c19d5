//! What a harp can play.
//!
//! Start with [`Harp`]: it joins a [`HarpKey`], a [`Tuning`] (which reed stands where), a [`ConcertPitch`] and the
//! cent offsets of the single reeds, and answers the two questions everything else asks: *what sounds when I play
//! this [`Way`]?* and *which ways make this [`Note`]?* Bends and overbends are derived from the two reeds of each
//! hole, never listed by hand.
//!
//! [`Tunings`] are the tunings that go by a name and [`Temperament`]s the ways to tune their reeds, both read from
//! TOML; [`TabStyle`] reads and prints ways as tab.
//!
//! This crate does no I/O, reads no clock, and knows nothing of sound or screens.
//!
//! ```
//! use layout::{Breath, Harp, HarpKey, Note, Technique, Way};
//!
//! let harp = Harp::richter("C".parse::<HarpKey>().unwrap());
//! let bend = Way::new(3, Breath::Draw, Technique::Bend(1));
//! assert_eq!(harp.note(bend), Note::new(70));
//! ```

mod concert;
mod file_error;
mod harp;
mod harp_text;
mod inventory;
mod key;
mod names;
mod note;
mod playable;
mod stamp;
mod tab;
mod temperament;
mod toml_words;
mod tuning;
mod tuning_file;
mod tunings;
mod way;
mod words;

pub use concert::{ConcertPitch, ConcertPitchError, cents_between};
pub use file_error::{FileError, read_name, read_toml};
pub use harp::{Harp, ReedCents};
pub use harp_text::HarpTextError;
pub use inventory::Near;
pub use key::{HarpKey, KeyError};
pub use names::{UnknownName, nearest_name, plain_name};
pub use note::{Note, NoteError, PitchClass};
pub use playable::CannotPlay;
pub use stamp::Stamp;
pub use tab::{MarksError, NotTab, TabError, TabFault, TabMarks, TabStep, TabStyle};
pub use temperament::Temperament;
pub use tuning::{Tuning, TuningError};
pub use tuning_file::KnownTuning;
pub use tunings::Tunings;
pub use way::{Breath, Technique, Way};
pub use words::steps;
