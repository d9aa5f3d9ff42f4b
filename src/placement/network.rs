//! The installation with the currents of its nodes.

use std::sync::Arc;

use num_complex::Complex64;

use super::carried::{Carried, CarriedBasis};
use super::chosen_intervals::only;
use balance::{Currents, Standing, standing_connection, turn};
use electrical::assumed_loading;
use metering::Logs;
use site::{Connection, Measured, Node, Site};
use units::Basis;

/// How ratings are added up where there is no log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DiversityRule {
    /// The user's own diversity factor, 1 for the plain sum.
    Factor(f64),
    /// Assumed loading factors of boards by their number of outgoing circuits (IEC 61439-2); circuits in full.
    Assumed,
}

/// Nodes with their currents; a copy shares unchanged parts.
#[derive(Clone, Debug)]
pub(super) struct Network {
    /// The site as it is.
    pub(super) site: Arc<Site>,
    nodes: Vec<Node>,
    carried: Vec<Arc<Carried>>,
    /// What is listed as generation below each node, at its rating and without any load.
    generated: Vec<Arc<Carried>>,
    /// Currents of the supply on the intervals, expected rather than highest, for effects.
    pub(super) supply: Arc<Carried>,
}

/// A machine of the list that changes its phase.
#[derive(Clone, Debug)]
pub(super) struct Mover {
    pub(super) machine: usize,
    /// Its current on the intervals, at turn 0. (A)
    pub(super) currents: Currents,
    /// Its current at its rating, at turn 0. (A)
    rated: [Complex64; 3],
}

impl Mover {
    pub(super) fn new(site: &Site, standing: &Standing, machine: usize) -> Mover {
        Mover {
            machine,
            currents: standing.machine(machine).currents,
            rated: rated_currents(site, machine, site.supply.phase_voltage_v()),
        }
    }

    pub(super) fn only(&self, intervals: &[usize]) -> Mover {
        Mover {
            currents: only(&self.currents, intervals),
            ..self.clone()
        }
    }
}

impl Network {
    pub(super) fn new(
        site: &Site,
        logs: &Logs,
        standing: &Standing,
        diversity: DiversityRule,
    ) -> Network {
        let nodes = site.nodes();
        let carried = nodes
            .iter()
            .map(|&node| Arc::new(carried(site, logs, standing, diversity, node)))
            .collect();
        let generated = nodes.iter().map(|&node| Arc::new(generated(site, node)));
        Network {
            site: Arc::new(site.clone()),
            generated: generated.collect(),
            nodes,
            carried,
            supply: Arc::new(series(standing, Node::Supply, CarriedBasis::Measured)),
        }
    }

    /// In some of the intervals only.
    pub(super) fn only(&self, intervals: &[usize]) -> Network {
        let carried = self.carried.iter();
        Network {
            site: Arc::clone(&self.site),
            nodes: self.nodes.clone(),
            generated: self.generated.clone(),
            carried: carried
                .map(|carried| Arc::new(carried.only(intervals)))
                .collect(),
            supply: Arc::new(self.supply.only(intervals)),
        }
    }

    /// The currents of a node.
    pub(super) fn at(&self, node: Node) -> &Carried {
        let index = self.nodes.iter().position(|&known| known == node);
        &self.carried[index.unwrap_or(0)]
    }

    /// What generates below a node, at its rating while nothing draws.
    pub(super) fn generated_at(&self, node: Node) -> &Carried {
        let index = self.nodes.iter().position(|&known| known == node);
        &self.generated[index.unwrap_or(0)]
    }

    /// The node and all upstream of it, to the supply.
    pub(super) fn upstream(&self, node: Node) -> Vec<Node> {
        std::iter::successors(Some(node), |&at| self.site.parent(at)).collect()
    }

    /// Moves the currents of machines from one turn to another.
    pub(super) fn turn_machines(&mut self, movers: &[Mover], (from, to): (usize, usize)) {
        for mover in movers {
            let machine = &self.site.machines[mover.machine];
            let share = machine.third_harmonic;
            for above in self.upstream(machine.tapped_off) {
                let Some(index) = self.nodes.iter().position(|&known| known == above) else {
                    continue;
                };
                let node = Arc::make_mut(&mut self.carried[index]);
                let diversity = match node.basis {
                    CarriedBasis::Declared(diversity) => Some(diversity),
                    _ => None,
                };
                for (position, &rated) in mover.rated.iter().enumerate() {
                    let (old, new) = ((position + from) % 3, (position + to) % 3);
                    for interval in 0..node.beyond.len() {
                        let current = match diversity {
                            Some(diversity) => rated * diversity,
                            None => mover.currents.at(position, interval),
                        };
                        node.phases[old][interval] -= current;
                        node.phases[new][interval] += current;
                        if diversity.is_some() || node.basis == CarriedBasis::MachineMeters {
                            let harmonic = share * current.norm();
                            node.harmonics[old][interval] -= harmonic;
                            node.harmonics[new][interval] += harmonic;
                        }
                    }
                }
            }
        }
    }
}

fn series(standing: &Standing, node: Node, basis: CarriedBasis) -> Carried {
    let length = standing.starts().len();
    let carried = standing.carried(node);
    let (mut neutral_alone, mut beyond) = carried.as_ref().map_or_else(Default::default, |known| {
        (known.neutral_alone.to_vec(), known.beyond.to_vec())
    });
    neutral_alone.resize(length, Complex64::ZERO);
    beyond.resize(length, 0.0);
    let unresolved = carried.as_ref().map(|known| known.unresolved_square);
    let nothing = || [0; 3].map(|_| vec![Complex64::ZERO; length]);
    Carried {
        basis,
        phases: carried.map_or_else(nothing, |known| known.phases),
        neutral_alone,
        beyond,
        harmonics: [0; 3].map(|_| vec![0.0; length]),
        unresolved_square: unresolved.unwrap_or_default(),
    }
}

fn carried(
    site: &Site,
    logs: &Logs,
    standing: &Standing,
    diversity: DiversityRule,
    node: Node,
) -> Carried {
    if standing.is_measured(node) {
        return series(standing, node, CarriedBasis::Measured);
    }
    let all_metered = matches!(node, Node::Circuit(_)) && {
        let mut below = machines_below(site, node).peekable();
        below.peek().is_some()
            && below.all(|machine| standing.machine(machine).basis == Basis::Measured)
    };
    if all_metered {
        return of_machines(site, standing, node);
    }
    if let Node::Board(_) = node
        && let Some(difference) = by_difference(site, logs, standing, node)
    {
        return difference;
    }
    declared(site, node, diversity)
}

/// The sum of the logs of all machines below. Their fundamentals add up as phasors, their third harmonics separately.
fn of_machines(site: &Site, standing: &Standing, node: Node) -> Carried {
    let mut sum = series(standing, node, CarriedBasis::MachineMeters);
    for machine in machines_below(site, node) {
        let share = site.machines[machine].third_harmonic;
        let Some(turn) = turn(standing_connection(site, machine)).filter(|_| share > 0.0) else {
            continue;
        };
        let currents = standing.machine(machine).currents;
        for position in 0..3 {
            let harmonics = &mut sum.harmonics[(position + turn) % 3];
            for (interval, amps) in harmonics.iter_mut().enumerate() {
                *amps += share * currents.at(position, interval).norm();
            }
        }
    }
    sum
}

fn machines_below(site: &Site, node: Node) -> impl Iterator<Item = usize> + '_ {
    (0..site.machines.len())
        .filter(move |&machine| site.is_within(site.machines[machine].tapped_off, node))
}

/// The log of the nearest measured node upstream, less the logs of the other measured boards below that. Loads of
/// the upstream node that are on no board stay included, so the result is never too small.
fn by_difference(site: &Site, logs: &Logs, standing: &Standing, node: Node) -> Option<Carried> {
    let above = std::iter::successors(site.parent(node), |&at| site.parent(at))
        .find(|&at| standing.is_measured(at))?;
    let mut difference = series(standing, above, CarriedBasis::ByDifference);
    // Current that reduces the upstream neutral may belong to another node.
    difference.neutral_alone.fill(Complex64::ZERO);
    difference.unresolved_square = [0.0; 4];
    let is_sibling = |other: Node| {
        standing.is_measured(other)
            && other != above
            && site.is_within(other, above)
            && !site.is_within(node, other)
            && !site.is_within(other, node)
    };
    let outermost = |other: Node| {
        !std::iter::successors(site.parent(other), |&at| site.parent(at))
            .any(|at| at != above && is_sibling(at))
    };
    let mut coarsest = standing.interval_s();
    for other in site.nodes() {
        if !is_sibling(other) || !outermost(other) {
            continue;
        }
        let phases = standing.carried(other)?.phases;
        for (sum, less) in difference.phases.iter_mut().zip(&phases) {
            for (sum, less) in sum.iter_mut().zip(less) {
                *sum -= less;
            }
        }
        let meter = site.meter_of(Measured::Node(other));
        let step = meter.and_then(|meter| logs.of(meter));
        coarsest = coarsest.max(step.map_or(0, |log| i64::from(log.table.interval_s())));
    }
    average(&mut difference, standing.starts(), coarsest);
    Some(difference)
}

/// Means over the intervals of the slowest log: a difference from a slower log has no meaning within its interval.
fn average(carried: &mut Carried, starts: &[i64], step_s: i64) {
    let mut from = 0;
    while from < starts.len() {
        let step = starts[from].div_euclid(step_s);
        let to = from
            + starts[from..]
                .iter()
                .take_while(|start| start.div_euclid(step_s) == step)
                .count();
        let count = (to - from) as f64;
        for phase in &mut carried.phases {
            let mean = phase[from..to].iter().sum::<Complex64>() / count;
            phase[from..to].fill(mean);
        }
        let mean = carried.beyond[from..to].iter().sum::<f64>() / count;
        carried.beyond[from..to].fill(mean);
        from = to;
    }
}

/// Rated currents of a machine of the list at turn 0. (A)
pub(super) fn rated_currents(site: &Site, machine: usize, volts: f64) -> [Complex64; 3] {
    let machine = &site.machines[machine];
    let power = machine.rated_power(volts).conj() * 1000.0;
    let lead = Complex64::from_polar(1.0, std::f64::consts::FRAC_PI_6);
    let zero = Complex64::ZERO;
    match machine.connection {
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => {
            [power / volts, zero, zero]
        }
        Connection::Between(_) | Connection::AnyPair => {
            let current = power / site.supply.line_voltage_v;
            [current * lead, current * lead.conj(), zero]
        }
        Connection::ThreePhase { .. } => [power / (3.0 * volts); 3],
    }
}

/// The sum of the rated currents below a node, times the diversity factor.
fn declared(site: &Site, node: Node, diversity: DiversityRule) -> Carried {
    let leaving = site
        .nodes()
        .into_iter()
        .filter(|&below| site.parent(below) == Some(node))
        .count()
        + machines_at(site, node);
    let factor = match (diversity, node) {
        (DiversityRule::Factor(factor), _) => factor,
        (DiversityRule::Assumed, Node::Circuit(_)) => 1.0,
        (DiversityRule::Assumed, _) => assumed_loading(leaving),
    };
    // What generates gives nothing at night: it does not make room for a load.
    let loads = machines_below(site, node).filter(|&machine| !site.machines[machine].generates());
    at_rating(site, loads, factor)
}

/// The rated currents of what is listed as generation below a node.
fn generated(site: &Site, node: Node) -> Carried {
    let all = machines_below(site, node).filter(|&machine| site.machines[machine].generates());
    at_rating(site, all, 1.0)
}

/// The sum of the rated currents of machines, times a factor.
fn at_rating(site: &Site, machines: impl Iterator<Item = usize>, factor: f64) -> Carried {
    let mut phases = [Complex64::ZERO; 3];
    let mut harmonics = [0.0; 3];
    let mut beyond = 0.0;
    for machine in machines {
        let flow = site.machines[machine].flow();
        let connection = standing_connection(site, machine);
        let Some(turn) = turn(connection) else {
            continue;
        };
        let share = site.machines[machine].third_harmonic;
        let rated = rated_currents(site, machine, site.supply.phase_voltage_v());
        for (position, current) in rated.into_iter().enumerate() {
            let k = (position + turn) % 3;
            phases[k] += flow * current * factor;
            harmonics[k] += share * current.norm() * factor;
        }
        if connection.has_neutral() {
            let amps: f64 = rated.iter().map(|current| current.norm()).sum();
            beyond += share * amps * factor;
        }
    }
    Carried {
        basis: CarriedBasis::Declared(factor),
        phases: phases.map(|current| vec![current]),
        neutral_alone: vec![Complex64::ZERO],
        beyond: vec![beyond],
        harmonics: harmonics.map(|amps| vec![amps]),
        unresolved_square: [0.0; 4],
    }
}

fn machines_at(site: &Site, node: Node) -> usize {
    let here = |machine: &&site::Machine| machine.tapped_off == node;
    site.machines.iter().filter(here).count()
}
