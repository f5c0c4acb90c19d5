//! What the notes mean: scales with their degrees and spelling, chords and their functions.
//!
//! [`layout`] knows which notes a harp has; this crate knows what they are called and what they do in a key. Start with
//! [`Scale`] for degrees above a tonic and [`NoteName`] for a note as it is written.
//!
//! This crate does no I/O and reads no clock.
//!
//! ```
//! use theory::{NoteName, Scale};
//!
//! let major = Scale::new("major", "1 2 3 4 5 6 7").unwrap();
//! let tonic: NoteName = "Gb".parse().unwrap();
//! let names: Vec<String> = major.spelled(tonic).map(|name| name.to_string()).collect();
//! assert_eq!(names.join(" "), "G♭ A♭ B♭ C♭ D♭ E♭ F");
//! ```

mod degree;
mod name;
mod scale;

pub use degree::{Degree, DegreeError};
pub use name::NoteName;
pub use scale::{Scale, ScaleDegree, ScaleError};
