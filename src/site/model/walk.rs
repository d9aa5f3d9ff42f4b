//! The order in which a round of readings is taken: each board with what it feeds, from the supply down.

use super::connection::Connection;
use super::node::{Measured, Node};
use super::site::Site;
use electrical::Phase;

impl Site {
    /// Supply, boards and circuits in walking order, each board followed by its circuits and the machines on it, then by
    /// the boards that it feeds. Machines on circuits are included on request.
    #[must_use]
    pub fn walk(&self, with_machines: bool) -> Vec<Measured> {
        let mut walk = Vec::new();
        self.walk_from(Node::Supply, with_machines, &mut walk);
        walk
    }

    fn walk_from(&self, at: Node, with_machines: bool, walk: &mut Vec<Measured>) {
        walk.push(Measured::Node(at));
        let fed = |node: Node| {
            let on = self.machines.iter().enumerate();
            let on = on.filter(move |(_, machine)| machine.tapped_off == node);
            on.map(|(index, _)| Measured::Machine(index))
        };
        for circuit in (0..self.circuits.len()).filter(|&index| self.circuits[index].board == at) {
            walk.push(Measured::Node(Node::Circuit(circuit)));
            if with_machines {
                walk.extend(fed(Node::Circuit(circuit)));
            }
        }
        walk.extend(fed(at));
        for board in (0..self.boards.len()).filter(|&index| self.boards[index].fed_from == at) {
            self.walk_from(Node::Board(board), with_machines, walk);
        }
    }

    /// Which of L1, L2, L3 and N are to be read at a place.
    #[must_use]
    pub fn conductors_at(&self, at: Measured) -> [bool; 4] {
        let (connection, has_neutral) = match at {
            Measured::Node(Node::Supply | Node::Board(_)) => (Connection::THREE_PHASE, true),
            Measured::Node(Node::Circuit(index)) => {
                let phases = self.circuits[index].phases;
                (phases, phases == Connection::THREE_PHASE)
            }
            Measured::Machine(index) => {
                let machine = &self.machines[index];
                let three = matches!(machine.connection, Connection::ThreePhase { .. });
                (machine.connection, three && machine.has_neutral)
            }
        };
        let [l1, l2, l3] = Phase::ALL.map(|phase| match connection {
            Connection::ToNeutral(own) => own == phase,
            Connection::Between(pair) => {
                let (one, other) = pair.phases();
                phase == one || phase == other
            }
            Connection::ThreePhase { .. }
            | Connection::Any
            | Connection::AnyPair
            | Connection::Unknown => true,
        });
        [l1, l2, l3, has_neutral]
    }
}
