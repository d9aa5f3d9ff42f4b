//! The best allocation within a few moves from now.

use crate::form::limits::AskedBefore;
use crate::form::model::Model;
use crate::form::state::State;
use crate::problem::evaluation::compare_mean_square;
use crate::search::incumbent::Incumbent;

/// Tries every allocation within the moves that the model allows, the limits checked only where the neutral current
/// does not rule an allocation out.
///
/// Single changes come first, for as long as they help: a good allocation rules the others out at once. After
/// `most_work` multiplications the best so far is the answer.
pub(crate) fn best_within_moves(model: &Model, most_work: u64) -> Incumbent {
    let start = model.start();
    let best = Incumbent::new(model, start.clone());
    let mut few = FewMovesSearch {
        state: State::new(model, start.clone()),
        free: model.free(),
        watched: AskedBefore::default(),
        // Nearly all are refused within the first stretches of their intervals.
        cost: 1 + model.limits.cost() / 32,
        work_left: most_work,
        start,
        best,
        model,
    };
    few.single_changes();
    let start = few.start.clone();
    few.state.set(&start);
    few.from(0);
    few.best
}

struct FewMovesSearch<'m, 'p> {
    model: &'m Model<'p>,
    state: State<'m, 'p>,
    start: Vec<usize>,
    free: Vec<usize>,
    best: Incumbent,
    watched: AskedBefore,
    /// Multiplications that a check of the limits takes.
    cost: u64,
    work_left: u64,
}

impl FewMovesSearch<'_, '_> {
    /// The best single change again and again.
    fn single_changes(&mut self) {
        loop {
            let base = self.best.turns.clone();
            self.state.set(&base);
            for at in 0..self.free.len() {
                let unit = self.free[at];
                for turn in self.model.choices[unit].clone() {
                    if turn == base[unit] {
                        continue;
                    }
                    self.state.apply((unit, turn));
                    self.judge();
                    self.state.apply((unit, base[unit]));
                }
            }
            if self.best.turns == base {
                break;
            }
        }
    }

    /// The present allocation with every further change of the units from `first` on.
    fn from(&mut self, first: usize) {
        for at in first..self.free.len() {
            let unit = self.free[at];
            let stay = self.start[unit];
            for turn in self.model.choices[unit].clone() {
                if turn == stay {
                    continue;
                }
                self.state.apply((unit, turn));
                if self.model.moves_over(self.state.moves()) == 0 {
                    self.judge();
                    self.from(at + 1);
                }
                self.state.apply((unit, stay));
                if self.work_left == 0 {
                    return;
                }
            }
        }
    }

    fn judge(&mut self) {
        let best = &self.best.evaluation;
        let scale = self.model.scale;
        if self.model.moves_over(self.state.moves()) > 0 {
            return;
        }
        if best.excess.is_none()
            && compare_mean_square(self.state.value, best.mean_square, scale).is_gt()
        {
            return;
        }
        let Some(left) = self.work_left.checked_sub(self.cost) else {
            self.work_left = 0;
            return;
        };
        self.work_left = left;
        let turns = &self.state.turns;
        if self
            .model
            .passes_more(turns, &best.excess, &mut self.watched)
        {
            return;
        }
        let candidate = Incumbent::new(self.model, turns.clone());
        if candidate.beats(&self.best, scale) {
            self.best = candidate;
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::problem::settings::Settings;
    use crate::samples::{Kind, brute_force, config, random_problem};

    proptest! {
        #![proptest_config(config(300))]

        #[test]
        fn it_finds_what_trying_everything_finds(seed: u64, units in 1..7_usize, limits: bool, budget in 0..4_usize) {
            let kind = Kind { units, intervals: 12, plain: false, limits };
            let problem = random_problem(seed, kind);
            let settings = Settings { max_moves: Some(budget), ..Settings::default() };
            let model = Model::new(&problem, &settings);
            // Where a unit's phase is not allowed, more must move than may.
            prop_assume!(model.moves_over(problem.moves(&model.start())) == 0);
            let best = brute_force(&problem, Some(budget), model.scale);
            let found = best_within_moves(&model, u64::MAX);
            prop_assert!(found.evaluation.compare(&best.evaluation, model.scale).is_eq(), "{found:?} is not {best:?}");
        }
    }
}
