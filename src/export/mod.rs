//! Results as text, JSON and CSV: pure functions of results.

mod serial;

pub use serial::{local_option, pairs, utc, utc_option};
