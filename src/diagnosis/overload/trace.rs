//! Data behind an overload, for charts.

use crate::phase_detail::HalfHour;
use electrical::Phase;

/// Data behind an overload, for charts.
#[derive(Clone, Debug, PartialEq)]
pub struct OverloadTrace {
    /// The phase.
    pub phase: Phase,
    /// Its limit. (A)
    pub limit_a: f64,
    /// The worst half-hours with what made them up, worst first.
    pub half_hours: Vec<HalfHour>,
}
