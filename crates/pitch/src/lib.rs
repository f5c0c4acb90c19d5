//! Samples in, readings out: which fundamental is sounding now, how surely, how loud, and since when.

mod candidates;
mod ear;
mod front;
mod history;
mod reading;
mod refine;
mod settings;
mod track;

pub use ear::Ear;
pub use reading::Reading;
pub use settings::{Settings, SettingsError};
