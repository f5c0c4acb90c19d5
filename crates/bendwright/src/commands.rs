//! One file for each command.

pub(crate) mod band;
pub(crate) mod choose;
pub(crate) mod completions;
pub(crate) mod config;
pub(crate) mod drill;
pub(crate) mod ear;
mod in_time;
pub(crate) mod jam;
pub(crate) mod journal;
pub(crate) mod listen;
pub(crate) mod map;
pub(crate) mod phrase;
pub(crate) mod picture;
pub(crate) mod programme;
pub(crate) mod scale;
pub(crate) mod sheet;
pub(crate) mod sound;
pub(crate) mod track;
