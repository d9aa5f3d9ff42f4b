//! The second step of a plan, once what is held back is repaired.

use super::amounts::rms;
use super::enough::{enough, least_overload};
use super::moves::connections;
use super::nodes::series;
use super::plan::{Plan, Recommended};
use crate::answer::result::{AfterRepair, LaterMove};
use crate::pose::from_site::Posed;
use crate::problem::problem::Problem;
use crate::problem::settings::Settings;
use crate::problem::solution::Solution;
use crate::solve::solve;
use site::Site;

/// What is moved after the first step, with every turn free again. The machines that the user keeps stay kept.
pub(super) fn after_repair(
    site: &Site,
    posed: &Posed,
    free: Problem,
    first: &Solution,
    settings: &Settings,
) -> AfterRepair {
    let mut problem = free.done(&first.choices);
    problem.watch(posed.kept_circuits());
    let settings = Settings {
        trial_board: false,
        ..settings.clone()
    };
    let second = solve(&problem, &settings);
    let choices = if second.feasible {
        let whole = |choices: &Vec<usize>, mean_square| Plan {
            moves: problem.moves(choices),
            mean_square,
            recommended: Recommended {
                choices: choices.clone(),
                helps: Vec::new(),
            },
        };
        let fewer = second.with_fewer_moves.iter();
        let fewer = fewer.map(|plan| whole(&plan.choices, plan.mean_square));
        let best = whole(&second.choices, second.mean_square);
        enough(
            fewer.chain([best]).collect(),
            second.mean_square_now,
            &settings,
        )
        .map_or_else(|| second.choices.clone(), |plan| plan.recommended.choices)
    } else {
        least_overload(site, (&problem, &posed.grid), &settings, &second)
    };
    let moves = site
        .machines
        .iter()
        .zip(connections(site, posed, &first.choices))
        .zip(connections(site, posed, &choices))
        .filter(|((_, (_, from)), (_, to))| from != to)
        .map(|((machine, (_, from)), (_, to))| LaterMove {
            machine: machine.name.clone(),
            from,
            to,
        });
    let supply = problem.supply();
    AfterRepair {
        moves: moves.collect(),
        after: series(posed, supply, &choices).figures(supply.phase_limit_a),
        best_neutral_rms_a: rms(problem.evaluate(&second.choices).mean_square),
        within_limits: second.feasible,
        proof: second.proof,
    }
}
