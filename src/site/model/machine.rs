//! Machines as declared.

use num_complex::Complex64;

use super::connection::Connection;
use super::device::ProtectiveDevice;
use super::node::Node;
use electrical::Phase;

/// Rated input of one machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rating {
    /// Active power, all phases together. (kW)
    Power(f64),
    /// Apparent power, all phases together. (kVA)
    Apparent(f64),
    /// Current per phase, rms with its harmonics. (A)
    Current(f64),
    /// Mechanical output and efficiency (0–1). (kW)
    Shaft {
        /// Output. (kW)
        kilowatts: f64,
        /// Output/input, 0–1.
        efficiency: f64,
    },
}

/// A row of the machine list.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Unique name.
    pub name: String,
    /// What it is fed from.
    pub tapped_off: Node,
    /// How it is connected.
    pub connection: Connection,
    /// Rated input of one machine.
    pub rating: Rating,
    /// Displacement power factor, 0–1.
    pub power_factor: f64,
    /// True where the current leads.
    pub leading: bool,
    /// Mean share of the rating over its schedule, 0–1; never above the load share.
    pub utilisation_factor: f64,
    /// Share of the rating while it is on, above 0 to 1.
    pub load_share: f64,
    /// Can a current flow in its neutral? Not of a load between phases, nor of a three-wire load.
    pub has_neutral: bool,
    /// Third harmonic as a share of the fundamental current, 0.3 for 30 %.
    pub third_harmonic: f64,
    /// Does it draw or generate?
    pub role: MachineRole,
    /// When it runs; `None`: always.
    pub schedule: Option<usize>,
    /// Equal machines in this row.
    pub quantity: u32,
    /// May its phase be changed?
    pub movable: bool,
    /// Machines with the same word stay on one phase.
    pub keep_with: Option<String>,
    /// Its own protective device.
    pub protective_device: Option<ProtectiveDevice>,
    /// The meter whose log is its profile.
    pub meter: Option<usize>,
    /// Free text.
    pub description: String,
    /// Line of the machine list, for messages.
    pub line: usize,
}

/// Which way a machine's power flows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum MachineRole {
    /// From the source to it.
    #[default]
    Load,
    /// From it towards the source: a photovoltaic inverter, a generator.
    Generation,
}

impl Machine {
    /// Does it generate?
    #[must_use]
    pub fn generates(&self) -> bool {
        self.role == MachineRole::Generation
    }

    /// Sign of its active power: 1 for a load, −1 for generation (sign convention of IEC 60375: what is drawn is positive).
    #[must_use]
    pub fn flow(&self) -> f64 {
        if self.generates() { -1.0 } else { 1.0 }
    }

    /// Complex power P + jQ of the whole row at rated load, lagging positive, whichever way it flows ([`flow`](Self::flow)).
    /// [kW, kvar]
    ///
    /// `phase_voltage_v` is the voltage between phase and neutral.
    #[must_use]
    pub fn rated_power(&self, phase_voltage_v: f64) -> Complex64 {
        let count = f64::from(self.quantity);
        let reactive_share = (1.0 - self.power_factor.powi(2)).max(0.0).sqrt();
        let from_apparent = |kva: f64| {
            let sign = if self.leading { -1.0 } else { 1.0 };
            Complex64::new(kva * self.power_factor, sign * kva * reactive_share) * count
        };
        match self.rating {
            Rating::Power(kw) => from_apparent(kw / self.power_factor),
            Rating::Shaft {
                kilowatts,
                efficiency,
            } => from_apparent(kilowatts / efficiency / self.power_factor),
            Rating::Apparent(kva) => from_apparent(kva),
            Rating::Current(amps) => {
                // The rated current is rms with its harmonics; power is carried by the fundamental.
                let fundamental = amps / (1.0 + self.third_harmonic.powi(2)).sqrt();
                let volts = match self.connection {
                    Connection::Between(_) | Connection::AnyPair => {
                        phase_voltage_v * 3.0_f64.sqrt()
                    }
                    Connection::ThreePhase { .. } => 3.0 * phase_voltage_v,
                    Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => {
                        phase_voltage_v
                    }
                };
                from_apparent(fundamental * volts / 1000.0)
            }
        }
    }

    /// Current of the whole row in each phase that it is on, at its rating. (A)
    ///
    /// `phase_voltage_v` is the voltage between phase and neutral.
    #[must_use]
    pub fn rated_current_a(&self, phase_voltage_v: f64) -> f64 {
        let volts = match self.connection {
            Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => phase_voltage_v,
            Connection::Between(_) | Connection::AnyPair => 3.0_f64.sqrt() * phase_voltage_v,
            Connection::ThreePhase { .. } => 3.0 * phase_voltage_v,
        };
        let fundamental = 1000.0 * self.rated_power(phase_voltage_v).norm() / volts;
        fundamental * (1.0 + self.third_harmonic.powi(2)).sqrt()
    }

    /// Share of the time of its schedule for which it is on, 0–1: then it draws its load share.
    #[must_use]
    pub fn on_share(&self) -> f64 {
        self.utilisation_factor / self.load_share
    }

    /// Does a phase carry its current (as connected now)?
    #[must_use]
    pub fn loads(&self, phase: Phase) -> bool {
        match self.connection {
            Connection::ToNeutral(own) => own == phase,
            Connection::Between(pair) => {
                let (leaves, returns) = pair.phases();
                phase == leaves || phase == returns
            }
            Connection::ThreePhase { .. } => true,
            Connection::Any | Connection::AnyPair | Connection::Unknown => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn machine(connection: Connection, rating: Rating) -> Machine {
        Machine {
            name: "m".into(),
            tapped_off: Node::Supply,
            connection,
            rating,
            power_factor: 0.8,
            leading: false,
            utilisation_factor: 1.0,
            load_share: 1.0,
            has_neutral: true,
            third_harmonic: 0.0,
            role: MachineRole::Load,
            schedule: None,
            quantity: 1,
            movable: true,
            keep_with: None,
            protective_device: None,
            meter: None,
            description: String::new(),
            line: 2,
        }
    }

    #[test]
    fn rated_power_of_each_way_to_declare_it() {
        let to_neutral = Connection::ToNeutral(Phase::L1);
        let power = |m: &Machine| m.rated_power(230.0);
        // 3-4-5 triangle: 4 kW at 0.8 is 5 kVA and 3 kvar.
        let m = machine(to_neutral, Rating::Power(4.0));
        assert!((power(&m) - Complex64::new(4.0, 3.0)).norm() < 1e-12);
        let m = machine(to_neutral, Rating::Apparent(5.0));
        assert!((power(&m) - Complex64::new(4.0, 3.0)).norm() < 1e-12);
        let m = machine(
            to_neutral,
            Rating::Shaft {
                kilowatts: 3.6,
                efficiency: 0.9,
            },
        );
        assert!((power(&m) - Complex64::new(4.0, 3.0)).norm() < 1e-12);
        let mut m = machine(to_neutral, Rating::Current(10.0));
        m.leading = true;
        assert!((power(&m) - Complex64::new(1.84, -1.38)).norm() < 1e-12);
    }

    #[test]
    fn a_load_is_on_for_its_mean_over_what_it_draws_then() {
        let mut m = machine(Connection::Any, Rating::Power(4.0));
        (m.utilisation_factor, m.load_share) = (0.3, 0.75);
        assert!((m.on_share() - 0.4).abs() < 1e-12);
    }

    #[test]
    fn rated_current_counts_once_per_phase() {
        let mut m = machine(Connection::THREE_PHASE, Rating::Current(10.0));
        assert!((m.rated_power(230.0).norm() - 6.9).abs() < 1e-12);
        m.connection = Connection::AnyPair;
        assert!((m.rated_power(230.0).norm() - 2.3 * 3.0_f64.sqrt()).abs() < 1e-12);
        m.quantity = 2;
        m.third_harmonic = 0.75;
        assert!((m.rated_power(230.0).norm() - 2.0 * 1.84 * 3.0_f64.sqrt()).abs() < 1e-12);
    }
}
