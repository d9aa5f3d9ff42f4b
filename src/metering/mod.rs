//! Meter logs into clean interval tables.
