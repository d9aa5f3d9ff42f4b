//! The machines that move, and the neutral current with fewer moves.

use super::amounts::{gap_of, kwh_per_year, rms};
use super::peaks::peak_conductors;
use crate::answer::result::{Move, MovesPoint};
use crate::pose::connections::{connection_at, connection_now, moves_with_circuit};
use crate::pose::from_site::Posed;
use crate::problem::objective::Objective;
use crate::problem::problem::Problem;
use crate::problem::solution::CurvePoint;
use crate::work::effect::{Effects, PlannedChange};
use crate::work::work_order::{WorkOrder, WorkStep};
use site::{Connection, Site};

/// Each machine's connection before and after.
pub(super) fn connections(
    site: &Site,
    posed: &Posed,
    turns: &[usize],
) -> Vec<(Connection, Connection)> {
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

/// Machines that move, with the effect of each and its step.
pub(super) fn moves(
    site: &Site,
    posed: &Posed,
    connections: &[(Connection, Connection)],
    changes: &[PlannedChange],
    effects: &Effects,
    order: &WorkOrder,
    helps: &[Option<f64>],
) -> Vec<Move> {
    let connected = posed.problem.current().is_some();
    let step_of = |name: &String| {
        let here = |step: &&WorkStep| step.moves.iter().any(|work| work.machines.contains(name));
        order.steps.iter().find(here).map(|step| step.number)
    };
    site.machines
        .iter()
        .enumerate()
        .zip(connections)
        .filter(|(_, (from, to))| from != to)
        .map(|((index, machine), &(from, to))| {
            let change = changes
                .iter()
                .position(|change| posed.members[change.unit].contains(&index));
            let with_phase = change.filter(|&change| changes[change].from.is_some());
            Move {
                machine: machine.name.clone(),
                from,
                to,
                helps_pct: change
                    .and_then(|change| helps.get(changes[change].unit).copied().flatten())
                    .map(|share| 100.0 * share),
                with_circuit: moves_with_circuit(site, index)
                    .map(|circuit| site.circuits[circuit].id.clone()),
                step: step_of(&machine.name),
                gain_alone_a: change
                    .filter(|_| connected)
                    .map(|change| effects.gain_alone(change)),
                loss_without_a: with_phase.map(|change| effects.loss_without(change)),
            }
        })
        .collect()
}

/// The neutral current with few moves.
pub(super) fn moves_point(
    problem: &Problem,
    objective: Objective,
    point: &CurvePoint,
) -> MovesPoint {
    let bound = point.lower_bound_mean_square.filter(|_| point.feasible);
    let square = match objective {
        Objective::NeutralRms => point.mean_square,
        _ => problem.evaluate(&point.choices).mean_square,
    };
    let loss = (objective == Objective::NeutralLoss).then(|| kwh_per_year(point.mean_square));
    let peak = peak_conductors(objective).map(|_| rms(point.mean_square));
    MovesPoint {
        within_limits: point.feasible,
        moves: point.moves,
        neutral_rms_a: rms(square),
        loss_kwh_per_year: loss,
        peak_a: peak,
        proof: point.proof,
        lower_bound_neutral_rms_a: bound
            .filter(|_| objective == Objective::NeutralRms)
            .map(rms),
        gap_pct: bound.map(|bound| gap_of(objective, point.mean_square, bound, point.proof)),
    }
}
