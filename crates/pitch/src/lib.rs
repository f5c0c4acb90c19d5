//! Samples in, readings out: which fundamental is sounding now, how surely, how loud, and since when.

mod reading;

pub use reading::Reading;
