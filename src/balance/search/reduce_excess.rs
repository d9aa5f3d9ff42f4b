//! Less excess where no allocation keeps the limits.

use crate::form::limits::AskedBefore;
use crate::form::model::Model;
use crate::search::incumbent::Incumbent;

/// Where limits cannot be kept: changes of two units that pass them less, by the full account.
pub(crate) fn lessen_excess(model: &Model, best: &mut Incumbent, most_work: u64) -> u64 {
    let free = model.free();
    let cost = 1 + model.limits.cost() / 4;
    let mut work = 0;
    let mut watched = AskedBefore::default();
    let mut improved = true;
    while improved {
        improved = false;
        for (a, &i) in free.iter().enumerate() {
            for &j in &free[a..] {
                for &turn_i in &model.choices[i] {
                    for &turn_j in &model.choices[j] {
                        if work > most_work {
                            return work;
                        }
                        work += cost;
                        let mut turns = best.turns.clone();
                        turns[i] = turn_i;
                        turns[j] = turn_j;
                        let enough = &best.evaluation.excess;
                        if model.passes_more(&turns, enough, &mut watched) {
                            continue;
                        }
                        let candidate = Incumbent::new(model, turns);
                        if candidate.beats(best, model.scale) {
                            *best = candidate;
                            improved = true;
                        }
                    }
                }
            }
        }
    }
    work
}
