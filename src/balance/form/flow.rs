//! What flows at a node through a few intervals under an allocation.

use num_complex::Complex64;

use super::quadratic::turn_factors;
use super::screen::STRETCH;
use crate::problem::currents::Currents;
use crate::problem::problem::{Problem, ProblemNode};

/// Phase currents of a node through a few intervals under an allocation. (A)
///
/// Load by load and not interval by interval: the series of a load lie together in memory.
pub(crate) struct Flow<'a> {
    pub(crate) intervals: &'a [usize],
    pub(super) node: &'a ProblemNode,
    pub(super) phases: Phases,
}

/// Currents of L1, L2, L3 through the intervals of a stretch. (A)
pub(super) type Phases = [[Complex64; STRETCH]; 3];

impl<'a> Flow<'a> {
    pub(super) fn of(
        problem: &'a Problem,
        node: usize,
        intervals: &'a [usize],
        phases: &Phases,
    ) -> Flow<'a> {
        Flow {
            intervals,
            node: &problem.nodes()[node],
            phases: *phases,
        }
    }

    /// At most [`STRETCH`] intervals.
    pub(crate) fn new(
        problem: &'a Problem,
        node: usize,
        turns: &[usize],
        intervals: &'a [usize],
    ) -> Flow<'a> {
        let node = &problem.nodes()[node];
        let mut phases = [[Complex64::ZERO; STRETCH]; 3];
        // Mostly they follow each other without a gap, and are added at once.
        let run = intervals
            .first()
            .map(|&first| first..first + intervals.len())
            .filter(|run| intervals.last() == Some(&(run.end - 1)));
        let mut add = |currents: &Currents, turn: usize| {
            for position in 0..3 {
                if let Some(series) = currents.series(position) {
                    let sums = &mut phases[(position + turn) % 3];
                    if let Some(run) = &run {
                        for (sum, value) in sums.iter_mut().zip(&series[run.clone()]) {
                            *sum += value;
                        }
                        continue;
                    }
                    for (sum, &interval) in sums.iter_mut().zip(intervals) {
                        *sum += series[interval];
                    }
                }
            }
        };
        add(&node.fixed, 0);
        for share in &node.shares {
            add(problem.part(share), turns[share.unit]);
        }
        Flow {
            intervals,
            node,
            phases,
        }
    }

    pub(crate) fn phases_at(&self, at: usize) -> [Complex64; 3] {
        self.phases.map(|phase| phase[at])
    }

    pub(crate) fn neutral_at(&self, at: usize) -> f64 {
        let phases = self.phases_at(at).into_iter().zip(turn_factors());
        let interval = self.intervals[at];
        let neutral = phases.map(|(i, f)| i * f).sum::<Complex64>()
            + self.node.fixed.neutral_alone_at(interval);
        let beyond = self.node.beyond.get(interval).copied();
        let beyond = beyond.unwrap_or(0.0);
        (neutral.norm_sqr() + beyond * beyond).sqrt()
    }
}
