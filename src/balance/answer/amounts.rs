//! Mean squares and watts of the search as reported amounts: amperes, kWh per year, the gap in per cent.

use crate::problem::objective::Objective;
use crate::problem::proof::Proof;
use units::HOURS_OF_A_YEAR;

/// Root of a mean square, which rounding may have made negative. (A)
pub(super) fn rms(square: f64) -> f64 {
    square.max(0.0).sqrt()
}

/// Mean watts over a year. (kWh)
pub(super) fn kwh_per_year(watts: f64) -> f64 {
    watts * HOURS_OF_A_YEAR / 1000.0
}

/// The gap in the objective's own unit: neutral rms, or watts.
pub(super) fn gap_of(objective: Objective, value: f64, bound: f64, proof: Proof) -> f64 {
    match objective {
        Objective::NeutralRms | Objective::NeutralPeak | Objective::PhasePeak => {
            gap_pct(rms(value), rms(bound), proof)
        }
        Objective::NeutralLoss => gap_pct(value, bound.max(0.0), proof),
    }
}

/// 100·(after − bound)/after; 0 when after is 0 or nothing is better.
fn gap_pct(after: f64, bound: f64, proof: Proof) -> f64 {
    if proof == Proof::Optimal || after <= 0.0 {
        0.0
    } else {
        (100.0 * (after - bound) / after).max(0.0)
    }
}
