//! Every allocation tried, while that is cheap.

use num_complex::Complex64;

use crate::form::model::Model;
use crate::form::quadratic::{Quadratic, turn_factors};
use crate::problem::evaluation::{Evaluation, compare_mean_square};
use crate::search::incumbent::Incumbent;

/// The best of all allocations, or `None` when trying them takes more than `work` multiplications.
pub(crate) fn enumerate(model: &Model, work: u64) -> Option<Incumbent> {
    let free = model.free();
    let allocations = model.allocations();
    if allocations.saturating_mul(8) > work {
        return None;
    }
    let turns = model.start();
    let mut walk = Walk {
        model,
        form: model.quadratic.restrict(&free, &turns),
        fields: vec![Vec::new(); free.len() + 1],
        free,
        best: Incumbent::new(model, turns.clone()),
        turns,
        factors: turn_factors(),
        work_left: work - allocations * 8,
    };
    walk.fields[0].clone_from(&walk.form.linear);
    let constant = walk.form.constant;
    walk.descend(0, constant).then_some(walk.best)
}

/// A walk through the tree of allocations, the last unit turning fastest.
struct Walk<'m, 'p> {
    model: &'m Model<'p>,
    form: Quadratic,
    free: Vec<usize>,
    /// Per depth, what the units decided so far mean for those still to come.
    fields: Vec<Vec<Complex64>>,
    turns: Vec<usize>,
    best: Incumbent,
    factors: [Complex64; 3],
    work_left: u64,
}

impl Walk<'_, '_> {
    /// False when the work has run out.
    fn descend(&mut self, depth: usize, value: f64) -> bool {
        let Some(&unit) = self.free.get(depth) else {
            return self.arrive(value);
        };
        for index in 0..self.model.choices[unit].len() {
            let turn = self.model.choices[unit][index];
            self.turns[unit] = turn;
            let factor = self.factors[turn];
            let step = 2.0 * (factor.conj() * self.fields[depth][depth]).re + self.form.own(depth);
            let (before, after) = self.fields.split_at_mut(depth + 1);
            let (before, after) = (&before[depth], &mut after[0]);
            after.clear();
            after.extend_from_slice(before);
            for (field, entry) in after.iter_mut().zip(self.form.row(depth)).skip(depth + 1) {
                *field += entry.conj() * factor;
            }
            if !self.descend(depth + 1, value + step) {
                return false;
            }
        }
        true
    }

    fn arrive(&mut self, value: f64) -> bool {
        let best = &self.best.evaluation;
        let mean_square = value.max(0.0);
        let order = compare_mean_square(mean_square, best.mean_square, self.model.scale);
        let moves = self.model.problem.moves(&self.turns);
        if best.excess.is_none()
            && (order.is_gt() || (order.is_eq() && self.model.tie.is_none() && moves > best.moves))
        {
            return true;
        }
        let mean_square = if self.model.peak.is_some() {
            let cost = self.model.value_cost();
            if cost > self.work_left {
                return false;
            }
            self.work_left -= cost;
            self.model.value(&self.turns)
        } else {
            mean_square
        };
        if !self.model.is_unrestricted() {
            let cost = self.model.limits.cost();
            if cost > self.work_left {
                return false;
            }
            self.work_left -= cost;
        }
        let found = Incumbent {
            evaluation: Evaluation {
                mean_square,
                tie_square: self.model.tie_square(&self.turns),
                excess: self.model.excess(&self.turns, Some(&best.excess)),
                moves,
            },
            turns: self.turns.clone(),
        };
        if found.beats(&self.best, self.model.scale) {
            self.best = found;
        }
        true
    }
}
