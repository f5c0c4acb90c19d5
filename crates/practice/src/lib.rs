//! What is asked: drills, and the session that goes through them.

mod drill;
mod session;

pub use drill::{Drill, DrillError, Item};
pub use session::{Event, Phase, Session, Tried};
