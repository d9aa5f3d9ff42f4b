//! Every set of changes within a number of moves.

use crate::form::model::Model;
use crate::form::state::State;
use crate::problem::evaluation::{Evaluation, compare_mean_square};
use crate::search::incumbent::Incumbent;

/// Number of ways to change units from the start within a number of moves, as far as it counts.
pub(crate) fn sets_of_changes(model: &Model, moves: usize) -> u64 {
    let start = model.start();
    let made = model.problem.moves(&start);
    let left = moves.saturating_sub(made);
    let mut counts = vec![0_u64; left + 1];
    counts[0] = 1;
    for i in model.free() {
        let before = counts.clone();
        for &turn in model.choices[i].iter().filter(|&&turn| turn != start[i]) {
            let cost = model.moves_of(i, turn) - model.moves_of(i, start[i]);
            for spent in cost..=left {
                counts[spent] = counts[spent].saturating_add(before[spent - cost]);
            }
        }
    }
    counts
        .iter()
        .fold(0, |sum: u64, count| sum.saturating_add(*count))
}

/// Every set of changes from the start within a number of moves.
pub(crate) fn try_changes(model: &Model, moves: usize, best: &mut Incumbent) {
    let start = model.start();
    let left = moves.saturating_sub(model.problem.moves(&start));
    let mut trial = Trial {
        free: model.free(),
        state: State::new(model, start),
        model,
    };
    trial.consider(trial.state.value, trial.state.turns.clone(), best);
    trial.descend(0, left, best);
}

struct Trial<'m, 'p> {
    model: &'m Model<'p>,
    free: Vec<usize>,
    state: State<'m, 'p>,
}

impl Trial<'_, '_> {
    fn descend(&mut self, first: usize, left: usize, best: &mut Incumbent) {
        for place in first..self.free.len() {
            let i = self.free[place];
            let now = self.state.turns[i];
            for index in 0..self.model.choices[i].len() {
                let turn = self.model.choices[i][index];
                let cost = self
                    .model
                    .moves_of(i, turn)
                    .saturating_sub(self.model.moves_of(i, now));
                if turn == now || cost > left {
                    continue;
                }
                let value = self.state.value + self.state.gain((i, turn));
                if self.may_beat(value, best) {
                    let mut turns = self.state.turns.clone();
                    turns[i] = turn;
                    self.consider(value, turns, best);
                }
                if left > cost || cost == 0 {
                    self.state.apply((i, turn));
                    self.descend(place + 1, left - cost, best);
                    self.state.apply((i, now));
                }
            }
        }
        if first < 2 {
            self.state.refresh();
        }
    }

    fn may_beat(&self, value: f64, best: &Incumbent) -> bool {
        let order = compare_mean_square(value, best.evaluation.mean_square, self.model.scale);
        !best.is_feasible() || order.is_le()
    }

    fn consider(&self, value: f64, turns: Vec<usize>, best: &mut Incumbent) {
        let value = match &self.model.peak {
            Some(_) => self.model.value(&turns),
            None => value,
        };
        let found = Incumbent {
            evaluation: Evaluation {
                mean_square: value.max(0.0),
                tie_square: self.model.tie_square(&turns),
                excess: self.model.excess(&turns, Some(&best.evaluation.excess)),
                moves: self.model.problem.moves(&turns),
            },
            turns,
        };
        if found.beats(best, self.model.scale) {
            *best = found;
        }
    }
}
