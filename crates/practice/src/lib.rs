//! What is practised: drills and free playing, without a screen.
//!
//! An [`Exercise`] is fed with what is heard and says what that comes to. A [`Drill`] is a TOML file that a player can
//! read and write; [`built_in`] holds those that come with the program. A [`Session`] is a drill on its way: it asks,
//! listens, judges, and moves on by itself. [`run`] is practice on a clock, [`jam`] is free playing on a clock over
//! chords, and [`ear`] poses questions that are sounded or named and answered on the harp. [`Free`] playing is divided
//! into notes and into sets of reeds that sound together.
//!
//! ```
//! use layout::{Harp, HarpKey};
//! use practice::{Drill, built_in};
//!
//! let harp = Harp::richter("A".parse::<HarpKey>().unwrap());
//! let (name, text) = built_in()[0];
//! let drill = Drill::parse(name, text, &harp).unwrap();
//! assert!(!drill.items.is_empty());
//!
//! let own = "title = 'Mine'\n[[item]]\nplay = '-11'\n";
//! let error = Drill::parse("mine", own, &harp).unwrap_err();
//! assert_eq!((error.line, error.column), (3, 9));
//! assert!(error.message.contains("there is no hole 11"));
//! ```

mod agenda;
mod beat;
mod built_in;
mod chords;
mod drill;
pub mod ear;
mod event;
mod exercise;
mod feedback;
mod free;
mod free_play;
mod gate;
mod hidden;
mod hint;
pub mod jam;
mod made;
mod moment;
mod read;
mod read_chord;
mod reed_set;
pub mod run;
mod session;
mod sheet;
mod streak;
mod summary;

pub use built_in::{built_in, built_in_phrases};
pub use chords::{ChordAsked, ChordSummary, ChordTried, Chords};
pub use drill::{Asks, Drill, DrillError, Item, NotForHarp, PlayOrder};
pub use event::{
    Asked, DrillId, Ending, Event, ModelBegan, Phase, Played, RunBegan, RunJudged, Started, Tried,
};
pub use exercise::{Exercise, Order};
pub use feedback::{Feedback, FeedbackError};
pub use free::{Free, HeardNote, LineNote};
pub use free_play::PlayedNote;
pub use moment::{Moment, Timebase};
pub use reed_set::{ReedSet, ReedSets, ReedVoice, way_of};
pub use session::Session;
pub use summary::{Lean, Summary};
