//! The bound of a node raised by its multipliers, as long as that promises to close the node.

use super::BranchTree;
use crate::prove::bound::{CutReach, Relaxation, Scalar, separate};

/// Share of the gap, spread over the undecided units, that weighs the barrier.
const BARRIER: f64 = 0.9;
/// Sweeps over the multipliers between two searches for new cuts.
const SWEEPS: usize = 5;

impl<S: Scalar> BranchTree<'_, '_, S> {
    /// Improves the multipliers as long as that promises to end the node; returns the bound.
    pub(super) fn tighten(&mut self, node: &mut Relaxation<S>, is_root: bool) -> f64 {
        let mut bound = node.bound;
        let rounds = if is_root { 40 } else { 8 };
        for round in 0..rounds {
            let gap = self.target() - bound;
            if gap <= 0.0 {
                break;
            }
            let mu = self.barrier(node, bound);
            let reach = CutReach {
                wide: if is_root { round > 1 } else { round == 0 },
                most: node.free.len() + 10,
            };
            separate(node, mu, reach, &self.norms);
            for _ in 0..SWEEPS {
                let mu = self.barrier(node, bound);
                let least_gain = 1e-2 * mu;
                node.sweep(mu, least_gain);
            }
            node.drop_idle(1e-2 * mu);
            node.refactor(&self.form);
            let before = bound;
            bound = bound.max(node.bound);
            let gained = bound - before;
            let left = (self.target() - bound).max(0.0);
            let is_stuck = if is_root {
                round > 2 && gained < 0.02 * left
            } else {
                gained < 0.3 * left
            };
            if is_stuck {
                break;
            }
        }
        bound
    }

    /// μ for the gap left by the best bound so far. Measured from a bound that the barrier itself
    /// has lowered, it would lower it further.
    fn barrier(&self, node: &Relaxation<S>, bound: f64) -> f64 {
        let gap = (self.target() - bound.max(node.bound)).max(1e-6 * self.target());
        BARRIER * gap / node.free.len() as f64
    }
}
