//! The supply's currents over time, and at the worst moment.

use crate::answer::figures::NodeSeries;
use crate::answer::result::{BalanceTrace, PhasorMoment};
use crate::node_currents::NodeCurrents;
use crate::pose::from_site::Posed;
use crate::pose::grid::at;
use electrical::Phase;

/// Phases and neutral of the supply, interval by interval.
pub(super) fn trace(posed: &Posed, now: Option<&[usize]>, turns: &[usize]) -> BalanceTrace {
    let supply = posed.problem.supply();
    let currents = |turns: &[usize]| posed.problem.node_currents(supply, turns);
    let (before, after) = (now.map(currents), currents(turns));
    let series_before = before.as_ref().map(NodeSeries::new);
    let series_after = NodeSeries::new(&after);
    let worst = series_before.as_ref().unwrap_or(&series_after).worst();
    BalanceTrace {
        start_s: posed.grid.starts.clone(),
        interval_s: posed.grid.interval_s as u32,
        worst_before: before.as_ref().map(|before| moment(posed, before, worst)),
        worst_after: moment(posed, &after, worst),
        phase_before_a: series_before.as_ref().map(|series| series.phases_a.clone()),
        neutral_before_a: series_before.map(|series| series.neutral_a),
        phase_after_a: series_after.phases_a,
        neutral_after_a: series_after.neutral_a,
    }
}

fn moment(posed: &Posed, currents: &NodeCurrents<'_>, interval: usize) -> PhasorMoment {
    let common = |phase: Phase| phase.direction() * currents.phases[phase.index()][interval];
    PhasorMoment {
        at: at(posed.grid.starts[interval]),
        phases: Phase::ALL.map(common),
        neutral: currents.neutral(interval),
        neutral_beyond_phasors_a: currents.beyond.get(interval).copied().unwrap_or(0.0),
    }
}
