//! Meter logs into clean interval tables.

#[allow(dead_code)]
mod clock;
#[allow(dead_code)]
mod dialect;
