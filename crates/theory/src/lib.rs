//! What the notes mean: positions, scales with their degrees and spelling, chords and their functions, what a player
//! reaches, and which harp serves best.
//!
//! [`layout`] knows which notes a harp has; this crate knows what they are called and what they do in a key. Start with
//! [`Scales`] for the scales known by name, [`ScaleInKey`] for a scale on its tonic, and [`ScaleMap`] for where the
//! scale lies on a harp and what each note asks of the player. [`ChordGroup`] has the chords under the mouth,
//! [`Function`] says what a chord does in a key, and [`Place`] finds where a chord of a [`Progression`] lies, whole or
//! in its best part.
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

mod ability;
mod choose;
mod chord;
mod chord_group;
mod chord_kind;
mod compare;
mod cost;
mod custom;
mod degree;
mod feel;
mod first_scale;
mod for_player;
mod function;
mod groove;
mod harp_chord;
mod in_key;
mod interval;
mod keyboard;
mod name;
mod named;
mod place;
mod position;
mod progression;
mod progressions;
mod purpose;
mod reasons;
mod reduced;
mod scale;
mod scale_map;
mod scales;
mod song;
mod under_mouth;
mod weights;

pub use ability::{Ability, AbilityError, Level, Mastery};
pub use choose::{Choice, ChoiceChord, ChoiceDegree, ChoiceNote, CostParts, choose, usual_harps};
pub use chord::Chord;
pub use chord_group::{ChordGroup, HoleRun};
pub use chord_kind::ChordKind;
pub use compare::Tie;
pub use cost::{MISSING, cost};
pub use custom::TIE;
pub use degree::{Degree, DegreeError};
pub use feel::{Feel, FeelError};
pub use first_scale::FirstScale;
pub use for_player::{PlayerNote, Substitute, for_player};
pub use function::{Function, FunctionError};
pub use groove::Groove;
pub use harp_chord::{Grip, HarpChord, MOST_HOLES};
pub use in_key::{Direction, ScaleInKey, ScaleNote};
pub use interval::Interval;
pub use name::NoteName;
pub use named::{Collection, Named};
pub use place::{Place, chord_tones};
pub use position::{Position, PositionError};
pub use progression::{ChangesError, Progression, ProgressionError, ProgressionMistake};
pub use progressions::Progressions;
pub use purpose::{MainChord, Purpose};
pub use reduced::{Origin, Reduced, ReducedNote};
pub use scale::{Scale, ScaleDegree, ScaleError, ScaleMistake};
pub use scale_map::{MapNote, Need, Octave, ScaleMap};
pub use scales::Scales;
pub use song::{Song, SongChord};
pub use weights::SongNote;
