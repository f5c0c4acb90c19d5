//! Playing in time: notes that are asked for at moments, against the notes that were played.
//!
//! * [`Notes`] divides what the ear says into notes.
//! * [`Follower`] finds which played note answers which asked one, while the playing goes on: a best path through both,
//!   which knows notes that are missing, that are too many, that are wrong, and jumps to the beginning of a bar.
//! * [`Masked`] keeps when the player could not be heard through what the program sounds: nothing is told against him
//!   there.
//! * [`RunVerdict`] says what came of it, note by note and as a whole, in pitch and in time.
//!
//! All times are seconds on the clock of the microphone, counted from the first beat.

mod attack;
mod chugs;
mod follow;
mod masked;
mod note;
mod notes;
mod run;
mod window;

pub use chugs::{ChordHeard, Chug, Chugs};
pub use follow::{Follower, Path, median};
pub use masked::{Masked, MaskedAt};
pub use note::{AskedNote, NoteVerdict, PlayedAt, Timing};
pub use notes::{Divided, Notes};
pub use run::{Beat, Breaths, Change, Drift, RunVerdict, Whole, so_far};
pub use window::Window;
