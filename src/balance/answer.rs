//! The whole answer: poses the site's problem, solves it, tells it in the site's words.

use num_complex::Complex64;

use super::figures::{NodeSeries, phasor_sum};
use super::from_site::{Posed, connection_at, connection_now, moves_with_circuit, pose};
use super::grid::at;
use super::problem::{Node, ProblemError};
use super::result::{
    BalanceResult, BalanceTrace, MachineShare, Move, MovesPoint, NodeResult, Objective,
    PhasorMoment, Proof,
};
use super::settings::Settings;
use super::solution::Solution;
use super::solve::solve;
use crate::metering::Logs;
use crate::site::{Connection, Site};

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BalanceError {
    /// The site lists no machine and no log tells the phases apart.
    #[error(
        "there is nothing to balance: the machine list is empty and no log tells the phases apart"
    )]
    NothingToBalance,
    /// The parts of the problem do not fit together.
    #[error("the installation cannot be analysed: {0}")]
    Problem(#[from] ProblemError),
}

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
    let posed = pose(site, logs)?;
    if site.machines.is_empty() && posed.grid.main.is_none() {
        return Err(BalanceError::NothingToBalance);
    }
    let solution = solve(&posed.problem, settings);
    Ok(tell(site, posed, &solution))
}

fn tell(site: &Site, posed: Posed, solution: &Solution) -> BalanceResult {
    let now = posed.problem.current();
    let connections: Vec<(Connection, Connection)> = connections(site, &posed, &solution.choices);
    let nodes = nodes(site, &posed, now.as_deref(), &solution.choices);
    let supply = &nodes[0];
    let trace = trace(&posed, now.as_deref(), &solution.choices);
    let moves = moves(site, &connections);
    let machines = shares(site, &posed, &connections);
    let mut notes = posed.notes;
    if !solution.feasible {
        notes.push(
            "no assignment keeps every limit in every interval: this one passes them least"
                .to_owned(),
        );
    }
    let bound = solution
        .lower_bound_mean_square
        .map(|square| square.max(0.0).sqrt());
    BalanceResult {
        objective: Objective::NeutralRms,
        intervals: posed.grid.starts.len(),
        interval_s: posed.grid.interval_s as u32,
        from: posed.grid.from(),
        to: posed.grid.to(),
        before: supply.before.clone(),
        after: supply.after.clone(),
        lower_bound_neutral_rms_a: bound,
        gap_pct: bound.map(|bound| gap_pct(supply.after.neutral_rms_a, bound, solution.proof)),
        proof: solution.proof,
        assignment: site
            .machines
            .iter()
            .zip(&connections)
            .map(|(machine, (_, to))| (machine.name.clone(), *to))
            .collect(),
        moves,
        moves_curve: solution
            .moves_curve
            .iter()
            .map(|point| MovesPoint {
                moves: point.moves,
                neutral_rms_a: point.mean_square.max(0.0).sqrt(),
                proof: point.proof,
            })
            .collect(),
        nodes,
        machines,
        notes,
        trace,
    }
}

/// 100·(after − bound)/after; 0 when after is 0 or nothing is better.
fn gap_pct(after: f64, bound: f64, proof: Proof) -> f64 {
    if proof == Proof::Optimal || after <= 0.0 {
        0.0
    } else {
        (100.0 * (after - bound) / after).max(0.0)
    }
}

/// Each machine's connection before and after.
fn connections(site: &Site, posed: &Posed, turns: &[usize]) -> Vec<(Connection, Connection)> {
    let mut all: Vec<(Connection, Connection)> = (0..site.machines.len())
        .map(|machine| {
            let now = connection_now(site, machine);
            (site.machines[machine].connection, now)
        })
        .collect();
    for (list, &turn) in posed.members.iter().zip(turns) {
        for &machine in list {
            let (from, kind) = all[machine];
            all[machine] = (from, connection_at(kind, turn));
        }
    }
    all
}

fn moves(site: &Site, connections: &[(Connection, Connection)]) -> Vec<Move> {
    site.machines
        .iter()
        .enumerate()
        .zip(connections)
        .filter(|(_, (from, to))| from != to)
        .map(|((index, machine), &(from, to))| Move {
            machine: machine.name.clone(),
            from,
            to,
            with_circuit: moves_with_circuit(site, index)
                .map(|circuit| site.circuits[circuit].id.clone()),
        })
        .collect()
}

fn nodes(site: &Site, posed: &Posed, now: Option<&[usize]>, turns: &[usize]) -> Vec<NodeResult> {
    posed
        .problem
        .nodes()
        .iter()
        .zip(&posed.places)
        .map(|(node, &place)| {
            let limit = site.phase_limit_a(place);
            let figures = |turns: &[usize]| series(posed, node, turns).figures(limit);
            NodeResult {
                id: site.node_name(place).to_owned(),
                before: now.map(figures),
                after: figures(turns),
            }
        })
        .collect()
}

fn series(posed: &Posed, node: &Node, turns: &[usize]) -> NodeSeries {
    NodeSeries::new(&posed.problem.phase_currents(node, turns), &node.beyond)
}

fn trace(posed: &Posed, now: Option<&[usize]>, turns: &[usize]) -> BalanceTrace {
    let supply = posed.problem.supply();
    let before = now.map(|now| series(posed, supply, now));
    let after = series(posed, supply, turns);
    let worst = before.as_ref().unwrap_or(&after).worst();
    BalanceTrace {
        start_s: posed.grid.starts.clone(),
        interval_s: posed.grid.interval_s as u32,
        worst_before: now.map(|now| moment(posed, now, worst)),
        worst_after: moment(posed, turns, worst),
        phase_before_a: before.as_ref().map(|series| series.phases_a.clone()),
        neutral_before_a: before.map(|series| series.neutral_a),
        phase_after_a: after.phases_a,
        neutral_after_a: after.neutral_a,
    }
}

fn moment(posed: &Posed, turns: &[usize], interval: usize) -> PhasorMoment {
    let supply = posed.problem.supply();
    let phases = posed.problem.phase_currents(supply, turns);
    let common = crate::electrical::Phase::ALL
        .map(|phase| phase.direction() * phases[phase.index()][interval]);
    let neutral: Complex64 = phasor_sum(&phases, interval);
    PhasorMoment {
        at: at(posed.grid.starts[interval]),
        phases: common,
        neutral,
        neutral_beyond_phasors_a: supply.beyond.get(interval).copied().unwrap_or(0.0),
    }
}

fn shares(
    site: &Site,
    posed: &Posed,
    connections: &[(Connection, Connection)],
) -> Vec<MachineShare> {
    let hours = posed.grid.interval_s as f64 / 3600.0;
    site.machines
        .iter()
        .enumerate()
        .map(|(index, machine)| {
            let profile = &posed.profiles[index];
            let magnitudes: Vec<f64> = (0..posed.grid.starts.len())
                .map(|interval| {
                    (0..3)
                        .map(|position| profile.currents.at(position, interval).norm())
                        .fold(0.0, f64::max)
                        * (1.0 + machine.third_harmonic.powi(2)).sqrt()
                })
                .collect();
            let squares: f64 = magnitudes.iter().map(|amps| amps * amps).sum();
            let (from, to) = connections[index];
            MachineShare {
                machine: machine.name.clone(),
                from,
                to,
                movable: posed.members.iter().any(|list| list.contains(&index)),
                basis: profile.basis,
                energy_kwh: profile.power_kw.iter().sum::<f64>() * hours,
                current_rms_a: (squares / magnitudes.len().max(1) as f64).sqrt(),
                current_max_a: magnitudes.iter().copied().fold(0.0, f64::max),
            }
        })
        .collect()
}
