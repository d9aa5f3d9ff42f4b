//! Checks of the circuit, the nodes upstream, the ways and the voltage drop along the path.

use num_complex::Complex64;

use super::carried::{Added, Carried, LargestCurrents};
use super::check::{Check, CheckName};
use super::connection_point::ConnectionPoint;
use super::guest::Guest;
use super::network::rated_currents;
use super::own_checks::{circuit_device, fusing_current_a, trips_from_a};
use super::path::CablePath;
use super::ways::{phases_of, taken};
use balance::{standing_connection, turn};
use electrical::{Phase, VoltageDropError, capacity_with_third_harmonic};
use site::{Cable, Conductor, Connection, Node};
use units::Amperes;

impl ConnectionPoint<'_> {
    /// Largest current on the phases that the machine loads, with the phase. (A)
    fn worst_phase(&self, largest: LargestCurrents) -> (usize, f64) {
        self.load
            .phases(self.turn())
            .map(|(_, k)| (k, largest.phases_a[k]))
            .fold(
                (0, 0.0),
                |most, next| if next.1 > most.1 { next } else { most },
            )
    }

    pub(super) fn check(&self, checks: &mut Vec<Check>, not_checked: &mut Vec<String>) {
        self.check_repairs(checks);
        self.own
            .check(self.site(), self.load, self.node, checks, not_checked);
        if let Node::Circuit(index) = self.node {
            self.check_circuit(index, checks, not_checked);
        }
        for node in self.network.upstream(self.node) {
            if !matches!(node, Node::Circuit(_)) {
                self.check_node(node, checks, not_checked);
            }
        }
        self.check_drop(checks, not_checked);
        if let Node::Board(board) = self.node {
            self.check_ways(board, checks);
        }
    }

    /// A conductor with a danger carries no more until it is repaired.
    fn check_repairs(&self, checks: &mut Vec<Check>) {
        let upstream = self.network.upstream(self.node);
        for held in self.held_back {
            let is_fed_through = upstream
                .iter()
                .any(|&node| self.site().node_name(node) == held.at);
            let loads = held.phase.is_none_or(|phase| {
                let mut phases = self.load.phases(self.turn());
                phases.any(|(_, k)| k == phase.index())
            });
            if is_fed_through && loads {
                checks.push(Check::new(
                    CheckName::RepairFirst,
                    held.place(),
                    (self.load.design_a, 0.0),
                    "A more",
                    held.because.name(),
                ));
            }
        }
    }

    fn check_circuit(&self, index: usize, checks: &mut Vec<Check>, not_checked: &mut Vec<String>) {
        let circuit = &self.site().circuits[index];
        let basis = self.network.at(self.node).basis.words();
        let (phase, amps) = self.worst_phase(self.largest(self.node, Added::Running));
        let at = format!("{} {}", circuit.id, Phase::ALL[phase]);
        let mut put = |name, at: &str, value, limit| {
            checks.push(Check::new(name, at, (value, limit), "A", basis.clone()));
        };
        let device = circuit_device(self.site(), self.node);
        match device {
            Some(device) => {
                put(CheckName::CircuitLoading, &at, amps, device.rated_a);
                if let (Some(from), Some(_)) = (trips_from_a(device), &self.load.starting) {
                    let (_, starting) = self.worst_phase(self.largest(self.node, Added::Starting));
                    put(CheckName::CircuitStartingRelease, &at, starting, from);
                }
            }
            None => not_checked.push(format!("circuit {} has no `protective_device`", circuit.id)),
        }
        let capacity = circuit
            .cable
            .and_then(|cable| Some(cable.current_capacity_a? * cable.derating));
        let Some(capacity) = capacity else {
            not_checked.push(format!(
                "the cable of circuit {} has no `current_capacity_a`",
                circuit.id
            ));
            return;
        };
        if let Some(device) = device {
            put(
                CheckName::CircuitDeviceAndCable,
                &circuit.id,
                device.rated_a,
                capacity,
            );
            let draws_too = self
                .site()
                .machines
                .iter()
                .any(|machine| machine.tapped_off == self.node && !machine.generates());
            if self.load.generates() && draws_too {
                let generated = self.load.design_a * f64::from(self.load.new.machine.quantity);
                put(
                    CheckName::CircuitFedFromTwoSides,
                    &circuit.id,
                    device.rated_a + generated,
                    capacity,
                );
            }
            if let Some(operates) = fusing_current_a(device) {
                put(
                    CheckName::CircuitOverloadProtection,
                    &circuit.id,
                    operates,
                    1.45 * capacity,
                );
            }
        }
        let share = if matches!(circuit.phases, Connection::ThreePhase { .. }) {
            self.third_harmonic_share(index)
        } else {
            0.0
        };
        if let Ok(sizing) = capacity_with_third_harmonic(Amperes(amps), share) {
            put(
                CheckName::CircuitCableCapacity,
                &at,
                sizing.needed.0,
                capacity,
            );
        }
    }

    /// Third harmonic of the listed loads and the new machine on the worst phase of a circuit, as a share of their
    /// current.
    fn third_harmonic_share(&self, index: usize) -> f64 {
        let site = self.site();
        let (mut fundamental, mut third) = ([0.0; 3], [0.0; 3]);
        let mut add = |rated: [Complex64; 3], turn: usize, share: f64| {
            for (position, current) in rated.into_iter().enumerate() {
                let k = (position + turn) % 3;
                fundamental[k] += current.norm();
                third[k] += share * current.norm();
            }
        };
        for machine in 0..site.machines.len() {
            if site.machines[machine].tapped_off != Node::Circuit(index) {
                continue;
            }
            if let Some(turn) = turn(standing_connection(site, machine)) {
                let rated = rated_currents(site, machine, site.supply.phase_voltage_v());
                add(rated, turn, site.machines[machine].third_harmonic);
            }
        }
        for guest in self.guests_below(Node::Circuit(index)) {
            add(guest.load.rated, guest.turn(), guest.load.third_harmonic);
        }
        add(self.load.rated, self.turn(), self.load.third_harmonic);
        (0..3)
            .filter(|&k| fundamental[k] > 0.0)
            .map(|k| third[k] / fundamental[k].hypot(third[k]))
            .fold(0.0, f64::max)
    }

    fn check_node(&self, node: Node, checks: &mut Vec<Check>, not_checked: &mut Vec<String>) {
        let site = self.site();
        let name = site.node_name(node);
        let basis = self.network.at(node).basis.words();
        let after = self.largest(node, Added::Running);
        match site.phase_limit_a(node) {
            Some(limit) => {
                for (_, k) in self.load.phases(self.turn()) {
                    let at = format!("{name} {}", Phase::ALL[k]);
                    let value = (after.phases_a[k], limit);
                    checks.push(Check::new(
                        CheckName::PhaseLoading,
                        at,
                        value,
                        "A",
                        basis.clone(),
                    ));
                }
            }
            None => not_checked.push(format!("{name} has no `phase_limit_a`")),
        }
        if let Some(limit) = site.neutral_limit_a(node) {
            let at = format!("{name} N");
            let value = (after.neutral_a, limit);
            let mut check = Check::new(CheckName::NeutralLoading, at, value, "A", basis.clone());
            // A connection point that reduces the neutral current does not fail for it.
            check.pass |= !check.pass && after.neutral_a <= self.neutral_before_a(node);
            checks.push(check);
        }
        if let (Node::Supply, Some(kva)) = (node, site.supply.transformer_kva) {
            let (_, worst) = self.worst_phase(after);
            let value = 3.0 * site.supply.phase_voltage_v() * worst / 1000.0;
            checks.push(Check::new(
                CheckName::TransformerLoading,
                "transformer",
                (value, kva),
                "kVA",
                basis,
            ));
        }
    }

    /// Neutral current that the machine must not increase. (A)
    fn neutral_before_a(&self, node: Node) -> f64 {
        let known = self.neutral_before.iter().find(|(at, _)| *at == node);
        known.map_or_else(
            || self.largest(node, Added::Nothing).neutral_a,
            |&(_, amps)| amps,
        )
    }

    fn check_ways(&self, board: usize, checks: &mut Vec<Check>) {
        let Some(ways) = self.site().boards[board].ways else {
            return;
        };
        let mut taken = taken(self.site(), board);
        let is_here = |guest: &&Guest<'_>| guest.node == self.node;
        for guest in self.guests.iter().filter(is_here) {
            for phase in phases_of(guest.connection) {
                taken[phase] += 1;
            }
        }
        for phase in phases_of(self.connection) {
            checks.push(Check::new(
                CheckName::Ways,
                format!("{} {}", self.site().boards[board].id, Phase::ALL[phase]),
                (f64::from(taken[phase] + 1), f64::from(ways[phase])),
                "1",
                "as declared",
            ));
        }
    }

    fn check_drop(&self, checks: &mut Vec<Check>, not_checked: &mut Vec<String>) {
        let path = match self.path() {
            Ok(path) => path,
            Err(error) => {
                not_checked.push(format!("voltage drop: {error}"));
                return;
            }
        };
        for missing in &path.missing {
            not_checked.push(format!("voltage drop: {missing}"));
        }
        if path.runs.is_empty() {
            return;
        }
        let phases = self.load.phases(self.turn()).count();
        let volts = if phases == 2 {
            self.site().supply.line_voltage_v
        } else {
            self.site().supply.phase_voltage_v()
        };
        let (limit, usage) = self.drop_limit();
        let at = format!("{:.0} m from the supply{usage}", path.length_m);
        let running = if self.load.generates() {
            (CheckName::VoltageRise, Added::Running, self.rise_limit_pct)
        } else {
            (CheckName::VoltageDrop, Added::Running, limit)
        };
        let starting = (
            CheckName::VoltageDropStarting,
            Added::Starting,
            self.starting_drop_limit_pct,
        );
        let starts = self.load.starting.is_some() && !self.load.generates();
        let checked = [Some(running), starts.then_some(starting)];
        for (name, added, limit) in checked.into_iter().flatten() {
            let drop: f64 = path
                .runs
                .iter()
                .map(|run| {
                    let z = (run.z, run.z_neutral);
                    run.node.map_or_else(
                        || Carried::nothing().largest_drop(self.load, added, self.turn(), z),
                        |node| self.drop_v(node, added, z),
                    )
                })
                .sum();
            let value = (100.0 * drop / volts, limit);
            checks.push(Check::new(name, at.clone(), value, "%", path.basis(self)));
        }
    }

    fn drop_limit(&self) -> (f64, String) {
        match self.node {
            Node::Circuit(index) => {
                let circuit = &self.site().circuits[index];
                (circuit.voltage_drop_limit_pct, String::new())
            }
            _ => (5.0, ", on a circuit of its own".to_owned()),
        }
    }

    fn path(&self) -> Result<CablePath, VoltageDropError> {
        let mut path = CablePath::default();
        let site = self.site();
        if let Some(cable) = self.load.new.cable {
            match self.own.mm2 {
                Some(mm2) => path.add(None, cable.length_m, (mm2, mm2), Conductor::Copper)?,
                None => path.missing.push(
                    "the cross-sectional area of the machine's own cable is not known".to_owned(),
                ),
            }
        }
        for node in self.network.upstream(self.node) {
            let cable: Option<Cable> = match node {
                Node::Supply => continue,
                Node::Board(index) => site.boards[index].feeder,
                Node::Circuit(index) => site.circuits[index].cable,
            };
            match cable {
                Some(cable) => path.add(
                    Some(node),
                    cable.length_m,
                    (cable.phase_mm2, cable.neutral_mm2),
                    cable.conductor,
                )?,
                None => path.missing.push(format!(
                    "{} has no cable data; its voltage drop is not included",
                    site.node_name(node)
                )),
            }
        }
        Ok(path)
    }

    /// Length of the path as far as it is declared. (m)
    pub(super) fn path_m(&self) -> f64 {
        self.path().map_or(0.0, |path| path.length_m)
    }
}
