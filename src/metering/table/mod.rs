//! What goes out: one row per interval, with its origin, quality, gaps and phasors.

pub(crate) mod gaps;
pub(crate) mod interval_table;
pub(crate) mod logged;
pub(crate) mod meter_fault;
pub(crate) mod origin;
pub(crate) mod phasors;
pub(crate) mod quality;
