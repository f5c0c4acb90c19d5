//! What the bench's programs share.

mod wav;

pub use wav::read;
