//! By how much a figure has changed.

/// Relative to what it was; unknown where that was zero. (%)
pub(super) fn percent(before: f64, now: f64) -> Option<f64> {
    units::percent_of(now - before, before.abs())
}
