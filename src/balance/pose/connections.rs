//! Connections of machines, and the turns that represent them.

use electrical::{Phase, PhasePair};
use site::{Connection, Node, Site};

/// Turn of a connection: the phase, the pair or the cyclic shift.
pub(crate) fn turn_of(connection: Connection) -> Option<usize> {
    match connection {
        Connection::ToNeutral(phase) => Some(phase.index()),
        Connection::Between(pair) => Some(pair.index()),
        Connection::ThreePhase { shift } => Some(usize::from(shift)),
        Connection::Any | Connection::AnyPair | Connection::Unknown => None,
    }
}

/// The connection of a kind of load at a turn.
pub(crate) fn connection_at(kind: Connection, turn: usize) -> Connection {
    match kind {
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => {
            Connection::ToNeutral(Phase::ALL[turn])
        }
        Connection::Between(_) | Connection::AnyPair => Connection::Between(PhasePair::ALL[turn]),
        Connection::ThreePhase { .. } => Connection::ThreePhase { shift: turn as u8 },
    }
}

/// Where a machine is now: on a one- or two-phase circuit it has the circuit's phases.
pub(crate) fn connection_now(site: &Site, machine: usize) -> Connection {
    let machine = &site.machines[machine];
    match machine.tapped_off {
        Node::Circuit(circuit) if machine.connection.is_open() => {
            match site.circuits[circuit].phases {
                Connection::ThreePhase { .. } => machine.connection,
                phases => phases,
            }
        }
        _ => machine.connection,
    }
}

/// The one- or two-phase circuit that a machine moves with.
pub(crate) fn moves_with_circuit(site: &Site, machine: usize) -> Option<usize> {
    match site.machines[machine].tapped_off {
        Node::Circuit(circuit) => match site.circuits[circuit].phases {
            Connection::ThreePhase { .. } => None,
            _ => Some(circuit),
        },
        _ => None,
    }
}
