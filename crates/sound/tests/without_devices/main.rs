//! Everything that needs no sound card.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros)] // the lists are for callbacks

#[cfg(test)]
mod feeds;
#[cfg(test)]
mod levels;
#[cfg(test)]
mod recordings;
#[cfg(test)]
mod speakers;
#[cfg(test)]
mod wav;
#[cfg(test)]
mod wav_forms;
