//! What few moves already give.

use super::branch::prove;
use super::changes::{sets_of_changes, try_changes};
use super::evaluation::compare_mean_square;
use super::model::Model;
use super::random::Dice;
use super::record::Record;
use super::result::Proof;
use super::search::search_from;
use super::settings::Settings;
use super::solution::CurvePoint;
use super::state::State;

/// Evaluated changes that trying all changes within a number of moves may take.
const MOST_TRIED: u64 = 5_000_000;
/// Good assignments from which moves are taken back.
const OTHERS: u64 = 24;

/// The best neutral for each number of moves, from none to those that the best assignment takes.
///
/// `bound` is a mean square that no assignment passes below. Where trying every set of changes is
/// too much, a local search gives the point, and branch and bound proves it as far as a share of
/// the work allows. Past the deadline no point is added.
pub(crate) fn moves_curve(
    model: &mut Model,
    settings: &Settings,
    best: &Record,
    bound: Option<f64>,
) -> Vec<CurvePoint> {
    if model.problem.current().is_none() || !best.is_feasible() {
        return Vec::new();
    }
    let max_moves = model.max_moves;
    let mut records = found_points(model, settings, best);
    shorten_points(model, &mut records);
    prove_points(model, settings, &mut records);
    model.max_moves = max_moves;
    let point = |(moves, (record, is_proven)): (usize, (Record, bool))| {
        let mean_square = record.evaluation.mean_square;
        let reaches_bound = bound.is_some_and(|bound| {
            record.is_feasible() && compare_mean_square(mean_square, bound, model.scale).is_le()
        });
        CurvePoint {
            moves,
            mean_square,
            feasible: record.is_feasible(),
            choices: record.turns,
            proof: if is_proven || reaches_bound {
                Proof::Optimal
            } else {
                Proof::Gap
            },
        }
    };
    records.into_iter().enumerate().map(point).collect()
}

/// For each number of moves the best found, and whether every set of changes was tried.
fn found_points(model: &mut Model, settings: &Settings, best: &Record) -> Vec<(Record, bool)> {
    let last = best.evaluation.moves;
    let mut shorter = Vec::new();
    let free = model.free();
    let work = settings.search_work / (last as u64).max(1);
    let mut points: Vec<(Record, bool)> = Vec::new();
    let mut tried: u64 = 0;
    for moves in 0..=last.min(settings.curve_moves) {
        if settings.is_late() {
            break;
        }
        model.max_moves = Some(moves);
        let before = points
            .last()
            .map_or_else(|| model.start(), |(point, _)| point.turns.clone());
        let mut found = Record::new(model, before);
        let cost = sets_of_changes(model, moves).saturating_mul(model.limits.cost().max(1));
        let is_cheap = cost.saturating_add(tried) <= MOST_TRIED;
        if moves == last {
            found = best.clone();
        } else if is_cheap {
            tried += cost;
            try_changes(model, moves, &mut found);
        } else {
            if shorter.is_empty() {
                shorter = good_assignments(model, settings, best);
                model.max_moves = Some(moves);
            }
            let mut state = State::new(model, found.turns.clone());
            let mut shortest = found.clone();
            for assignment in &shorter {
                state.set(&assignment.within(moves));
                state.descend(&free);
                let candidate = Record::new(model, state.turns.clone());
                if candidate.beats(&shortest, model.scale) {
                    shortest = candidate;
                }
            }
            let starts = [shortest.turns, found.turns];
            found = search_from(model, settings, &starts, work).best;
        }
        points.push((found, is_cheap && moves < last));
    }
    points
}

/// The best assignment and other good ones, each as far as it leads with few moves.
fn good_assignments(model: &mut Model, settings: &Settings, best: &Record) -> Vec<Shortened> {
    model.max_moves = settings.max_moves;
    let mut assignments = vec![Shortened::new(model, best)];
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
        assignments.push(Shortened::new(model, &other));
    }
    assignments
}

/// Replaces points by the next one with moves taken back, where that is better.
fn shorten_points(model: &mut Model, points: &mut [(Record, bool)]) {
    let free = model.free();
    for moves in (0..points.len().saturating_sub(1)).rev() {
        model.max_moves = Some(moves);
        let turns = Shortened::new(model, &points[moves + 1].0).within(moves);
        let mut state = State::new(model, turns);
        state.descend(&free);
        let candidate = Record::new(model, state.turns.clone());
        if candidate.beats(&points[moves].0, model.scale) {
            points[moves].0 = candidate;
        }
    }
}

/// Proves point after point, until two in succession would take too much.
fn prove_points(model: &mut Model, settings: &Settings, points: &mut [(Record, bool)]) {
    let share = Settings {
        proof_work: settings.proof_work / 40,
        ..settings.clone()
    };
    let mut failures = 0;
    for (moves, (record, is_proven)) in points.iter_mut().enumerate() {
        if *is_proven || !record.is_feasible() {
            continue;
        }
        if failures == 2 {
            break;
        }
        model.max_moves = Some(moves);
        let shown = prove(model, record, &share);
        *record = shown.best;
        *is_proven = shown.is_complete;
        failures = if shown.is_complete { 0 } else { failures + 1 };
    }
}

/// The best assignment with its least telling moves taken back, one after the other.
struct Shortened {
    /// Number of moves and turns, from many moves to few.
    steps: Vec<(usize, Vec<usize>)>,
}

impl Shortened {
    fn new(model: &Model, best: &Record) -> Self {
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

    fn within(&self, moves: usize) -> Vec<usize> {
        let fits = self.steps.iter().find(|(needed, _)| *needed <= moves);
        fits.or(self.steps.last())
            .map(|(_, turns)| turns.clone())
            .unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::balance::samples::{Kind, brute_force, config, random_problem};
    use crate::balance::solve;

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
            let mut tried = Record::new(&model, model.start());
            try_changes(&model, 4, &mut tried);
            let found = search_from(&model, &settings, &[model.start()], 50_000).best;
            let shown = prove(&model, &found, &settings);
            prop_assert!(shown.is_complete);
            let (a, b) = (shown.best.evaluation.mean_square, tried.evaluation.mean_square);
            prop_assert!(compare_mean_square(a, b, model.scale).is_eq(), "{a} is not {b}");
        }
    }
}
