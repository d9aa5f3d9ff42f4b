//! The installation after a change, with each change marked.

use site::{Connection, NewMachine, Node, ProtectiveDevice, Site};

/// How a machine has changed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mark {
    /// It is new.
    New {
        /// Its own cable: length and cross-sectional area. (m, mm²)
        cable: Option<(f64, Option<f64>)>,
    },
    /// It is on another phase.
    Moved {
        /// Where it was.
        from: Connection,
    },
}

/// A site with its new and moved machines marked.
#[derive(Clone, Debug)]
pub struct ChangedSite {
    pub(super) site: Site,
    /// Machines of the changed list that are marked.
    pub(super) marks: Vec<(usize, Mark)>,
}

impl ChangedSite {
    /// The present state, nothing changed.
    #[must_use]
    pub fn new(site: &Site) -> ChangedSite {
        ChangedSite {
            site: site.clone(),
            marks: Vec::new(),
        }
    }

    /// Adds a new machine at a connection point.
    pub fn add(
        &mut self,
        new: &NewMachine,
        circuit: &str,
        connection: Connection,
        device: Option<ProtectiveDevice>,
        mm2: Option<f64>,
    ) {
        let named = |node: &Node| self.site.node_name(*node) == circuit;
        let Some(node) = self.site.nodes().into_iter().find(named) else {
            return;
        };
        let mut machine = new.machine.clone();
        machine.tapped_off = node;
        machine.connection = connection;
        machine.protective_device = device;
        let cable = new.cable.map(|cable| (cable.length_m, mm2));
        self.marks
            .push((self.site.machines.len(), Mark::New { cable }));
        self.site.machines.push(machine);
    }

    /// Moves a listed machine to other phases; a one- or two-phase circuit moves with it.
    pub fn turn(&mut self, name: &str, (from, to): (Connection, Connection)) {
        let named = |machine: &site::Machine| machine.name == name;
        let Some(index) = self.site.machines.iter().position(named) else {
            return;
        };
        let machine = &mut self.site.machines[index];
        let circuit = match machine.tapped_off {
            Node::Circuit(circuit) => Some(&mut self.site.circuits[circuit]),
            _ => None,
        };
        let moves_whole =
            circuit.filter(|circuit| !matches!(circuit.phases, Connection::ThreePhase { .. }));
        // On a circuit that moves as a whole an open connection stays open: the circuit's phases count.
        if moves_whole.is_none() || !machine.connection.is_open() {
            machine.connection = to;
        }
        if let Some(circuit) = moves_whole {
            circuit.phases = to;
        }
        self.marks.push((index, Mark::Moved { from }));
    }

    pub(super) fn mark(&self, machine: usize) -> Option<Mark> {
        let known = self.marks.iter().find(|(marked, _)| *marked == machine);
        known.map(|&(_, mark)| mark)
    }

    /// The changes, one sentence each.
    pub(super) fn sentences(&self) -> Vec<String> {
        let sentence = |&(index, mark): &(usize, Mark)| {
            let machine = &self.site.machines[index];
            let at = self.site.node_name(machine.tapped_off);
            let on = balance::standing_connection(&self.site, index);
            match mark {
                Mark::New { .. } => format!("New: {} at {at} on {on}.", machine.name),
                Mark::Moved { from } => {
                    format!("Moved: {} at {at} from {from} to {on}.", machine.name)
                }
            }
        };
        self.marks.iter().map(sentence).collect()
    }
}
