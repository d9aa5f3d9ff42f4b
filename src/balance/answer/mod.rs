//! The whole result: sets up the site's problem, solves it, and reports it by the site's names.
//!
//! In: the site, its logs, the settings, and the machines to keep. Out: a [`BalanceResult`], a file for each part of it.

mod after_repair;
mod amounts;
pub(crate) mod certificate;
mod enough;
mod feeder_loss;
pub(crate) mod few_moves;
pub(crate) mod figures;
pub(crate) mod infeasible;
mod moves;
mod nodes;
mod peaks;
pub(crate) mod phase_doubt;
mod plan;
mod recommended;
pub(crate) mod result;
mod shares;
mod trace;
pub(crate) mod what_if;

use self::after_repair::after_repair;
use self::amounts::{gap_of, rms};
use self::enough::{least_overload, optional_moves, small_gain_a};
use self::feeder_loss::feeder_loss;
use self::moves::{connections, moves, moves_point};
use self::nodes::{nodes, overloaded_circuits};
use self::peaks::peaks;
use self::recommended::{Recommendation, recommended};
use self::shares::shares;
use self::trace::trace;
use super::solve::solve;
use crate::answer::infeasible::{Infeasible, infeasible};
use crate::answer::result::{BalanceResult, MovesPoint, NodeResult};
use crate::answer::what_if::trial_board;
use crate::expected::{ConnectedLoad, RoundFigures, place_of, rounds};
use crate::pose::fix::{Fix, Held, hold};
use crate::pose::from_site::{Posed, pose};
use crate::pose::hold_back::hold_back;
use crate::problem::error::BalanceError;
use crate::problem::objective::Objective;
use crate::problem::settings::Settings;
use crate::problem::solution::Solution;
use crate::work::effect::{Effects, changes};
use crate::work::work_order::work_order;
use metering::Logs;
use site::{Connection, Site};

/// Which phase each movable load of the site should be on.
///
/// # Errors
///
/// [`BalanceError`] where there is nothing to decide on.
pub fn balance(
    site: &Site,
    logs: &Logs,
    settings: &Settings,
) -> Result<BalanceResult, BalanceError> {
    balance_with(site, logs, settings, &[])
}

/// As [`balance`], with some machines kept on a connection.
///
/// # Errors
///
/// [`BalanceError`] where there is nothing to decide on, or the fixes cannot be kept.
pub fn balance_with(
    site: &Site,
    logs: &Logs,
    settings: &Settings,
    fixes: &[Fix],
) -> Result<BalanceResult, BalanceError> {
    let mut posed = pose(site, logs)?;
    if site.machines.is_empty() && posed.grid.main.is_none() {
        return Err(BalanceError::NothingToBalance);
    }
    let free = (!settings.held_back.is_empty()).then(|| posed.problem.clone());
    hold_back(site, &mut posed, &settings.held_back);
    let Held {
        units,
        words,
        notes,
    } = hold(site, &posed, fixes).map_err(BalanceError::Fix)?;
    posed.notes.extend(notes);
    let mut settings = settings.clone();
    settings.fixed.extend(units);
    if settings.objective == Objective::NeutralLoss && !posed.has_feeders() {
        return Err(BalanceError::NoFeeder);
    }
    let nodes = posed.watch_circuits();
    let solution = solve(&posed.problem, &settings);
    let overloaded = (!solution.feasible)
        .then(|| least_overload(site, (&posed.problem, &posed.grid), &settings, &solution));
    let failed_checks = overloaded
        .as_ref()
        .map(|shown| infeasible(site, &posed, &settings, &solution, shown, &words));
    posed.problem.keep_nodes(nodes);
    // Where no allocation keeps the limits, the lowest neutral is not what is looked for.
    let best = overloaded.as_ref().unwrap_or(&solution.choices);
    let best = rms(posed.problem.evaluate(best).mean_square);
    let fixed: Vec<usize> = settings.fixed.iter().map(|&(unit, _)| unit).collect();
    let recommendation = recommended(&posed, &settings, &solution, overloaded, &fixed);
    let Recommendation { plan, all_moves } = recommendation;
    let optional_moves = optional_moves(site, &posed, &plan.choices, &all_moves);
    let helps = plan.helps;
    let solution = Solution {
        choices: plan.choices,
        ..solution
    };
    let after_repair = free
        .filter(|_| settings.after_repair)
        .map(|free| after_repair(site, &posed, free, &solution, &settings));
    let trial = settings.trial_board.then(|| {
        let nodes = posed.watch_circuits();
        let board = trial_board(site, &posed, &solution);
        posed.problem.keep_nodes(nodes);
        board
    });
    let mut result = tell(
        site,
        logs,
        posed,
        settings.objective,
        &solution,
        (best, &helps),
        failed_checks,
    );
    result.trial = trial;
    result.optional_moves = optional_moves;
    result.held_back.clone_from(&settings.held_back);
    result.after_repair = after_repair;
    Ok(result)
}

fn tell(
    site: &Site,
    logs: &Logs,
    posed: Posed,
    objective: Objective,
    solution: &Solution,
    (best_neutral_rms_a, helps): (f64, &[Option<f64>]),
    infeasible: Option<Infeasible>,
) -> BalanceResult {
    let now = posed.problem.current();
    let connections: Vec<(Connection, Connection)> = connections(site, &posed, &solution.choices);
    let nodes = nodes(site, &posed, now.as_deref(), &solution.choices);
    let supply = &nodes[0];
    let trace = trace(&posed, now.as_deref(), &solution.choices);
    let changes = changes(&posed.problem, &solution.choices);
    let effects = Effects::new(&posed.problem, &changes);
    let work_order = work_order(site, &posed, &changes, &effects);
    let moves = moves(
        site,
        &posed,
        &connections,
        &changes,
        &effects,
        &work_order,
        helps,
    );
    let (rounds, connected_load) = open_figures(site, logs, &posed, &nodes, &solution.choices);
    let machines = shares(site, &posed, &connections);
    let feeder_loss = feeder_loss(
        site,
        &posed,
        now.as_deref(),
        solution,
        solution
            .lower_bound_mean_square
            .filter(|_| objective == Objective::NeutralLoss),
    );
    let peaks = peaks(&posed, objective, now.as_deref(), solution);
    let recommended_moves = posed.problem.moves(&solution.choices);
    let mut notes = posed.notes;
    notes.extend(overloaded_circuits(site, &nodes));
    let moves_curve: Vec<MovesPoint> = solution
        .moves_curve
        .iter()
        .map(|point| moves_point(&posed.problem, objective, point))
        .collect();
    let of_neutral = objective == Objective::NeutralRms;
    let least = solution.lower_bound_mean_square;
    let bound = least.filter(|_| of_neutral).map(rms);
    BalanceResult {
        objective,
        feeder_loss,
        peaks,
        based_on: posed.grid.based_on(),
        intervals: if rounds.is_empty() {
            posed.grid.starts.len()
        } else {
            rounds.len()
        },
        interval_s: posed.grid.interval_s as u32,
        from: rounds.first().map_or(posed.grid.from(), |round| round.at),
        to: rounds.last().map_or(posed.grid.to(), |round| round.at),
        best_neutral_rms_a,
        rounds,
        connected_load,
        before: supply.before.clone(),
        after: supply.after.clone(),
        lower_bound_neutral_rms_a: bound,
        gap_pct: least.map(|least| gap_of(objective, solution.mean_square, least, solution.proof)),
        proof: solution.proof,
        held_back: Vec::new(),
        after_repair: None,
        allocation: site
            .machines
            .iter()
            .zip(&connections)
            .map(|(machine, (_, to))| (machine.name.clone(), *to))
            .collect(),
        recommended_moves,
        gain_is_small: objective == Objective::NeutralRms
            && supply.before.as_ref().is_some_and(|now| {
                now.neutral_rms_a - best_neutral_rms_a < small_gain_a(now.neutral_rms_a)
            }),
        moves,
        optional_moves: Vec::new(),
        work_order,
        infeasible,
        moves_curve,
        nodes,
        machines,
        phase_doubt: None,
        notes,
        trial: None,
        trace,
    }
}

/// The rounds of readings and the connected load, where there is no log.
fn open_figures(
    site: &Site,
    logs: &Logs,
    posed: &Posed,
    nodes: &[NodeResult],
    choices: &[usize],
) -> (Vec<RoundFigures>, Vec<ConnectedLoad>) {
    let Some(expected) = &posed.expected else {
        return (Vec::new(), Vec::new());
    };
    let units = posed.problem.units().iter().map(|unit| unit.current);
    let current: Vec<Option<usize>> = units.collect();
    let of_rounds = if expected.is_read() {
        rounds(logs, expected, &expected.turns(&current, choices))
    } else {
        Vec::new()
    };
    let connected = nodes
        .iter()
        .zip(&posed.places)
        .filter_map(|(node, &place)| {
            Some(ConnectedLoad {
                id: node.id.clone(),
                all_on_a: expected.all_on(place_of(site, place)),
                expected_max_a: node.before.as_ref()?.phase_max_a,
                expected_max_after_a: node.after.phase_max_a,
                phase_limit_a: node.phase_limit_a,
            })
        })
        .collect();
    (of_rounds, connected)
}
