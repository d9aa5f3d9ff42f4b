//! The best allocation so far, and the conditions for a better one.

use super::BranchTree;
use crate::form::limits::LimitRow;
use crate::problem::evaluation::{Excess, tolerance};
use crate::prove::bound::{Relaxation, Scalar};
use crate::search::incumbent::Incumbent;

/// What a change evaluated takes besides the arithmetic of bounds, in multiplications of the same duration.
const CHANGE_WORK: u64 = 40;
/// Likewise for each multiplication of a check of all limits.
const CHECK_WORK: u64 = 16;
/// Conductors and intervals watched at most.
const MOST_WATCHED: usize = 200;
/// Blocks watched from the start where a peak is made small.
const MOST_PEAKS: usize = 24;

impl<S: Scalar> BranchTree<'_, '_, S> {
    /// Where a peak is minimised, a better allocation keeps each demand period below the best.
    pub(super) fn watch_peak(&mut self) {
        if let Some(peak) = &self.model.peak {
            let limit = self.best.evaluation.mean_square.sqrt();
            for (place, _) in peak.ranked(&self.best.turns, MOST_PEAKS) {
                self.rows.extend(peak.rows(place, limit));
            }
        }
    }

    /// A branch whose bound reaches this holds nothing better.
    pub(super) fn target(&self) -> f64 {
        let best = self.best.evaluation.mean_square;
        // Half of it where another program, rounding otherwise, shall come to the same.
        let share = if self.leaves.is_some() { 0.5 } else { 1.0 };
        let target = best - share * tolerance(best, self.model.scale);
        if self.near_enough == 0.0 {
            return target;
        }
        let near = (best.max(0.0).sqrt() - self.near_enough).max(0.0);
        target.min(near * near)
    }

    /// A whole allocation: keeps it if it is better; watches the limits that it passes.
    pub(super) fn arrive(&mut self, turns: Vec<usize>) {
        let passes_a_limit = |row: &LimitRow| row.over(row.sum(&turns)) > 0.0;
        if self.rows.iter().any(passes_a_limit) {
            return;
        }
        self.work += CHECK_WORK * self.model.value_cost();
        if self.model.value(&turns) >= self.target() {
            return;
        }
        self.work += CHECK_WORK * self.model.limits.cost();
        if !self
            .model
            .excess(&turns, Some(&Excess::default()))
            .is_none()
        {
            if self.rows.len() < MOST_WATCHED {
                for row in self.model.limits.worst(&turns) {
                    row.add_to(&mut self.rows);
                }
            }
            return;
        }
        let found = Incumbent::new(self.model, turns);
        if found.beats(&self.best, self.model.scale) {
            self.best = found;
        }
    }

    /// Rounds where the node tends to, and improves that by changes of two units.
    pub(super) fn improve(&mut self, node: &Relaxation<S>) {
        let mut turns = self.best.turns.clone();
        for (&unit, turn) in self.units.iter().zip(node.rounded()) {
            if self.model.choices[unit].contains(&turn) {
                turns[unit] = turn;
            }
        }
        self.improver.set(&turns);
        self.work += CHANGE_WORK * self.improver.descend(&self.units);
        let turns = self.improver.turns.clone();
        self.arrive(turns);
    }
}
