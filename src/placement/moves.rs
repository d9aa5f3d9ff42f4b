//! Few moves of machines of the list that make a place fit.

use super::carried::Added;
use super::check::{Check, CheckName};
use super::network::Network;
use super::path_checks::Spot;
use super::place::MoveNeeded;
use crate::balance::{Standing, connection_of};
use crate::site::{Connection, Node};

/// More moves than these are a plan of their own, for `balance`.
const MOST_MOVES: usize = 3;

/// The fewest moves found; empty where none were found or moves cannot help.
///
/// All single moves are tried; from the one that leaves least above the limits the next is looked for, and so on:
/// one move is certainly the fewest, two or more are the fewest found.
pub(super) fn moves_that_help(
    standing: &Standing,
    spot: &Spot<'_>,
    checks: &[Check],
) -> Vec<MoveNeeded> {
    let helps = |check: &Check| {
        matches!(
            check.check,
            CheckName::PhaseLoading
                | CheckName::NeutralLoading
                | CheckName::TransformerLoading
                | CheckName::CircuitLoading
        )
    };
    if !checks.iter().all(|check| check.pass || helps(check)) {
        return Vec::new();
    }
    let volts = spot.network.site.supply.phase_voltage_v();
    let mut network = spot.network.clone();
    let mut moved: Vec<(usize, usize)> = Vec::new();
    let mut left = excess(spot, &network);
    for _ in 0..MOST_MOVES {
        let mut best: Option<(f64, Network, (usize, usize))> = None;
        for (index, (unit, members)) in standing.units().enumerate() {
            let Some(now) = unit.current else { continue };
            // A circuit that moves as a whole would take the new machine with it.
            let with_circuit =
                matches!(unit_place(spot, members), Some(place) if place == spot.node);
            if with_circuit || moved.iter().any(|&(known, _)| known == index) {
                continue;
            }
            for to in (0..3).filter(|&to| to != now) {
                let mut other = network.clone();
                other.turn_machines(standing, members, (now, to), volts);
                let over = excess(spot, &other);
                if best.as_ref().is_none_or(|(least, ..)| over < *least) {
                    best = Some((over, other, (index, to)));
                }
            }
        }
        let Some((over, other, step)) = best.filter(|(over, ..)| *over < left) else {
            return Vec::new();
        };
        moved.push(step);
        (left, network) = (over, other);
        if left <= 0.0 {
            return told(standing, spot, &moved);
        }
    }
    Vec::new()
}

/// The one- or two-phase circuit that a unit moves with.
fn unit_place(spot: &Spot<'_>, members: &[usize]) -> Option<Node> {
    let site = &spot.network.site;
    let node = site.machines[*members.first()?].tapped_off;
    match node {
        Node::Circuit(index) => {
            let phases = site.circuits[index].phases;
            (!matches!(phases, Connection::ThreePhase { .. })).then_some(node)
        }
        _ => None,
    }
}

/// What the place's checks, and nodes that the moves make worse, leave above their limits, as shares of them.
fn excess(spot: &Spot<'_>, network: &Network) -> f64 {
    let other = Spot { network, ..*spot };
    let (mut checks, mut not_checked) = (Vec::new(), Vec::new());
    other.check(&mut checks, &mut not_checked);
    let own: f64 = checks
        .iter()
        .filter(|check| !check.pass)
        .map(|check| (check.value / check.limit - 1.0).max(1e-6))
        .sum();
    let worse: f64 = network
        .site
        .nodes()
        .into_iter()
        .filter(|node| !matches!(node, Node::Circuit(_)))
        .filter_map(|node| {
            let limit = network.site.phase_limit_a(node)?;
            let largest = |network: &Network| {
                network
                    .at(node)
                    .largest(spot.load, Added::Nothing, 0)
                    .phases_a
            };
            let (now, then) = (largest(spot.network), largest(network));
            let over = (0..3).map(|k| (then[k] / limit.max(now[k]) - 1.0).max(0.0));
            Some(over.filter(|over| *over > 1e-9).sum::<f64>())
        })
        .sum();
    own + worse
}

fn told(standing: &Standing, spot: &Spot<'_>, moved: &[(usize, usize)]) -> Vec<MoveNeeded> {
    let units: Vec<_> = standing.units().collect();
    let site = &spot.network.site;
    moved
        .iter()
        .flat_map(|&(unit, to)| units[unit].1.iter().map(move |&machine| (machine, to)))
        .map(|(machine, to)| {
            let from: Connection = crate::balance::standing_connection(site, machine);
            MoveNeeded {
                machine: site.machines[machine].name.clone(),
                from,
                to: connection_of(from, to),
            }
        })
        .collect()
}
