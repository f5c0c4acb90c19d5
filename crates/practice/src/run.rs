//! Practice on a clock: what is played when, how the tempo moves from run to run, and a run on its way.

mod ladder;
mod material;
mod rhythm;
mod running;
mod scale;

pub use ladder::Ladder;
pub use material::{Material, MaterialError, TimedNote};
pub use rhythm::{Metre, Rhythm, RhythmError, Swing, Tempo, Value};
pub use running::{Click, Plan, RunPhase, Running, StartAt};
pub use scale::{ScaleRun, Shape};
