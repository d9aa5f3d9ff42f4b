//! The highest demand period before and after, where a peak is minimised.

use super::amounts::rms;
use crate::answer::result::{PeakBlock, Peaks};
use crate::form::peak::{Conductors, Peak};
use crate::pose::from_site::Posed;
use crate::pose::grid::at;
use crate::problem::objective::Objective;
use crate::problem::solution::Solution;

/// The conductors whose peak the objective minimises; `None` for other objectives.
pub(super) fn peak_conductors(objective: Objective) -> Option<Conductors> {
    match objective {
        Objective::NeutralRms | Objective::NeutralLoss => None,
        Objective::NeutralPeak => Some(Conductors::Neutral),
        Objective::PhasePeak => Some(Conductors::Phases),
    }
}

/// The highest demand period before and after, where a peak was minimised.
pub(super) fn peaks(
    posed: &Posed,
    objective: Objective,
    now: Option<&[usize]>,
    solution: &Solution,
) -> Option<Peaks> {
    let conductors = peak_conductors(objective)?;
    let problem = &posed.problem;
    let peak = Peak::of_all(problem, conductors);
    let block = |turns: &[usize]| {
        let largest = peak.largest(turns);
        let intervals = &problem.blocks()[peak.number(largest.place)];
        PeakBlock {
            current_a: rms(largest.square),
            conductor: match conductors {
                Conductors::Neutral => "N",
                Conductors::Phases => ["L1", "L2", "L3"][largest.conductor],
            },
            at: at(posed.grid.starts[intervals.start]),
        }
    };
    let intervals = problem.blocks().first().map_or(1, std::ops::Range::len);
    Some(Peaks {
        block_s: (intervals as i64 * posed.grid.interval_s) as u32,
        before: now.map(block),
        after: block(&solution.choices),
        lower_bound_a: solution.lower_bound_mean_square.map(rms),
    })
}
