//! The second line of evidence for a resistance.

use super::basis::EstimateBasis;
use super::estimate::{ExtraResistance, JointEstimate, estimate};

/// What confirms a resistance apart from the estimate over the whole log: a second meter above the place, or that each half
/// of the log by itself shows it, the later one no less than the earlier. `None` where nothing does.
pub(super) fn confirmation(
    basis: &EstimateBasis<'_>,
    of: impl Fn(&JointEstimate) -> Option<ExtraResistance>,
) -> Option<&'static str> {
    if basis.upstream.is_some() {
        return Some("two meters: the voltage is lost between them");
    }
    let rows = basis.readings.len();
    let [first, second] = [0..rows / 2, rows / 2..rows].map(|part| {
        let estimate = estimate(&basis.readings.part(part), basis.neutral_ratio).ok()?;
        let extra = basis.widened(of(&estimate)?, &estimate);
        Some(ExtraResistance::interval_95(extra.at_middle))
    });
    let (first, second) = (first?, second?);
    // One that grows is larger in the second half; one that heals by itself is no joint.
    let agree = first.0 > 0.0 && second.0 > 0.0 && second.1 >= first.0;
    agree.then_some("each half of the log shows it by itself")
}
