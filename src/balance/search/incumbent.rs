//! The best allocation so far.

use crate::form::model::Model;
use crate::problem::evaluation::Evaluation;

/// An allocation with what counts about it.
#[derive(Clone, Debug)]
pub(crate) struct Incumbent {
    pub(crate) turns: Vec<usize>,
    pub(crate) evaluation: Evaluation,
}

impl Incumbent {
    pub(crate) fn new(model: &Model, turns: Vec<usize>) -> Self {
        let evaluation = model.evaluate(&turns);
        Self { turns, evaluation }
    }

    /// True when this beats the other: less excess, less neutral, fewer moves, lower turns first.
    pub(crate) fn beats(&self, other: &Incumbent, scale: f64) -> bool {
        self.evaluation
            .compare(&other.evaluation, scale)
            .then_with(|| self.turns.cmp(&other.turns))
            .is_lt()
    }

    /// Are all limits kept?
    pub(crate) fn is_feasible(&self) -> bool {
        self.evaluation.excess.is_none()
    }
}
