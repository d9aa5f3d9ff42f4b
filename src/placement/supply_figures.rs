//! Figures of the supply, from which the effect of a new machine follows.

/// Figures of the supply over the intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SupplyFigures {
    pub(super) neutral_rms_a: f64,
    pub(super) neutral_max_a: f64,
    pub(super) phase_max_a: [f64; 3],
    pub(super) demand_period_neutral_max_a: Option<f64>,
    pub(super) demand_period_phase_max_a: Option<[f64; 3]>,
    pub(super) unbalance_pct: Option<f64>,
}
