//! The supply's currents over time, and at the worst moment.

use num_complex::Complex64;

use super::nodes::series;
use crate::answer::result::{BalanceTrace, PhasorMoment};
use crate::pose::from_site::Posed;
use crate::pose::grid::at;
use crate::problem::currents::phasor_sum;
use electrical::Phase;

/// Phases and neutral of the supply, interval by interval.
pub(super) fn trace(posed: &Posed, now: Option<&[usize]>, turns: &[usize]) -> BalanceTrace {
    let supply = posed.problem.supply();
    let before = now.map(|now| series(posed, supply, now));
    let after = series(posed, supply, turns);
    let worst = before.as_ref().unwrap_or(&after).worst();
    BalanceTrace {
        start_s: posed.grid.starts.clone(),
        interval_s: posed.grid.interval_s as u32,
        worst_before: now.map(|now| moment(posed, now, worst)),
        worst_after: moment(posed, turns, worst),
        phase_before_a: before.as_ref().map(|series| series.phases_a.clone()),
        neutral_before_a: before.map(|series| series.neutral_a),
        phase_after_a: after.phases_a,
        neutral_after_a: after.neutral_a,
    }
}

fn moment(posed: &Posed, turns: &[usize], interval: usize) -> PhasorMoment {
    let supply = posed.problem.supply();
    let phases = posed.problem.phase_currents(supply, turns);
    let common = Phase::ALL.map(|phase| phase.direction() * phases[phase.index()][interval]);
    let neutral: Complex64 = phasor_sum(&phases, interval);
    PhasorMoment {
        at: at(posed.grid.starts[interval]),
        phases: common,
        neutral,
        neutral_beyond_phasors_a: supply.beyond.get(interval).copied().unwrap_or(0.0),
    }
}
