//! A joint (terminal, fuse base, switch contact) with more resistance than those of the other phases.
//!
//! In: voltages and currents of the three phases, reading by reading. Out: for each phase the series
//! resistance above the mean of the two others between source and meter, with its interval; and that of the neutral above
//! the mean of the three.

mod basis;
mod check;
mod confirmation;
mod design;
mod estimate;
mod figure;
mod neutral_path;
mod page;
mod readings;
mod regression;
mod report;
mod series;
mod significance;
#[cfg(test)]
mod tests;
pub(super) mod trace;

pub(super) use check::check;
pub use estimate::{EstimateError, ExtraResistance, JointEstimate, estimate};
pub use figure::EstimatedFigure;
pub(super) use neutral_path::NeutralPath;
pub(super) use page::PAGE;
pub use readings::PhaseReadings;
pub use trace::{JointTrace, OhmAt};
