//! What is asked: drills, and the session that goes through them.
//!
//! A [`Drill`] is a TOML file that a player can read and write; [`built_in`] holds those that come with the program. A
//! [`Session`] goes through a drill: it asks, listens, judges, and moves on by itself. Free playing is divided into notes
//! by [`FreePlay`] and into sets of reeds that sound together by [`ReedSets`].
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

mod built_in;
mod drill;
mod event;
mod free_play;
mod read;
mod reed_set;
mod session;
mod summary;

pub use built_in::built_in;
pub use drill::{Drill, DrillError, Item};
pub use event::{Event, Phase, Tried};
pub use free_play::{FreePlay, PlayedNote};
pub use reed_set::{ReedSet, ReedSets, ReedVoice, way_of};
pub use session::Session;
pub use summary::Summary;
