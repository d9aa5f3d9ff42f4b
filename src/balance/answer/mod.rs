//! The whole answer: poses the site's problem, solves it, tells it in the site's words.

use num_complex::Complex64;

use super::connections::{connection_at, connection_now, moves_with_circuit};
use super::effect::{Change, Effects, changes};
use super::figures::{NodeSeries, phasor_sum};
use super::fix::{Fix, Held, hold};
use super::from_site::{Posed, pose};
use super::grid::at;
use super::infeasible::{Infeasible, infeasible};
use super::loss::{heat_over_time, loss_form};
use super::peak::{Conductors, Peak};
use super::problem::{Node, Problem, ProblemError};
use super::result::{
    BalanceResult, BalanceTrace, BasedOn, Basis, FeederLoss, MachineShare, Move, MovesPoint,
    NodeResult, Objective, PeakBlock, Peaks, PhasorMoment, Proof,
};
use super::settings::Settings;
use super::solution::{CurvePoint, Solution};
use super::solve::solve;
use super::trial::trial_board;
use super::work_order::{WorkOrder, WorkStep, work_order};
use crate::electrical::is_above_limit;
use crate::metering::Logs;
use crate::site::{Connection, Site};
use crate::tariff::energy_price_at;
use crate::units::HOURS_OF_A_YEAR;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BalanceError {
    /// The site lists no machine and no log tells the phases apart.
    #[error(
        "there is nothing to balance: the machine list is empty and no log tells the phases apart"
    )]
    NothingToBalance,
    /// The heat in feeders is asked for where none is declared.
    #[error(
        "no board has a `feeder` with its length and cross-sections: the heat in feeders cannot be told"
    )]
    NoFeeder,
    /// Machines cannot be held where the user wants them.
    #[error("{0}")]
    Fix(String),
    /// The proof cannot be written out.
    #[error("no certificate can be written: {0}")]
    NoCertificate(String),
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
    balance_with(site, logs, settings, &[])
}

/// As [`balance`], with some machines held at a connection.
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
    let stands_in_the_way =
        (!solution.feasible).then(|| infeasible(site, &posed, &settings, &solution, &words));
    posed.problem.keep_nodes(nodes);
    let trial = settings
        .trial_board
        .then(|| trial_board(site, &posed, &solution));
    let mut result = tell(
        site,
        posed,
        settings.objective,
        &solution,
        stands_in_the_way,
    );
    result.trial = trial;
    Ok(result)
}

fn tell(
    site: &Site,
    posed: Posed,
    objective: Objective,
    solution: &Solution,
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
    let moves = moves(site, &posed, &connections, &changes, &effects, &work_order);
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
        based_on: match (posed.grid.typical, posed.grid.by_hand) {
            (true, _) => BasedOn::TypicalWeek,
            (_, true) => BasedOn::Readings,
            _ => BasedOn::Logs,
        },
        intervals: posed.grid.starts.len(),
        interval_s: posed.grid.interval_s as u32,
        from: posed.grid.from(),
        to: posed.grid.to(),
        before: supply.before.clone(),
        after: supply.after.clone(),
        lower_bound_neutral_rms_a: bound,
        gap_pct: least.map(|least| gap_of(objective, solution.mean_square, least, solution.proof)),
        proof: solution.proof,
        assignment: site
            .machines
            .iter()
            .zip(&connections)
            .map(|(machine, (_, to))| (machine.name.clone(), *to))
            .collect(),
        moves,
        work_order,
        infeasible,
        knee_moves: MovesPoint::knee(&moves_curve).filter(|_| of_neutral),
        moves_curve,
        nodes,
        machines,
        notes,
        trial: None,
        trace,
    }
}

fn rms(square: f64) -> f64 {
    square.max(0.0).sqrt()
}

/// Mean watts over a year. (kWh)
fn kwh_per_year(watts: f64) -> f64 {
    watts * HOURS_OF_A_YEAR / 1000.0
}

fn moves_point(problem: &Problem, objective: Objective, point: &CurvePoint) -> MovesPoint {
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

/// Heat in the feeders before and after; `None` where no feeder is declared.
fn feeder_loss(
    site: &Site,
    posed: &Posed,
    now: Option<&[usize]>,
    solution: &Solution,
    least: Option<f64>,
) -> Option<FeederLoss> {
    let form = loss_form(&posed.problem)?;
    let prices = prices(site, posed);
    let cost = |turns: &[usize]| {
        let heat = heat_over_time(&posed.problem, turns);
        let sum: f64 = heat
            .iter()
            .zip(prices.as_ref()?)
            .map(|(watts, price)| watts * price)
            .sum();
        Some(kwh_per_year(sum / heat.len() as f64))
    };
    Some(FeederLoss {
        before_kwh_per_year: now.map(|now| kwh_per_year(form.value(now))),
        after_kwh_per_year: kwh_per_year(form.value(&solution.choices)),
        before_cost_per_year: now.and_then(cost),
        after_cost_per_year: cost(&solution.choices),
        lower_bound_kwh_per_year: least.map(kwh_per_year),
    })
}

/// The price of energy in every interval; `None` where one has none.
fn prices(site: &Site, posed: &Posed) -> Option<Vec<f64>> {
    let terms = site.terms();
    if terms.tariffs.is_empty() || posed.grid.by_hand {
        return None;
    }
    let starts = posed.grid.starts.iter();
    starts
        .map(|&start| energy_price_at(&terms, start))
        .collect()
}

fn peak_conductors(objective: Objective) -> Option<Conductors> {
    match objective {
        Objective::NeutralRms | Objective::NeutralLoss => None,
        Objective::NeutralPeak => Some(Conductors::Neutral),
        Objective::PhasePeak => Some(Conductors::Phases),
    }
}

/// The largest block before and after, where a peak was made small.
fn peaks(
    posed: &Posed,
    objective: Objective,
    now: Option<&[usize]>,
    solution: &Solution,
) -> Option<Peaks> {
    let conductors = peak_conductors(objective)?;
    let problem = &posed.problem;
    let peak = Peak::of_all(problem, conductors);
    let block = |turns: &[usize]| {
        let largest = peak.largest(turns);
        let intervals = &problem.blocks()[peak.number(largest.place)];
        PeakBlock {
            current_a: rms(largest.square),
            conductor: match conductors {
                Conductors::Neutral => "N",
                Conductors::Phases => ["L1", "L2", "L3"][largest.conductor],
            },
            at: at(posed.grid.starts[intervals.start]),
        }
    };
    let intervals = problem.blocks().first().map_or(1, std::ops::Range::len);
    Some(Peaks {
        block_s: (intervals as i64 * posed.grid.interval_s) as u32,
        before: now.map(block),
        after: block(&solution.choices),
        lower_bound_a: solution.lower_bound_mean_square.map(rms),
    })
}

/// The gap in what the objective is told in: the neutral's root mean square, or watts.
fn gap_of(objective: Objective, value: f64, bound: f64, proof: Proof) -> f64 {
    match objective {
        Objective::NeutralRms | Objective::NeutralPeak | Objective::PhasePeak => {
            gap_pct(rms(value), rms(bound), proof)
        }
        Objective::NeutralLoss => gap_pct(value, bound.max(0.0), proof),
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

/// Machines that change, with what each does and the step it belongs to.
fn moves(
    site: &Site,
    posed: &Posed,
    connections: &[(Connection, Connection)],
    changes: &[Change],
    effects: &Effects,
    order: &WorkOrder,
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

/// Supply, boards and circuits.
fn nodes(site: &Site, posed: &Posed, now: Option<&[usize]>, turns: &[usize]) -> Vec<NodeResult> {
    posed
        .problem
        .nodes()
        .iter()
        .chain(&posed.circuits)
        .zip(posed.places.iter().zip(&posed.measured))
        .map(|(node, (&place, &measured))| {
            let limit = node.phase_limit_a;
            let figures = |turns: &[usize]| series(posed, node, turns).figures(limit);
            NodeResult {
                id: site.node_name(place).to_owned(),
                basis: if measured {
                    Basis::Measured
                } else {
                    Basis::Estimated
                },
                phase_limit_a: limit,
                neutral_limit_a: node.neutral_limit_a,
                before: now.map(figures),
                after: figures(turns),
            }
        })
        .collect()
}

/// Circuits whose device the plan overloads further: those whose limit no choice of phases keeps.
fn overloaded_circuits(site: &Site, nodes: &[NodeResult]) -> Vec<String> {
    let circuits = &nodes[1 + site.boards.len()..];
    circuits
        .iter()
        .filter_map(|node| {
            let limit = node.phase_limit_a?;
            let over = |amps: f64| is_above_limit(amps, limit);
            let most = |amps: [f64; 3]| amps.into_iter().fold(0.0, f64::max);
            let after = most(node.after.phase_max_a);
            let now = node.before.as_ref().map(|now| most(now.phase_max_a));
            let is_worse = now.is_none_or(|now| after > now * (1.0 + 1e-9));
            (over(after) && is_worse).then(|| {
                format!(
                    "after the moves circuit `{}` reaches {after:.1} A on a phase, above its device of {limit} A; one of \
                     its machines alone passes that, or no assignment keeps it: look at its device and list, or hold \
                     machines of this circuit where they are with `--fix`",
                    node.id
                )
            })
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
