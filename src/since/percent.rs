//! By how much a figure has changed.

/// Relative to what it was; unknown where that was zero. (%)
pub(super) fn percent(before: f64, now: f64) -> Option<f64> {
    (before.abs() > 0.0).then(|| 100.0 * (now - before) / before.abs())
}
