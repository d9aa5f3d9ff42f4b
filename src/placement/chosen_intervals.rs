//! Currents of a load in chosen intervals.

use num_complex::Complex64;

use balance::Currents;

/// Currents in some of the intervals.
pub(super) fn only(currents: &Currents, intervals: &[usize]) -> Currents {
    let at = |series: &[Complex64]| intervals.iter().map(|&interval| series[interval]).collect();
    Currents::new([0, 1, 2].map(|position| currents.series(position).map(at)))
}
