//! Faults on demand, so that a test can see what a panic does to the terminal.

use std::any::Any;

/// Panics if the environment variable `BENDWRIGHT_FAULT` names this place.
pub(crate) fn strike(place: &str) {
    let struck = std::env::var_os("BENDWRIGHT_FAULT").is_some_and(|named| named == place);
    assert!(!struck, "BENDWRIGHT_FAULT={place}");
}

/// The message of a caught panic.
pub(crate) fn words(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "no reason given".into())
}
