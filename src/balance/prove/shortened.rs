//! A good allocation with its least useful moves undone, one after another.

use crate::form::model::Model;
use crate::form::state::State;
use crate::search::incumbent::Incumbent;

/// The best allocation with its least useful moves undone, one after another.
pub(crate) struct Shortened {
    /// Number of moves and turns, from many moves to few.
    steps: Vec<(usize, Vec<usize>)>,
}

impl Shortened {
    pub(crate) fn new(model: &Model, best: &Incumbent) -> Self {
        let mut state = State::new(model, best.turns.clone());
        let mut steps = vec![(state.moves(), state.turns.clone())];
        let start = model.start();
        let free = model.free();
        loop {
            let back = free
                .iter()
                .filter(|&&i| model.moves_of(i, state.turns[i]) > model.moves_of(i, start[i]))
                .map(|&i| (i, start[i]))
                .min_by(|&a, &b| state.gain(a).total_cmp(&state.gain(b)));
            let Some(change) = back else {
                return Self { steps };
            };
            state.apply(change);
            steps.push((state.moves(), state.turns.clone()));
        }
    }

    pub(crate) fn within(&self, moves: usize) -> Vec<usize> {
        let fits = self.steps.iter().find(|(needed, _)| *needed <= moves);
        fits.or(self.steps.last())
            .map(|(_, turns)| turns.clone())
            .unwrap_or_default()
    }

    /// The allocations, from many moves to few.
    pub(crate) fn into_allocations(self) -> impl Iterator<Item = Vec<usize>> {
        self.steps.into_iter().map(|(_, turns)| turns)
    }
}
