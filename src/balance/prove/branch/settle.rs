//! What limits and the number of moves leave of the turns at a node.

use super::BranchTree;
use crate::prove::bound::{Budget, Relaxation, Scalar};

impl<S: Scalar> BranchTree<'_, '_, S> {
    /// Moves left once those of the units that have no choice are made.
    pub(super) fn budget(&self) -> Option<Budget> {
        let most = self.model.max_moves?;
        let mut is_free = vec![false; self.model.size()];
        for &unit in &self.units {
            is_free[unit] = true;
        }
        let made: usize = (0..self.model.size())
            .filter(|&i| !is_free[i])
            .map(|i| self.model.moves_of(i, self.best.turns[i]))
            .sum();
        let unit_of = |&i: &usize| &self.model.problem.units()[i];
        let prices = self.units.iter().map(unit_of);
        let prices = prices
            .map(|unit| unit.current.map(|now| (now, unit.moves)))
            .collect();
        Some(Budget::new(most.saturating_sub(made), prices))
    }

    /// Turns that a unit may still take.
    pub(super) fn turns_left(
        &self,
        node: &Relaxation<S>,
        unit: usize,
        mirrored: bool,
    ) -> Vec<usize> {
        self.model.choices[self.units[unit]]
            .iter()
            .copied()
            .filter(|&turn| !(mirrored && turn == 2) && node.may_turn(unit, turn))
            .collect()
    }

    /// Rules turns out that pass a limit, and decides the units that have one turn left; false
    /// when one has none.
    pub(super) fn settle(&mut self, node: &mut Relaxation<S>) -> bool {
        if node.budget.is_none() && self.rows.is_empty() {
            return true;
        }
        let mut settled = false;
        loop {
            if !self.rule_out(node) {
                return false;
            }
            let before = node.free.len();
            for unit in node.free.clone() {
                match self.turns_left(node, unit, false)[..] {
                    [] => return false,
                    [turn] => node.decide(&self.form, unit, turn, &self.norms),
                    _ => {}
                }
            }
            if node.free.len() == before {
                break;
            }
            settled = true;
        }
        if settled {
            node.refactor(&self.form);
        }
        true
    }

    /// Rules out turns by the rows watched; false when a limit cannot be kept any more.
    fn rule_out(&mut self, node: &mut Relaxation<S>) -> bool {
        self.work += (self.rows.len() * self.units.len()) as u64 * 16;
        let turns = self.turn_in_problem(node);
        let mut is_free = vec![false; self.model.size()];
        for &unit in &node.free {
            is_free[self.units[unit]] = true;
        }
        for row in &self.rows {
            let decided = row.decided_sum(&turns, &is_free);
            let size = decided.norm();
            if size == 0.0 {
                continue;
            }
            // Along the direction of the decided units, each of the others adds at least this.
            let along = |unit: usize, turn: usize| -> f64 {
                (decided.conj() * row.terms[self.units[unit]][turn]).re / size
            };
            let possible = |unit: usize| {
                let turns = self.turns_left(node, unit, false);
                turns
                    .into_iter()
                    .map(|turn| along(unit, turn))
                    .fold(f64::INFINITY, f64::min)
            };
            let least: Vec<f64> = node.free.iter().map(|&unit| possible(unit)).collect();
            let sum = size + least.iter().sum::<f64>();
            if row.is_passed(sum) {
                return false;
            }
            let mut ruled_out = Vec::new();
            for (&unit, least) in node.free.iter().zip(&least) {
                for turn in 0..3 {
                    if row.is_passed(sum - least + along(unit, turn)) {
                        ruled_out.push((unit, turn));
                    }
                }
            }
            for (unit, turn) in ruled_out {
                node.rule_out(unit, turn);
            }
        }
        true
    }
}
