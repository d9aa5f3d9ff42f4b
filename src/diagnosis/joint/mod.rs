//! A joint (terminal, fuse base, switch contact) with more resistance than its sisters.

mod design;
mod estimate;
mod readings;
mod regression;

pub use estimate::{Estimate, EstimateError, ExtraResistance, Figure, estimate};
pub use readings::PhaseReadings;
