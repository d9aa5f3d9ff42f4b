//! From a problem to its solution.

use crate::form::limits::AskedBefore;
use crate::form::model::Model;
use crate::problem::evaluation::Excess;
use crate::problem::problem::Problem;
use crate::problem::proof::Proof;
use crate::problem::settings::Settings;
use crate::problem::solution::{FewerMoves, Solution};
use crate::prove::branch::prove;
use crate::prove::curve::moves_curve;
use crate::prove::shortened::Shortened;
use crate::search::enumerate::enumerate;
use crate::search::few_moves::best_within_moves;
use crate::search::incumbent::Incumbent;
use crate::search::local_search::search;
use crate::search::meet_in_the_middle::meet;
use crate::search::ties::settle_ties;

/// Where no allocation keeps the limits: moves up to which the smallest overload is sought for each number of moves.
const MOST_FEW_MOVES: usize = 4;

/// Multiplications that each of these may take.
const FEW_MOVES_WORK: u64 = 100_000_000;

/// Multiplications that trying all allocations may take.
const ENUMERATION_WORK: u64 = 20_000_000;

/// Finds the allocation with the lowest neutral current at the supply, within limits.
///
/// Where no allocation keeps the limits, the one that passes them least. Among equals, the one
/// with the fewest moves from now, then the one whose first units have the lower turns.
///
/// The answer depends on the problem and the settings alone, not on the number of threads.
#[must_use]
pub fn solve(problem: &Problem, settings: &Settings) -> Solution {
    let mut model = Model::new(problem, settings);
    let mut solution = if let Some(best) = enumerate(&model, ENUMERATION_WORK) {
        finish(&best, Proof::Optimal, Some(best.evaluation.mean_square), 0)
    } else {
        search_and_prove(&mut model, settings)
    };
    solution.mean_square_now = problem.current().map(|now| model.value(&now));
    let best = Incumbent::new(&model, solution.choices.clone());
    let bound = solution.lower_bound_mean_square;
    solution.moves_curve = moves_curve(&mut model, settings, &best, bound);
    if settings.enough_pct.is_some() {
        solution.with_fewer_moves = with_fewer_moves(&mut model, &solution, &best);
    }
    solution
}

/// Allocations with fewer moves than the best.
fn with_fewer_moves(model: &mut Model, solution: &Solution, best: &Incumbent) -> Vec<FewerMoves> {
    if model.problem.current().is_none() {
        return Vec::new();
    }
    let allocations: Vec<Vec<usize>> = if !solution.feasible {
        let most = MOST_FEW_MOVES.min(solution.moves.saturating_sub(1));
        let best_of = |moves| {
            model.max_moves = Some(moves);
            best_within_moves(model, FEW_MOVES_WORK).turns
        };
        let few = (0..=most).map(best_of).collect();
        model.max_moves = None;
        few
    } else if solution.moves_curve.len() > 1 {
        let kept = solution.moves_curve.iter().filter(|point| point.feasible);
        kept.map(|point| point.choices.clone()).collect()
    } else {
        let keeps = |turns: &Vec<usize>| {
            !model.passes_more(turns, &Excess::default(), &mut AskedBefore::default())
        };
        let steps = Shortened::new(model, best).into_allocations();
        steps.filter(keeps).collect()
    };
    let point = |choices: Vec<usize>| FewerMoves {
        mean_square: model.value(&choices),
        choices,
    };
    allocations.into_iter().map(point).collect()
}

fn search_and_prove(model: &mut Model, settings: &Settings) -> Solution {
    let found = search(model, settings);
    model.look_near(&found.best.turns);
    let model = &*model;
    if !found.best.is_feasible() {
        return finish(&found.best, Proof::None, None, found.work);
    }
    if let Some(best) = meet(model, &found.best) {
        let bound = best.evaluation.mean_square;
        return finish(&best, Proof::Optimal, Some(bound), found.work);
    }
    let mut shown = prove(model, &found.best, settings);
    if shown.best.turns != found.best.turns {
        settle_ties(model, &mut shown.best);
    }
    let proof = if shown.is_complete {
        Proof::Optimal
    } else {
        Proof::Gap
    };
    Solution {
        proof_work: shown.work / 1_000_000,
        ..finish(&shown.best, proof, Some(shown.bound), found.work)
    }
}

fn finish(best: &Incumbent, proof: Proof, bound: Option<f64>, search_work: u64) -> Solution {
    Solution {
        choices: best.turns.clone(),
        mean_square: best.evaluation.mean_square,
        mean_square_now: None,
        moves: best.evaluation.moves,
        feasible: best.is_feasible(),
        excess: best.evaluation.excess,
        proof,
        lower_bound_mean_square: bound,
        search_work,
        proof_work: 0,
        moves_curve: Vec::new(),
        with_fewer_moves: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::problem::evaluation::compare_mean_square;
    use crate::samples::{Kind, brute_force, config, random_problem};

    fn kind(units: usize, limits: bool) -> Kind {
        Kind {
            units,
            intervals: 12,
            plain: false,
            limits,
        }
    }

    proptest! {
        #![proptest_config(config(700))]

        #[test]
        fn enumeration_finds_what_trying_everything_finds(
            seed: u64, units in 1..7_usize, limits: bool, budget in proptest::option::of(0..4_usize)
        ) {
            let problem = random_problem(seed, kind(units, limits));
            let settings = Settings { max_moves: budget, ..Settings::default() };
            let model = Model::new(&problem, &settings);
            let best = brute_force(&problem, budget, model.scale);
            let solution = solve(&problem, &settings);
            let found = Incumbent::new(&model, solution.choices.clone());
            prop_assert!(
                found.evaluation.compare(&best.evaluation, model.scale).is_eq(),
                "{:?} is not {:?}", found, best
            );
            prop_assert_eq!(solution.feasible, best.is_feasible());
            prop_assert_eq!(solution.proof, Proof::Optimal);
        }

        #[test]
        fn search_never_beats_enumeration_and_equals_it_where_limits_can_be_kept(
            seed: u64, units in 1..8_usize, limits: bool, budget in proptest::option::of(0..5_usize)
        ) {
            let problem = random_problem(seed, kind(units, limits));
            let settings = Settings { max_moves: budget, search_work: 1_000_000, ..Settings::default() };
            let model = Model::new(&problem, &settings);
            let best = enumerate(&model, u64::MAX).expect("few allocations");
            let found = search(&model, &settings).best;
            prop_assert!(!found.evaluation.compare(&best.evaluation, model.scale).is_lt());
            let checked = problem.evaluate(&found.turns);
            prop_assert!((checked.mean_square - found.evaluation.mean_square).abs() <= 1e-9 * model.scale);
            prop_assert_eq!(found.is_feasible(), best.is_feasible());
            // Of equals far apart the search alone may have either; the fewest moves are settled near it alone.
            let values = [&found, &best].map(|record| record.evaluation.mean_square);
            let is_best = compare_mean_square(values[0], values[1], model.scale).is_eq();
            prop_assert!(is_best || !best.is_feasible(), "{found:?} is not {best:?}");
        }
    }

    #[test]
    fn the_same_seed_gives_the_same_answer_on_one_thread_and_on_four() {
        let problem = random_problem(7, kind(16, true));
        let settings = Settings {
            search_work: 300_000,
            ..Settings::default()
        };
        let on = |threads: usize| {
            rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .expect("a thread pool")
                .install(|| solve(&problem, &settings))
        };
        assert_eq!(on(1), on(4));
    }
}
