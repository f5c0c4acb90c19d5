//! Samples in, readings out: which fundamental is sounding now, how surely, how loud, and since when.

mod candidates;
mod choose;
mod consensus;
mod doubt;
mod ear;
mod even;
mod floor;
mod front;
mod history;
mod hold;
mod joint;
mod lowpass;
mod note;
mod octave;
#[cfg(test)]
mod oracles;
mod pull;
mod reading;
pub mod reeds;
mod refine;
mod settings;
mod smooth;
mod spectrum;
mod stream;
mod track;
mod voicing;

pub use ear::Ear;
pub use history::History;
pub use reading::Reading;
pub use settings::{Settings, SettingsError};
