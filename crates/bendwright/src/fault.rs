//! Faults of the program itself: made on demand, so that a test can see what a panic does to the terminal, and caught.

use crate::failure::Failure;
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Panics if the environment variable `BENDWRIGHT_FAULT` names this place, in a build for tests only: what is shipped
/// does not break down by request (`tests/live`, which runs in a release build).
pub(crate) fn strike(place: &str) {
    if cfg!(debug_assertions) {
        let struck = std::env::var_os("BENDWRIGHT_FAULT").is_some_and(|named| named == place);
        assert!(!struck, "BENDWRIGHT_FAULT={place}");
    }
}

/// Does the work; a panic in it becomes a failure, so that what was practised can still be told.
///
/// # Errors
/// Those of the work, and [`Failure::Fault`].
pub(crate) fn caught<T>(work: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or(Err(Failure::Fault))
}

/// The message of a caught panic.
pub(crate) fn words(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "no reason given".into())
}
