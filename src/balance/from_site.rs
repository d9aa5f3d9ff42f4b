//! From the installation and its logs to what is to be decided.

use std::collections::BTreeMap;

use num_complex::Complex64;

use super::board_ways::ways_of;
use super::currents::Currents;
use super::figures::phasor_sum;
use super::grid::{Grid, Lookup};
use super::loss::FeederResistance;
use super::problem::{Node, Problem, ProblemError, Share, Unit, above};
use super::profile::{Profile, profile};
use super::result::Basis;
use super::rounds;
use crate::demand::complete_blocks;
use crate::electrical::{Material, Phase, PhasePair, service_resistivity};
use crate::metering::{AngleBasis, Logs, phase_phasors};
use crate::site::{Conductor, Connection, Node as Place, Quantity, Site};

/// Share of a phase's current by which slower meters of machines may pass the supply's meter before
/// the reader is told.
const LARGEST_CONTRADICTION: f64 = 0.02;

/// The problem together with what is needed to tell its answer in the site's words.
#[derive(Debug)]
pub(super) struct Posed {
    pub(super) problem: Problem,
    pub(super) grid: Grid,
    pub(super) profiles: Vec<Profile>,
    /// Machines of each unit.
    pub(super) members: Vec<Vec<usize>>,
    /// Circuits, in file order; the search does not see them.
    pub(super) circuits: Vec<Node>,
    /// Which place each node of the problem is, then the circuits.
    pub(super) places: Vec<Place>,
    /// Which of these places are measured.
    pub(super) measured: Vec<bool>,
    pub(super) notes: Vec<String>,
}

impl Posed {
    /// Lets the search keep the devices of circuits as well, where the choice of phases can keep them
    /// at all; returns how many nodes there were before.
    pub(super) fn watch_circuits(&mut self) -> usize {
        let before = self.problem.nodes().len();
        let kept: Vec<Node> = self
            .circuits
            .iter()
            .filter(|circuit| can_be_kept(&self.problem, circuit))
            .cloned()
            .collect();
        self.problem.watch(kept);
        before
    }

    /// Is the resistance of any feeder known?
    pub(super) fn has_feeders(&self) -> bool {
        self.problem
            .nodes()
            .iter()
            .any(|node| node.feeder.is_some())
    }
}

/// False where what stays, or a unit alone, passes the device's rating whatever the phases.
fn can_be_kept(problem: &Problem, circuit: &Node) -> bool {
    let (Some(limit), true) = (circuit.phase_limit_a, circuit.shares.len() > 1) else {
        return false;
    };
    let passes = |currents: &Currents| {
        (0..3)
            .filter_map(|position| currents.series(position))
            .flatten()
            .any(|current| above(current.norm(), Some(limit)) > 0.0)
    };
    !passes(&circuit.fixed)
        && circuit
            .shares
            .iter()
            .all(|share| !passes(problem.part(share)))
}

/// Turn of a connection: the phase, the pair or the cyclic shift.
pub(super) fn turn_of(connection: Connection) -> Option<usize> {
    match connection {
        Connection::ToNeutral(phase) => Some(phase.index()),
        Connection::Between(pair) => Some(pair.index()),
        Connection::ThreePhase { shift } => Some(usize::from(shift)),
        Connection::Any | Connection::AnyPair => None,
    }
}

/// The connection of a kind of load at a turn.
pub(super) fn connection_at(kind: Connection, turn: usize) -> Connection {
    match kind {
        Connection::ToNeutral(_) | Connection::Any => Connection::ToNeutral(Phase::ALL[turn]),
        Connection::Between(_) | Connection::AnyPair => Connection::Between(PhasePair::ALL[turn]),
        Connection::ThreePhase { .. } => Connection::ThreePhase { shift: turn as u8 },
    }
}

/// Where a machine is now: on a one- or two-phase circuit it has the circuit's phases.
pub(super) fn connection_now(site: &Site, machine: usize) -> Connection {
    let machine = &site.machines[machine];
    match machine.tapped_off {
        Place::Circuit(circuit) if machine.connection.is_open() => {
            match site.circuits[circuit].phases {
                Connection::ThreePhase { .. } => machine.connection,
                phases => phases,
            }
        }
        _ => machine.connection,
    }
}

/// Poses the problem of a site.
///
/// # Errors
///
/// [`ProblemError`] where the parts do not fit together.
pub(super) fn pose(site: &Site, logs: &Logs) -> Result<Posed, ProblemError> {
    let grid = Grid::choose(site, logs);
    let mut notes = Vec::new();
    if grid.typical {
        notes.push(
            "no log tells the phases apart: a typical week made of ratings, utilisation factors and schedules is analysed"
                .to_owned(),
        );
    }
    note_work(site, &grid, &mut notes);
    let mut profiles: Vec<Profile> = (0..site.machines.len())
        .map(|machine| {
            if grid.by_hand {
                rounds::profile(site, logs, &grid, machine, &mut notes)
            } else {
                profile(site, logs, &grid, machine, &mut notes)
            }
        })
        .collect();
    let main = if grid.by_hand {
        rounds::node(site, logs, Place::Supply, &profiles, &mut notes)
    } else {
        grid.main
            .and_then(|meter| main_currents(site, logs, &grid, meter, &mut notes))
    };
    rounds::notes(site, logs, &grid, main.is_some(), &mut notes);
    if let Some(main) = &main {
        cap_estimates(site, &mut profiles, &main.phases, &mut notes);
    }
    let (units, members) = units_of(site, &profiles);
    let places = site.nodes();
    let (mut nodes, measured): (Vec<Node>, Vec<bool>) = places
        .iter()
        .map(|&place| {
            node_at(
                site,
                logs,
                &grid,
                place,
                &profiles,
                &members,
                main.as_ref(),
                &mut notes,
            )
        })
        .unzip();
    let circuits = nodes.split_off(1 + site.boards.len());
    let supply = nodes.remove(0);
    let ways = ways_of(site, &members);
    let mut problem = Problem::new(grid.starts.len(), units, supply, nodes, ways)?;
    let blocks = complete_blocks(site, &grid.starts, grid.interval_s);
    if !blocks.is_empty() {
        problem = problem.with_blocks(blocks)?;
    }
    Ok(Posed {
        problem,
        grid,
        profiles,
        members,
        circuits,
        places,
        measured,
        notes,
    })
}

/// Before work the machines were elsewhere than the list has them.
fn note_work(site: &Site, grid: &Grid, notes: &mut Vec<String>) {
    let Some(work) = site.works.last() else {
        return;
    };
    let done = work.done.timestamp();
    let older = grid.starts.iter().filter(|&&start| start < done).count();
    if grid.typical || older == 0 || older == grid.starts.len() {
        return;
    }
    let date = work.done.with_timezone(&site.timezone).format("%Y-%m-%d");
    notes.push(format!(
        "{older} of {} intervals are from before the work of {date}, when machines were elsewhere than the list has them: \
         `--from {date}` leaves them out",
        grid.starts.len()
    ));
}

/// Currents of a meter on the grid, and the part of the neutral that their phasors cannot explain.
#[derive(Debug)]
pub(super) struct MeasuredNode {
    pub(super) phases: [Vec<Complex64>; 3],
    pub(super) beyond: Vec<f64>,
}

/// The supply's meter on the grid.
fn main_currents(
    site: &Site,
    logs: &Logs,
    grid: &Grid,
    meter: usize,
    notes: &mut Vec<String>,
) -> Option<MeasuredNode> {
    let log = logs.of(meter)?;
    let phasors = phase_phasors(&log.table, site.supply.phase_voltage_v())?;
    match phasors.angle {
        AngleBasis::Powers => {}
        AngleBasis::PowerFactor => notes.push(
            "the supply's angles come from its logged power factors, taken as lagging".to_owned(),
        ),
        AngleBasis::Unity => notes.push(
            "the supply's meter logs no reactive power: its currents are taken as in phase with their voltages"
                .to_owned(),
        ),
    }
    let node = on_grid(&log.table, &phasors.series, grid);
    if node.missing > 0 {
        notes.push(format!(
            "the supply's meter lacks a current in {} of {} intervals: nothing is taken to flow there",
            node.missing,
            grid.starts.len()
        ));
    }
    Some(node.measured)
}

struct OnGrid {
    measured: MeasuredNode,
    missing: usize,
}

fn on_grid(
    table: &crate::metering::IntervalTable,
    series: &[Vec<Option<Complex64>>; 3],
    grid: &Grid,
) -> OnGrid {
    let lookup = Lookup::new(table);
    let rows: Vec<Option<usize>> = grid.starts.iter().map(|&start| lookup.row(start)).collect();
    let mut missing = 0;
    let phases = [0, 1, 2].map(|k| {
        rows.iter()
            .map(|row| {
                row.and_then(|row| series[k][row]).unwrap_or_else(|| {
                    missing += 1;
                    Complex64::ZERO
                })
            })
            .collect::<Vec<Complex64>>()
    });
    let neutral = table.values(Quantity::NeutralCurrent);
    let beyond = neutral.map_or_else(Vec::new, |neutral| {
        rows.iter()
            .enumerate()
            .map(|(interval, row)| {
                let measured = row.and_then(|row| neutral[row]).unwrap_or(0.0);
                let explained = phasor_sum(&phases, interval).norm_sqr();
                (measured * measured - explained).max(0.0).sqrt()
            })
            .collect()
    });
    OnGrid {
        measured: MeasuredNode { phases, beyond },
        missing,
    }
}

/// Estimates may not draw more than the supply's meter has seen beyond the measured machines.
fn cap_estimates(
    site: &Site,
    profiles: &mut [Profile],
    main: &[Vec<Complex64>; 3],
    notes: &mut Vec<String>,
) {
    let intervals = main[0].len();
    let turns: Vec<Option<usize>> = (0..profiles.len())
        .map(|machine| turn_of(connection_now(site, machine)))
        .collect();
    let mut measured = [0, 1, 2].map(|_| vec![0.0; intervals]);
    let mut estimated = [0, 1, 2].map(|_| vec![0.0; intervals]);
    for (profile, turn) in profiles.iter().zip(&turns) {
        let Some(turn) = *turn else { continue };
        let sums = if profile.basis == Basis::Measured {
            &mut measured
        } else {
            &mut estimated
        };
        for position in 0..3 {
            if let Some(series) = profile.currents.series(position) {
                for (sum, current) in sums[(position + turn) % 3].iter_mut().zip(series) {
                    *sum += current.re;
                }
            }
        }
    }
    let factors: [Vec<f64>; 3] = [0, 1, 2].map(|k| {
        (0..intervals)
            .map(|interval| {
                let left = main[k][interval].re - measured[k][interval];
                let wanted = estimated[k][interval];
                if wanted > left {
                    (left.max(0.0) / wanted).min(1.0)
                } else {
                    1.0
                }
            })
            .collect()
    });
    for (profile, turn) in profiles.iter_mut().zip(&turns) {
        let (Some(turn), false) = (*turn, profile.basis == Basis::Measured) else {
            continue;
        };
        let on: Vec<usize> = (0..3)
            .filter(|&position| profile.currents.series(position).is_some())
            .map(|position| (position + turn) % 3)
            .collect();
        let scale: Vec<f64> = (0..intervals)
            .map(|interval| on.iter().map(|&k| factors[k][interval]).fold(1.0, f64::min))
            .collect();
        profile.currents = profile.currents.scaled(&scale);
        for (power, scale) in profile.power_kw.iter_mut().zip(&scale) {
            *power *= scale;
        }
    }
    for phase in Phase::ALL {
        let k = phase.index();
        let seen: f64 = main[k].iter().map(|current| current.re.max(0.0)).sum();
        let beyond: f64 = main[k]
            .iter()
            .zip(&measured[k])
            .map(|(current, measured)| (measured - current.re).max(0.0))
            .sum();
        if beyond > LARGEST_CONTRADICTION * seen {
            notes.push(format!(
                "on {phase} the machines' own meters show more than the supply's meter: {:.1} % of what flows there",
                100.0 * beyond / seen
            ));
        }
    }
}

/// What moves as one, and the machines of each unit.
fn units_of(site: &Site, profiles: &[Profile]) -> (Vec<Unit>, Vec<Vec<usize>>) {
    let mut groups: BTreeMap<(usize, String), Vec<usize>> = BTreeMap::new();
    for machine in 0..site.machines.len() {
        if let Some(key) = group_of(site, profiles, machine) {
            groups.entry(key).or_default().push(machine);
        }
    }
    let mut lists: Vec<Vec<usize>> = groups.into_values().collect();
    lists.sort_by_key(|list| list[0]);
    let units = lists
        .iter()
        .map(|list| {
            let mut currents = Currents::none();
            for &machine in list {
                currents.add(&profiles[machine].currents);
            }
            let on_circuit = moves_with_circuit(site, list[0]).is_some();
            Unit {
                name: site.machines[list[0]].name.clone(),
                currents,
                choices: vec![0, 1, 2],
                current: list
                    .iter()
                    .find_map(|&machine| turn_of(connection_now(site, machine))),
                moves: if on_circuit { 1 } else { list.len() },
            }
        })
        .collect();
    (units, lists)
}

/// The one- or two-phase circuit that a machine moves with.
pub(super) fn moves_with_circuit(site: &Site, machine: usize) -> Option<usize> {
    match site.machines[machine].tapped_off {
        Place::Circuit(circuit) => match site.circuits[circuit].phases {
            Connection::ThreePhase { .. } => None,
            _ => Some(circuit),
        },
        _ => None,
    }
}

/// Which unit a machine belongs to; `None` where it stays.
fn group_of(site: &Site, profiles: &[Profile], index: usize) -> Option<(usize, String)> {
    let machine = &site.machines[index];
    if let Some(circuit) = moves_with_circuit(site, index) {
        let members = || {
            (0..site.machines.len())
                .filter(|&other| moves_with_circuit(site, other) == Some(circuit))
        };
        let free =
            site.circuits[circuit].movable && members().all(|member| site.machines[member].movable);
        return free.then(|| (0, format!("{circuit:06}")));
    }
    if !machine.movable {
        return None;
    }
    if matches!(machine.connection, Connection::ThreePhase { .. }) && !profiles[index].phases_differ
    {
        return None;
    }
    Some(match &machine.keep_with {
        Some(word) => (1, word.clone()),
        None => (2, format!("{index:06}")),
    })
}

/// A place of the tree as the problem sees it.
#[expect(
    clippy::too_many_arguments,
    reason = "a node is where everything meets"
)]
fn node_at(
    site: &Site,
    logs: &Logs,
    grid: &Grid,
    place: Place,
    profiles: &[Profile],
    members: &[Vec<usize>],
    main: Option<&MeasuredNode>,
    notes: &mut Vec<String>,
) -> (Node, bool) {
    let below = |machine: usize| site.is_within(site.machines[machine].tapped_off, place);
    let mut movable = vec![false; profiles.len()];
    let mut shares = Vec::new();
    for (unit, list) in members.iter().enumerate() {
        for &machine in list {
            movable[machine] = true;
        }
        let here: Vec<usize> = list
            .iter()
            .copied()
            .filter(|&machine| below(machine))
            .collect();
        if here.is_empty() {
            continue;
        }
        let part = (here.len() < list.len()).then(|| {
            let mut sum = Currents::none();
            for &machine in &here {
                sum.add(&profiles[machine].currents);
            }
            sum
        });
        shares.push(Share { unit, part });
    }
    let own;
    let measured = if place == Place::Supply {
        main
    } else if grid.by_hand {
        own = rounds::node(site, logs, place, profiles, notes);
        own.as_ref()
    } else {
        own = metered_board(site, logs, grid, place, notes);
        own.as_ref()
    };
    let (fixed, beyond) = match measured {
        Some(measured) => remainder(site, measured, profiles, &movable, &below),
        None => listed(site, profiles, &movable, &below),
    };
    let node = Node {
        name: site.node_name(place).to_owned(),
        shares,
        fixed,
        beyond,
        feeder: feeder(site, place),
        phase_limit_a: site.phase_limit_a(place),
        neutral_limit_a: site.neutral_limit_a(place),
    };
    (node, measured.is_some())
}

/// Resistance of a board's feeder at service temperature.
fn feeder(site: &Site, place: Place) -> Option<FeederResistance> {
    let Place::Board(board) = place else {
        return None;
    };
    let cable = site.boards[board].feeder?;
    let material = match cable.conductor {
        Conductor::Copper => Material::Copper,
        Conductor::Aluminium => Material::Aluminium,
    };
    let ohm = |mm2: f64| service_resistivity(material) * cable.length_m / mm2;
    Some(FeederResistance {
        phase_ohm: ohm(cable.phase_mm2),
        neutral_ohm: ohm(cable.neutral_mm2),
    })
}

/// A board whose own meter covers the whole grid.
fn metered_board(
    site: &Site,
    logs: &Logs,
    grid: &Grid,
    place: Place,
    notes: &mut Vec<String>,
) -> Option<MeasuredNode> {
    let meter = site.meter_of(crate::site::Measured::Node(place))?;
    let log = logs.of(meter)?;
    let phasors = phase_phasors(&log.table, site.supply.phase_voltage_v())?;
    let node = on_grid(&log.table, &phasors.series, grid);
    if node.missing > grid.starts.len() / 20 {
        notes.push(format!(
            "the meter of `{}` covers too little of the time to be used for it",
            site.node_name(place)
        ));
        return None;
    }
    Some(node.measured)
}

/// What is measured, less what can move away, stays where it is.
fn remainder(
    site: &Site,
    measured: &MeasuredNode,
    profiles: &[Profile],
    movable: &[bool],
    below: &dyn Fn(usize) -> bool,
) -> (Currents, Vec<f64>) {
    let mut fixed = Currents::new(measured.phases.clone().map(Some));
    let mut beyond = measured.beyond.clone();
    let neutral_measured = !beyond.is_empty();
    for (machine, profile) in profiles.iter().enumerate() {
        if !below(machine) {
            continue;
        }
        match turn_of(connection_now(site, machine)) {
            Some(turn) => {
                if movable[machine] {
                    fixed.subtract_turned(&profile.currents, turn);
                }
                if !neutral_measured {
                    add_third_harmonic(site, machine, profile, &mut beyond);
                }
            }
            // Not connected yet: the meter has not seen it, and its harmonics come on top.
            None => add_third_harmonic(site, machine, profile, &mut beyond),
        }
    }
    (fixed, beyond)
}

/// Without a meter: the listed machines that stay, and the third harmonics of all.
fn listed(
    site: &Site,
    profiles: &[Profile],
    movable: &[bool],
    below: &dyn Fn(usize) -> bool,
) -> (Currents, Vec<f64>) {
    let mut fixed = Currents::none();
    let mut beyond = Vec::new();
    for (machine, profile) in profiles.iter().enumerate() {
        if !below(machine) {
            continue;
        }
        if let (Some(turn), false) = (turn_of(connection_now(site, machine)), movable[machine]) {
            fixed.add_turned(&profile.currents, turn);
        }
        add_third_harmonic(site, machine, profile, &mut beyond);
    }
    (fixed, beyond)
}

/// Third harmonics of loads to neutral add up in the neutral whatever their phases.
pub(super) fn add_third_harmonic(
    site: &Site,
    machine: usize,
    profile: &Profile,
    beyond: &mut Vec<f64>,
) {
    let share = site.machines[machine].third_harmonic;
    let to_neutral = matches!(
        connection_now(site, machine),
        Connection::ToNeutral(_) | Connection::Any
    );
    let (true, Some(series)) = (share > 0.0 && to_neutral, profile.currents.series(0)) else {
        return;
    };
    beyond.resize(series.len(), 0.0);
    for (sum, current) in beyond.iter_mut().zip(series) {
        *sum += share * current.norm();
    }
}
