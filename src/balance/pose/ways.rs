//! Single-pole ways of the boards, as the problem counts them.

use std::collections::BTreeMap;

use super::connections::{connection_now, moves_with_circuit, turn_of};
use crate::problem::problem::Ways;
use site::{Connection, Node, Site};

/// Ways of the boards that declare them. A way is counted for each circuit or machine that leaves
/// the board itself.
pub(crate) fn ways_of(site: &Site, members: &[Vec<usize>]) -> Vec<Ways> {
    let mut all = Vec::new();
    for (board, declared) in site.boards.iter().enumerate() {
        let Some(declared) = declared.ways else {
            continue;
        };
        let mut free = declared.map(|ways| ways as usize);
        let mut uses = Vec::new();
        let mut take = |on: Connection, unit: Option<usize>, turn: usize| {
            let positions: [usize; 3] = match on {
                Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => [1, 0, 0],
                Connection::Between(_) | Connection::AnyPair => [1, 1, 0],
                Connection::ThreePhase { .. } => [1, 1, 1],
            };
            match unit {
                Some(unit) => uses.push((unit, positions)),
                None => {
                    for (position, count) in positions.into_iter().enumerate() {
                        let phase = (position + turn) % 3;
                        free[phase] = free[phase].saturating_sub(count);
                    }
                }
            }
        };
        for (index, circuit) in site.circuits.iter().enumerate() {
            if circuit.board != Node::Board(board) {
                continue;
            }
            let unit = members
                .iter()
                .position(|list| moves_with_circuit(site, list[0]) == Some(index));
            take(circuit.phases, unit, turn_of(circuit.phases).unwrap_or(0));
        }
        for machine in 0..site.machines.len() {
            if site.machines[machine].tapped_off != Node::Board(board) {
                continue;
            }
            let unit = members.iter().position(|list| list.contains(&machine));
            let now = connection_now(site, machine);
            take(now, unit, turn_of(now).unwrap_or(0));
        }
        all.push(Ways {
            name: site.boards[board].id.clone(),
            free,
            uses: merged(uses),
        });
    }
    all
}

/// One entry per unit.
fn merged(uses: Vec<(usize, [usize; 3])>) -> Vec<(usize, [usize; 3])> {
    let mut by_unit: BTreeMap<usize, [usize; 3]> = BTreeMap::new();
    for (unit, positions) in uses {
        let sum = by_unit.entry(unit).or_default();
        for (sum, count) in sum.iter_mut().zip(positions) {
            *sum += count;
        }
    }
    by_unit.into_iter().collect()
}
