//! Single-pole ways of a board.

use balance::{standing_connection, turn};
use site::{Connection, Node, Site};

/// Ways taken on L1, L2, L3 of a board: one for each phase of each circuit and machine that it feeds directly.
pub(super) fn taken(site: &Site, board: usize) -> [u32; 3] {
    let here = Node::Board(board);
    let circuits = site
        .circuits
        .iter()
        .filter(|circuit| circuit.board == here)
        .map(|circuit| circuit.phases);
    let machines = (0..site.machines.len())
        .filter(|&machine| site.machines[machine].tapped_off == here)
        .map(|machine| standing_connection(site, machine));
    let mut taken = [0; 3];
    for connection in circuits.chain(machines) {
        for phase in phases_of(connection) {
            taken[phase] += 1;
        }
    }
    taken
}

/// Phases of a connection; none while it is open.
pub(super) fn phases_of(connection: Connection) -> Vec<usize> {
    match (connection, turn(connection)) {
        (Connection::ThreePhase { .. }, _) => vec![0, 1, 2],
        (Connection::Between(_), Some(at)) => vec![at, (at + 1) % 3],
        (_, Some(at)) => vec![at],
        (_, None) => Vec::new(),
    }
}
