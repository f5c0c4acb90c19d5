//! What to practise next.
//!
//! [`Past`] is what was practised, day by day, as the journal counts it. Everything else in this crate is worked out
//! from it and can be worked out again: how well each bend is commanded, what is due, today's practice, where a
//! programme stands, progress.
//!
//! This crate does no I/O and reads no clock: which day it is, it is told.

mod belief;
mod day;
mod past;
mod programme;
mod progress;
mod skill;
mod spacing;
mod today;

pub use belief::Belief;
pub use day::{Day, DayError};
pub use past::{NoteDay, PaceDay, Past, PlayedDay, ThingDay};
pub use programme::{
    Aim, Goal, GoalStanding, Item, Known, Programme, SoFar, Standing, Week, What, programmes,
};
pub use progress::{Habit, NoteProgress, Progress, TempoProgress};
pub use skill::{Skill, Skills};
pub use spacing::Spacing;
pub use today::{Asked, Block, Offer, Part, Reason, Task, Today, Wish, by_difficulty, side};
