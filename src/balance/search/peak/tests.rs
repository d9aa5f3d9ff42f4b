//! Peaks against trying everything.

use num_complex::Complex64;
use proptest::prelude::*;

use super::*;
use crate::form::model::Model;
use crate::form::peak::Conductors;
use crate::prove::branch::prove;
use crate::samples::{Kind, all_turns, config, random_problem};
use crate::search::incumbent::Incumbent;
use crate::search::local_search::search;
use crate::{Currents, Problem};
use crate::{Objective, Proof, Settings, Unit, solve};

/// A problem whose intervals are put together in blocks of three.
fn problem_in_blocks(seed: u64, kind: Kind) -> Problem {
    let blocks = (0..kind.intervals / 3).map(|b| 3 * b..3 * b + 3).collect();
    random_problem(seed, kind)
        .with_blocks(blocks)
        .expect("sound blocks")
}

/// Conductor by conductor, block by block, from Kirchhoff's current law.
fn peak_of(problem: &Problem, conductors: Conductors, turns: &[usize]) -> f64 {
    let supply = problem.supply();
    let currents = problem.node_currents(supply, turns);
    let squares = |t: usize| -> Vec<f64> {
        match conductors {
            Conductors::Phases => {
                let phases = currents.phases.iter();
                phases.map(|phase| phase[t].norm_sqr()).collect()
            }
            Conductors::Neutral => vec![currents.neutral_square(t)],
        }
    };
    let mut largest: f64 = 0.0;
    for block in problem.blocks() {
        for conductor in 0..conductors.count() {
            let sum: f64 = block.clone().map(|t| squares(t)[conductor]).sum();
            largest = largest.max(sum / block.len() as f64);
        }
    }
    largest
}

proptest! {
    #![proptest_config(config(60))]

    /// Where nothing is fixed, a relabelling of all phases has the same peak: none may take fewer moves.
    #[test]
    fn no_relabelling_of_the_plan_takes_fewer_moves(seed: u64, units in 5..10_usize, of_phases: bool) {
        let kind = Kind { units, intervals: 12, plain: true, limits: false };
        let problem = problem_in_blocks(seed, kind);
        let objective = if of_phases { Objective::PhasePeak } else { Objective::NeutralPeak };
        let settings = Settings { objective, search_work: 100_000, ..Settings::default() };
        let model = Model::new(&problem, &settings);
        let best = search(&model, &settings).best;
        for step in 1..3 {
            let turns: Vec<usize> = best.turns.iter().map(|turn| (turn + step) % 3).collect();
            let relabelled = Incumbent::new(&model, turns);
            prop_assert!(!relabelled.beats(&best, model.scale), "{:?} beats {:?}", relabelled, best);
        }
    }
}

proptest! {
    #![proptest_config(config(200))]

    /// By enumeration, by search, and by branch and bound from a poor start.
    #[test]
    fn the_least_peak_is_found_and_proven(
        seed: u64, units in 1..7_usize, limits: bool, plain: bool, of_phases: bool,
        budget in proptest::option::of(0..5_usize),
    ) {
        let kind = Kind { units, intervals: 12, plain, limits };
        let problem = problem_in_blocks(seed, kind);
        let (objective, conductors) = if of_phases {
            (Objective::PhasePeak, Conductors::Phases)
        } else {
            (Objective::NeutralPeak, Conductors::Neutral)
        };
        let settings = Settings { objective, max_moves: budget, ..Settings::default() };
        let keeps = |turns: &Vec<usize>| {
            budget.is_none_or(|most| problem.moves(turns) <= most)
                && problem.evaluate(turns).excess.is_none()
        };
        let least = all_turns(&problem)
            .filter(keeps)
            .map(|turns| peak_of(&problem, conductors, &turns))
            .reduce(f64::min);
        let solution = solve(&problem, &settings);
        prop_assert_eq!(solution.feasible, least.is_some());
        let Some(least) = least else { return Ok(()) };
        let near = |a: f64| (a - least).abs() <= 1e-8 * least.max(1e-3);
        prop_assert!(near(solution.mean_square), "{} is not {least}", solution.mean_square);
        prop_assert!(near(peak_of(&problem, conductors, &solution.choices)));
        prop_assert_eq!(solution.proof, Proof::Optimal);

        let mut model = Model::new(&problem, &settings);
        model.look_near(&solution.choices);
        let poor = Incumbent::new(&model, model.start());
        if poor.is_feasible() {
            let shown = prove(&model, &poor, &settings);
            prop_assert!(shown.is_complete && near(shown.best.evaluation.mean_square), "{shown:?} {least}");
        }
        let found = search(&model, &Settings { search_work: 200_000, ..settings }).best;
        let is_less = found.evaluation.mean_square < least && !near(found.evaluation.mean_square);
        prop_assert!(!is_less || !found.is_feasible(), "{found:?} {least}");
    }

    /// However little work there is for it, no allocation has a lower peak than the bound.
    #[test]
    fn no_peak_is_below_the_bound(seed: u64, units in 3..8_usize, plain: bool, of_phases: bool) {
        let kind = Kind { units, intervals: 12, plain, limits: false };
        let problem = problem_in_blocks(seed, kind);
        let objective = if of_phases { Objective::PhasePeak } else { Objective::NeutralPeak };
        let settings = Settings { objective, proof_work: 0, ..Settings::default() };
        let mut model = Model::new(&problem, &settings);
        let best = solve(&problem, &Settings { objective, ..Settings::default() });
        model.look_near(&best.choices);
        let shown = prove(&model, &Incumbent::new(&model, best.choices.clone()), &settings);
        prop_assert!(shown.bound <= best.mean_square * (1.0 + 1e-9), "{} {}", shown.bound, best.mean_square);
    }
}

/// Three loads of 10 A that run one after the other, then all at once: on one phase they make 30 A in
/// the last block, spread over the phases 10 A. The mean over a block is that of squares: √((30² + 0)/2) = 21.2 A.
#[test]
fn a_block_is_told_by_its_root_mean_square() {
    let amps = |values: [f64; 4]| values.map(|amps| Complex64::new(amps, 0.0)).to_vec();
    let unit = |name: &str, values| Unit {
        name: name.to_owned(),
        currents: Currents::to_neutral(amps(values)),
        choices: vec![0, 1, 2],
        current: Some(0),
        moves: 1,
    };
    let units = vec![
        unit("a", [10.0, 0.0, 10.0, 0.0]),
        unit("b", [0.0, 10.0, 10.0, 0.0]),
        unit("c", [0.0, 0.0, 10.0, 0.0]),
    ];
    let problem = Problem::new(
        4,
        units,
        crate::ProblemNode::default(),
        Vec::new(),
        Vec::new(),
    )
    .and_then(|problem| problem.with_blocks(vec![0..2, 2..4]))
    .expect("a sound problem");
    let peak = Peak::of_all(&problem, Conductors::Phases);
    let all_on_one = peak.largest(&[0, 0, 0]);
    assert!((all_on_one.square - 450.0).abs() < 1e-9);
    assert_eq!(peak.number(all_on_one.place), 1);
    let solution = solve(
        &problem,
        &Settings {
            objective: Objective::PhasePeak,
            ..Settings::default()
        },
    );
    assert!((solution.mean_square - 50.0).abs() < 1e-9);
    assert_eq!((solution.moves, solution.proof), (2, Proof::Optimal));
}
