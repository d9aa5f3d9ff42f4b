//! What few moves already give.

use crate::form::model::Model;
use crate::form::state::State;
use crate::problem::evaluation::compare_mean_square;
use crate::problem::proof::Proof;
use crate::problem::settings::Settings;
use crate::problem::solution::CurvePoint;
use crate::prove::branch::prove;
use crate::prove::shortened::Shortened;
use crate::search::changes::{sets_of_changes, try_changes};
use crate::search::incumbent::Incumbent;
use crate::search::local_search::search_from;
use crate::search::random::Dice;

/// Evaluated changes that trying all changes within a number of moves may take.
const MOST_TRIED: u64 = 5_000_000;
/// Good allocations from which moves are taken back.
const OTHERS: u64 = 24;

/// The best neutral for each number of moves, from none to those that the best allocation takes.
///
/// `bound` is a mean square that no allocation passes below. Where trying every set of changes is
/// too much, a local search gives the point, and branch and bound proves it as far as a share of
/// the work allows. Past the deadline no point is added.
pub(crate) fn moves_curve(
    model: &mut Model,
    settings: &Settings,
    best: &Incumbent,
    bound: Option<f64>,
) -> Vec<CurvePoint> {
    if model.problem.current().is_none() || !best.is_feasible() {
        return Vec::new();
    }
    let max_moves = model.max_moves;
    let mut found = found_points(model, settings, best);
    shorten_points(model, &mut found);
    prove_points(model, settings, &mut found);
    model.max_moves = max_moves;
    let mut points: Vec<CurvePoint> = found
        .into_iter()
        .enumerate()
        .map(|(moves, found)| found.point(model, moves, bound))
        .collect();
    share_bounds(&mut points);
    points
}

/// What is known of the best within a number of moves.
struct BestWithMoves {
    record: Incumbent,
    is_proven: bool,
    /// No allocation within the moves has a smaller mean square. [A²]
    bound: Option<f64>,
}

impl BestWithMoves {
    fn point(self, model: &Model, moves: usize, bound: Option<f64>) -> CurvePoint {
        let mean_square = self.record.evaluation.mean_square;
        let feasible = self.record.is_feasible();
        // What no allocation passes below, none within fewer moves does.
        let bound = largest(self.bound, bound);
        let reaches_bound = bound.is_some_and(|bound| {
            feasible && compare_mean_square(mean_square, bound, model.scale).is_le()
        });
        let proven = self.is_proven || reaches_bound;
        CurvePoint {
            moves,
            mean_square,
            feasible,
            choices: self.record.turns,
            proof: if proven { Proof::Optimal } else { Proof::Gap },
            lower_bound_mean_square: if proven { Some(mean_square) } else { bound },
        }
    }
}

fn largest(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    one.into_iter().chain(other).reduce(f64::max)
}

/// What is reached with fewer moves is reached with more: a bound holds for all points before its own.
fn share_bounds(points: &mut [CurvePoint]) {
    let mut from_later = None;
    for point in points.iter_mut().rev() {
        let known = largest(point.lower_bound_mean_square, from_later);
        point.lower_bound_mean_square = known.map(|bound| bound.min(point.mean_square));
        from_later = known;
    }
}

/// For each number of moves the best found, and whether every set of changes was tried.
fn found_points(model: &mut Model, settings: &Settings, best: &Incumbent) -> Vec<BestWithMoves> {
    let last = best.evaluation.moves;
    let mut shorter = Vec::new();
    let free = model.free();
    let work = settings.search_work / (last as u64).max(1);
    let mut points: Vec<BestWithMoves> = Vec::new();
    let mut tried: u64 = 0;
    for moves in 0..=last.min(settings.curve_moves) {
        if settings.is_late() {
            break;
        }
        model.max_moves = Some(moves);
        let before = points
            .last()
            .map_or_else(|| model.start(), |point| point.record.turns.clone());
        let mut found = Incumbent::new(model, before);
        // Without a move there is one allocation, however long a look at its limits takes.
        let cost = match moves {
            0 => 0,
            _ => sets_of_changes(model, moves).saturating_mul(model.limits.cost().max(1)),
        };
        let is_cheap = cost.saturating_add(tried) <= MOST_TRIED;
        if moves == last {
            found = best.clone();
        } else if is_cheap {
            tried += cost;
            try_changes(model, moves, &mut found);
        } else {
            if shorter.is_empty() {
                shorter = good_allocations(model, settings, best);
                model.max_moves = Some(moves);
            }
            let mut state = State::new(model, found.turns.clone());
            let mut shortest = found.clone();
            for allocation in &shorter {
                state.set(&allocation.within(moves));
                state.descend(&free);
                let candidate = Incumbent::new(model, state.turns.clone());
                if candidate.beats(&shortest, model.scale) {
                    shortest = candidate;
                }
            }
            let starts = [shortest.turns, found.turns];
            found = search_from(model, settings, &starts, work).best;
        }
        points.push(BestWithMoves {
            record: found,
            is_proven: is_cheap && moves < last,
            bound: None,
        });
    }
    points
}

/// The best allocation and other good ones, each as far as it leads with few moves.
fn good_allocations(model: &mut Model, settings: &Settings, best: &Incumbent) -> Vec<Shortened> {
    model.max_moves = settings.max_moves;
    let mut allocations = vec![Shortened::new(model, best)];
    for number in 1..OTHERS {
        let settings = Settings {
            seed: settings.seed.wrapping_add(number),
            ..settings.clone()
        };
        let mut dice = Dice::new(settings.seed);
        let start = model
            .choices
            .iter()
            .map(|choices| choices[dice.below(choices.len())])
            .collect();
        let other = search_from(model, &settings, &[start], 0).best;
        allocations.push(Shortened::new(model, &other));
    }
    allocations
}

/// Replaces points by the next one with moves taken back, where that is better.
fn shorten_points(model: &mut Model, points: &mut [BestWithMoves]) {
    let free = model.free();
    for moves in (0..points.len().saturating_sub(1)).rev() {
        model.max_moves = Some(moves);
        let turns = Shortened::new(model, &points[moves + 1].record).within(moves);
        let mut state = State::new(model, turns);
        state.descend(&free);
        let candidate = Incumbent::new(model, state.turns.clone());
        if candidate.beats(&points[moves].record, model.scale) {
            points[moves].record = candidate;
        }
    }
}

/// Proves point after point, until two in succession would take too much; of the others it is only
/// shown how much better they could at most be.
fn prove_points(model: &mut Model, settings: &Settings, points: &mut [BestWithMoves]) {
    let with_work = |proof_work: u64| Settings {
        proof_work,
        ..settings.clone()
    };
    let share = with_work(settings.proof_work / 40);
    let small = with_work(settings.proof_work / 2000);
    let mut failures = 0;
    for (moves, point) in points.iter_mut().enumerate() {
        if point.is_proven || !point.record.is_feasible() {
            continue;
        }
        model.max_moves = Some(moves);
        let settings = if failures < 2 { &share } else { &small };
        let shown = prove(model, &point.record, settings);
        point.record = shown.best;
        point.is_proven = shown.is_complete;
        point.bound = Some(shown.bound);
        if failures < 2 {
            failures = if shown.is_complete { 0 } else { failures + 1 };
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::samples::{Kind, brute_force, config, random_problem};
    use crate::solve;

    proptest! {
        #![proptest_config(config(40))]

        #[test]
        fn each_point_is_the_best_within_its_moves(seed: u64, units in 1..7_usize) {
            let kind = Kind { units, intervals: 12, plain: true, limits: false };
            let problem = random_problem(seed, kind);
            let settings = Settings::default();
            let scale = Model::new(&problem, &settings).scale;
            let solution = solve(&problem, &settings);
            prop_assert_eq!(solution.moves_curve.len(), solution.moves + 1);
            for point in &solution.moves_curve {
                let best = brute_force(&problem, Some(point.moves), scale);
                let order =
                    compare_mean_square(point.mean_square, best.evaluation.mean_square, scale);
                prop_assert!(order.is_eq(), "{point:?} is not {best:?}");
                prop_assert!(problem.moves(&point.choices) <= point.moves);
                prop_assert_eq!(point.proof, Proof::Optimal);
                prop_assert_eq!(point.lower_bound_mean_square, Some(point.mean_square));
            }
        }

        /// With too little work for a proof the bounds still hold, and grow with fewer moves.
        #[test]
        fn no_allocation_passes_below_the_bound_of_its_point(seed: u64, units in 7..9_usize, limits: bool) {
            let kind = Kind { units, intervals: 12, plain: true, limits };
            let problem = random_problem(seed, kind);
            let settings = Settings { proof_work: 0, ..Settings::default() };
            let mut model = Model::new(&problem, &settings);
            let scale = model.scale;
            let best = brute_force(&problem, None, scale);
            prop_assume!(best.is_feasible() && problem.current().is_some());
            let mut points: Vec<BestWithMoves> = (0..=best.evaluation.moves)
                .map(|moves| {
                    let record = brute_force(&problem, Some(moves), scale);
                    BestWithMoves { record, is_proven: false, bound: None }
                })
                .collect();
            prove_points(&mut model, &settings, &mut points);
            let mut told: Vec<CurvePoint> = points
                .into_iter()
                .enumerate()
                .map(|(moves, found)| found.point(&model, moves, None))
                .collect();
            share_bounds(&mut told);
            for point in told.iter().filter(|point| point.feasible) {
                let bound = point.lower_bound_mean_square.unwrap_or(0.0);
                let order = compare_mean_square(bound, point.mean_square, scale);
                prop_assert!(order.is_le(), "{bound} is above {point:?}");
            }
            for pair in told.windows(2).filter(|pair| pair.iter().all(|point| point.feasible)) {
                prop_assert!(pair[0].lower_bound_mean_square >= pair[1].lower_bound_mean_square);
            }
        }

        /// The long way, by search and tree, against trying every set of changes.
        #[test]
        fn search_and_tree_agree_with_trying_all_changes(seed: u64, units in 8..11_usize) {
            let kind = Kind { units, intervals: 12, plain: true, limits: false };
            let problem = random_problem(seed, kind);
            let settings = Settings::default();
            let mut model = Model::new(&problem, &settings);
            model.max_moves = Some(4);
            let mut tried = Incumbent::new(&model, model.start());
            try_changes(&model, 4, &mut tried);
            let found = search_from(&model, &settings, &[model.start()], 50_000).best;
            let shown = prove(&model, &found, &settings);
            prop_assert!(shown.is_complete);
            let (a, b) = (shown.best.evaluation.mean_square, tried.evaluation.mean_square);
            prop_assert!(compare_mean_square(a, b, model.scale).is_eq(), "{a} is not {b}");
        }
    }
}
