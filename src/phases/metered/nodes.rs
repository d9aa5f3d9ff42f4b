//! Places whose meters log their three phases, and what is compared with each.

use metering::{IntervalTable, Logs};
use site::{Measured, Node, Site};

/// A place whose meter logs its three phases.
#[derive(Clone, Debug)]
pub(crate) struct NodeWithLog {
    pub(crate) meter: usize,
    /// Machines with a log whose nearest such place this is.
    pub(super) machines: Vec<usize>,
    /// Such places directly below it, and their meters.
    pub(super) below: Vec<usize>,
}

/// The meter of a place, where it logs its three phases.
pub(super) fn meter_with_phases(site: &Site, logs: &Logs, node: Node) -> Option<usize> {
    let meter = site.meter_of(Measured::Node(node))?;
    logs.of(meter)?.phasors().map(|_| meter)
}

/// The meter of the nearest place at or above a node that logs its three phases.
pub(crate) fn node_above(site: &Site, logs: &Logs, from: Node) -> Option<usize> {
    std::iter::successors(Some(from), |&at| site.parent(at))
        .find_map(|at| meter_with_phases(site, logs, at))
}

/// Supply and boards whose meters log their phases, and those meters.
pub(crate) fn places_with_phases(site: &Site, logs: &Logs) -> Vec<(Node, usize)> {
    let nodes = site.nodes().into_iter();
    nodes
        .filter(|node| !matches!(node, Node::Circuit(_)))
        .filter_map(|node| Some((node, meter_with_phases(site, logs, node)?)))
        .collect()
}

/// Places whose meters log their phases, with what is below each.
pub(crate) fn nodes_with_phases(site: &Site, logs: &Logs) -> Vec<NodeWithLog> {
    let meter_of = |node: Node| meter_with_phases(site, logs, node);
    let nearest = |from: Node| {
        std::iter::successors(Some(from), |&at| site.parent(at)).find(|&at| meter_of(at).is_some())
    };
    let nodes = site.nodes().into_iter();
    nodes
        .filter(|node| !matches!(node, Node::Circuit(_)))
        .filter_map(|node| {
            let meter = meter_of(node)?;
            let machines = (0..site.machines.len()).filter(|&machine| {
                nearest(site.machines[machine].tapped_off) == Some(node)
                    && site
                        .machine_meter(machine)
                        .is_some_and(|own| own != meter && logs.of(own).is_some())
            });
            let below = site.nodes().into_iter().filter_map(|other| {
                let above = site.parent(other)?;
                (nearest(above) == Some(node)).then(|| meter_of(other))?
            });
            Some(NodeWithLog {
                meter,
                machines: machines.collect(),
                below: below.collect(),
            })
        })
        .collect()
}

/// Lengths of intervals over which loads at a place can be compared, ascending. (s)
pub(crate) fn lengths_at(site: &Site, logs: &Logs, node: &NodeWithLog) -> Vec<i64> {
    let mut lengths: Vec<i64> = node
        .machines
        .iter()
        .filter_map(|&machine| length_of(site, logs, node, machine))
        .collect();
    lengths.sort_unstable();
    lengths.dedup();
    lengths
}

pub(super) fn length_of(
    site: &Site,
    logs: &Logs,
    node: &NodeWithLog,
    machine: usize,
) -> Option<i64> {
    let own = logs.of(site.machine_meter(machine)?)?;
    let above = logs.of(node.meter)?;
    Some(common_length(&own.table, &above.table))
}

pub(super) fn common_length(one: &IntervalTable, other: &IntervalTable) -> i64 {
    let (a, b) = (i64::from(one.interval_s()), i64::from(other.interval_s()));
    let divisor = {
        let (mut a, mut b) = (a, b);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a.max(1)
    };
    a / divisor * b
}
