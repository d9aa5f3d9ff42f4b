//! One check of a connection point: value, limit and source.

use schemars::JsonSchema;
use serde::Serialize;

/// The quantity that is checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CheckName {
    /// Nothing is placed on a conductor with a danger until it is repaired.
    RepairFirst,
    /// `I_B` ≤ `I_n` of the machine's own device.
    DesignCurrent,
    /// `I_n` ≤ `I_z` of the machine's own cable.
    DeviceAndCable,
    /// `I_2` ≤ 1.45 · `I_z` of the machine's own cable, where the device is a fuse.
    OverloadProtection,
    /// Capacity of the machine's own cable with third harmonics.
    CableCapacity,
    /// The machine's own circuit-breaker does not trip while it starts.
    StartingRelease,
    /// Current of the circuit compared with its protective device.
    CircuitLoading,
    /// `I_n` ≤ `I_z` of the circuit.
    CircuitDeviceAndCable,
    /// `I_2` ≤ 1.45 · `I_z` of the circuit, where its device is a fuse.
    CircuitOverloadProtection,
    /// Capacity of the circuit's cable with third harmonics.
    CircuitCableCapacity,
    /// The circuit's circuit-breaker does not trip while the machine starts.
    CircuitStartingRelease,
    /// A phase of a board or of the supply.
    PhaseLoading,
    /// The neutral of a board or of the supply.
    NeutralLoading,
    /// The transformer by its most heavily loaded phase.
    TransformerLoading,
    /// Voltage drop from the supply to the machine, running.
    VoltageDrop,
    /// Voltage drop while the machine starts.
    VoltageDropStarting,
    /// Voltage rise from the supply to what generates, at full output while nothing draws.
    VoltageRise,
    /// Cable of a circuit that its device and a machine that generates feed together.
    CircuitFedFromTwoSides,
    /// Ratio of the ratings of two fuses in series.
    Selectivity,
    /// Ways of the board.
    Ways,
}

impl CheckName {
    /// All, in the order in which they are shown.
    pub const ALL: [CheckName; 20] = [
        CheckName::RepairFirst,
        CheckName::DesignCurrent,
        CheckName::DeviceAndCable,
        CheckName::OverloadProtection,
        CheckName::CableCapacity,
        CheckName::StartingRelease,
        CheckName::CircuitLoading,
        CheckName::CircuitDeviceAndCable,
        CheckName::CircuitOverloadProtection,
        CheckName::CircuitCableCapacity,
        CheckName::CircuitStartingRelease,
        CheckName::PhaseLoading,
        CheckName::NeutralLoading,
        CheckName::TransformerLoading,
        CheckName::VoltageDrop,
        CheckName::VoltageDropStarting,
        CheckName::VoltageRise,
        CheckName::CircuitFedFromTwoSides,
        CheckName::Selectivity,
        CheckName::Ways,
    ];

    /// Kebab-case name, as in JSON.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            CheckName::RepairFirst => "repair-first",
            CheckName::DesignCurrent => "design-current",
            CheckName::DeviceAndCable => "device-and-cable",
            CheckName::OverloadProtection => "overload-protection",
            CheckName::CableCapacity => "cable-capacity",
            CheckName::StartingRelease => "starting-release",
            CheckName::CircuitLoading => "circuit-loading",
            CheckName::CircuitDeviceAndCable => "circuit-device-and-cable",
            CheckName::CircuitOverloadProtection => "circuit-overload-protection",
            CheckName::CircuitCableCapacity => "circuit-cable-capacity",
            CheckName::CircuitStartingRelease => "circuit-starting-release",
            CheckName::PhaseLoading => "phase-loading",
            CheckName::NeutralLoading => "neutral-loading",
            CheckName::TransformerLoading => "transformer-loading",
            CheckName::VoltageDrop => "voltage-drop",
            CheckName::VoltageDropStarting => "voltage-drop-starting",
            CheckName::VoltageRise => "voltage-rise",
            CheckName::CircuitFedFromTwoSides => "circuit-fed-from-two-sides",
            CheckName::Selectivity => "selectivity",
            CheckName::Ways => "ways",
        }
    }

    /// Source of the rule.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            CheckName::RepairFirst => {
                "finding of `diagnose`: heat in a joint grows with the square of its current"
            }
            CheckName::DesignCurrent
            | CheckName::DeviceAndCable
            | CheckName::OverloadProtection
            | CheckName::CircuitLoading
            | CheckName::CircuitDeviceAndCable
            | CheckName::CircuitOverloadProtection => "IEC 60364-4-43, 433.1",
            CheckName::CableCapacity | CheckName::CircuitCableCapacity => {
                "IEC 60364-5-52, table E.52.1; capacity as declared, with its derating"
            }
            CheckName::StartingRelease | CheckName::CircuitStartingRelease => {
                "IEC 60898-1, table 7: lower limit of instantaneous tripping"
            }
            CheckName::PhaseLoading | CheckName::NeutralLoading => "limit declared in site.toml",
            CheckName::TransformerLoading => {
                "rated power declared in site.toml; three times the most heavily loaded of its phases (common practice)"
            }
            CheckName::VoltageDrop => {
                "IEC 60364-5-52, annex G; the circuit's own limit, else that of table G.52.1"
            }
            CheckName::VoltageDropStarting => {
                "IEC 60364-5-52, annex G; limit while starting by `--start-drop-limit-pct`, default 10 % (common practice)"
            }
            CheckName::VoltageRise => {
                "formula of IEC 60364-5-52, annex G, with the current reversed; limit by `--rise-limit-pct`, default 1 % (common \
                 practice; the network operator's rules come first)"
            }
            CheckName::CircuitFedFromTwoSides => {
                "IEC 60364-5-55, 551.7.2: I_z of the final circuit at least I_n + I_g (value not checked against the standard's \
                 text)"
            }
            CheckName::Selectivity => {
                "IEC 60269-2: ratio 1.6 between gG fuses (value not checked against the standard's text)"
            }
            CheckName::Ways => "ways declared in site.toml",
        }
    }

    /// Is the limit a minimum rather than a maximum?
    #[must_use]
    pub const fn is_at_least(self) -> bool {
        matches!(self, CheckName::Selectivity)
    }
}

/// One check with its figures.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Check {
    /// The quantity that is checked.
    pub check: CheckName,
    /// Where: the machine's own device or cable, a circuit, a node and its conductor.
    pub at: String,
    /// Does it pass?
    pub pass: bool,
    /// The value.
    pub value: f64,
    /// The limit.
    pub limit: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// What the value rests on: `measured`, `by difference of meters`, `meters of its machines`, `declared`.
    pub basis: String,
    /// Source of the rule.
    pub source: &'static str,
}

impl Check {
    /// Compares; a value equal to the limit within rounding passes.
    #[must_use]
    pub fn new(
        check: CheckName,
        at: impl Into<String>,
        (value, limit): (f64, f64),
        unit: &'static str,
        basis: impl Into<String>,
    ) -> Check {
        let slack = 1e-9 * limit.abs();
        let pass = if check.is_at_least() {
            value >= limit - slack
        } else {
            value <= limit + slack
        };
        Check {
            check,
            at: at.into(),
            pass,
            value,
            limit,
            unit,
            basis: basis.into(),
            source: check.source(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ratio_is_a_minimum_and_a_current_a_maximum() {
        let current =
            |amps| Check::new(CheckName::DesignCurrent, "", (amps, 16.0), "A", "declared").pass;
        assert!(current(16.0) && !current(16.1));
        let ratio = |ratio| Check::new(CheckName::Selectivity, "", (ratio, 1.6), "", "").pass;
        assert!(ratio(1.6) && !ratio(1.5));
    }

    #[test]
    fn names_are_those_of_the_results() {
        for name in CheckName::ALL {
            let json = serde_json::to_string(&name).expect("a name");
            assert_eq!(json, format!("\"{}\"", name.name()));
        }
    }
}
