//! Practice on a clock: what is played when, scales and phrases, how the tempo moves from run to run, and a run on its
//! way.

mod bars;
mod clicking;
mod form;
mod ladder;
mod material;
mod over;
mod phrase;
mod phrase_read;
mod plan;
mod rhythm;
mod running;
mod scale;
mod swing_played;

pub use clicking::{Click, Clicked, Clicking, Weight};
pub use form::FormRun;
pub use ladder::{Ladder, Tempi};
pub use material::{ChordAt, Material, MaterialError, RunName, TimedNote};
pub use over::Over;
pub use phrase::Phrase;
pub use plan::{Plan, RunPhase, StartAt};
pub use rhythm::{Metre, Rhythm, RhythmError, Swing, Tempo, Value};
pub use running::Running;
pub use scale::{ScaleRun, Shape};
pub(crate) use swing_played::swing_played;
