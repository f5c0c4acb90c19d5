//! Questions by ear, answered by the simulated player, who knows what it did.

// Helpers of tests may panic like the tests themselves.
// The figures are for whoever runs it with --nocapture.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod blame;
mod calls;
mod held;
mod making;
mod player;
mod stands;
mod steering;
