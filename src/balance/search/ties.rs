//! Among allocations with equal neutral, the one with the fewest moves.

use crate::form::limits::AskedBefore;
use crate::form::model::Model;
use crate::form::state::State;
use crate::problem::evaluation::{Evaluation, Excess, compare_mean_square};
use crate::search::incumbent::Incumbent;

/// The relabellings of the phases: the cyclic ones, and those that exchange two phases, which
/// leave the neutral alike where all power factors are.
const RELABELLINGS: [[usize; 3]; 6] = [
    [0, 1, 2],
    [1, 2, 0],
    [2, 0, 1],
    [0, 2, 1],
    [1, 0, 2],
    [2, 1, 0],
];

/// Replaces the best allocation by an equal one with fewer moves, or lower turns first, as far as
/// relabelling all phases and changes of two units lead to one.
pub(crate) fn settle_ties(model: &Model, best: &mut Incumbent) {
    // Of the first one: one taken from another would leave some of the six untried.
    let first = best.turns.clone();
    let mut watched = AskedBefore::default();
    for relabelling in RELABELLINGS {
        let turns: Vec<usize> = first.iter().map(|&turn| relabelling[turn]).collect();
        if turns
            .iter()
            .zip(&model.choices)
            .all(|(turn, choices)| choices.contains(turn))
            && !model.passes_more(&turns, &best.evaluation.excess, &mut watched)
        {
            let mut candidate = Incumbent::new(model, turns);
            if is_as_good(model, &candidate, best) {
                // Where a block counts, its own search has done that, block by block; where limits are exceeded,
                // nearly every pair would be a long look at all of them.
                if model.peak.is_none() && candidate.is_feasible() {
                    settle_pairs(model, &mut candidate);
                }
                if candidate.beats(best, model.scale) {
                    *best = candidate;
                }
            }
        }
    }
}

fn is_as_good(model: &Model, candidate: &Incumbent, best: &Incumbent) -> bool {
    let (a, b) = (&candidate.evaluation, &best.evaluation);
    a.excess.compare(&b.excess).is_le()
        && compare_mean_square(a.mean_square, b.mean_square, model.scale).is_le()
}

/// Would it beat the best if it kept every limit?
fn could_beat(model: &Model, turns: &[usize], best: &Incumbent) -> bool {
    let hopeful = Incumbent {
        evaluation: Evaluation {
            mean_square: model.value(turns),
            tie_square: model.tie_square(turns),
            excess: Excess::default(),
            moves: model.problem.moves(turns),
        },
        turns: turns.to_vec(),
    };
    hopeful.beats(best, model.scale)
}

/// Changes of two units that leave the neutral as it is and need fewer moves or lower turns.
fn settle_pairs(model: &Model, best: &mut Incumbent) {
    let free = model.free();
    let original = best.clone();
    let mut state = State::new(model, best.turns.clone());
    let enough = &original.evaluation.excess;
    let mut watched = AskedBefore::default();
    let mut improved = true;
    while improved {
        improved = false;
        for (a, &i) in free.iter().enumerate() {
            for &j in &free[a + 1..] {
                for &turn_i in &model.choices[i] {
                    for &turn_j in &model.choices[j] {
                        let pair = [(i, turn_i), (j, turn_j)];
                        let now = [(i, state.turns[i]), (j, state.turns[j])];
                        let cost = |of: [(usize, usize); 2]| {
                            (
                                of.map(|(unit, turn)| model.moves_of(unit, turn))
                                    .iter()
                                    .sum::<usize>(),
                                of,
                            )
                        };
                        let is_no_less = cost(pair) >= cost(now);
                        if pair == now || (is_no_less && model.tie.is_none()) {
                            continue;
                        }
                        let gain = state.gain(pair[0])
                            + state.gain(pair[1])
                            + state.joint(pair[0], pair[1]);
                        let then = state.value + gain;
                        if compare_mean_square(then, original.evaluation.mean_square, model.scale)
                            .is_gt()
                        {
                            continue;
                        }
                        let mut turns = state.turns.clone();
                        (turns[i], turns[j]) = (turn_i, turn_j);
                        // The limits are checked last: on a long log that takes longest by far.
                        if !could_beat(model, &turns, best)
                            || model.passes_more(&turns, enough, &mut watched)
                        {
                            continue;
                        }
                        let candidate = Incumbent::new(model, turns);
                        if is_as_good(model, &candidate, &original)
                            && candidate.beats(best, model.scale)
                        {
                            state.set(&candidate.turns);
                            *best = candidate;
                            improved = true;
                        }
                    }
                }
            }
        }
    }
}
