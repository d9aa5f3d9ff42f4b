//! The second step of a plan, once what is held back is repaired.

use super::moves::connections;
use super::nodes::series;
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
        curve_moves: 0,
        trial_board: false,
        ..settings.clone()
    };
    let second = solve(&problem, &settings);
    let moves = site
        .machines
        .iter()
        .zip(connections(site, posed, &first.choices))
        .zip(connections(site, posed, &second.choices))
        .filter(|((_, (_, from)), (_, to))| from != to)
        .map(|((machine, (_, from)), (_, to))| LaterMove {
            machine: machine.name.clone(),
            from,
            to,
        });
    let supply = problem.supply();
    AfterRepair {
        moves: moves.collect(),
        after: series(posed, supply, &second.choices).figures(supply.phase_limit_a),
        within_limits: second.feasible,
        proof: second.proof,
    }
}
