//! What comes out.

use schemars::JsonSchema;
use serde::Serialize;

use balance::WorthKnowing;
use site::Connection;

/// How certain the phase of a load is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PhaseStatus {
    /// Where the list has it.
    AsListed,
    /// Elsewhere than the list has it.
    Elsewhere,
    /// The list gives no phase, and it is found.
    Found,
    /// More than one connection is still possible.
    InDoubt,
    /// Nothing was measured that shows it.
    NotMeasured,
}

/// A connection that a load may have.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PhaseOption {
    /// The connection.
    pub connection: Connection,
    /// Its probability, 0 to 1.
    pub probability: f64,
}

/// The phase of a load.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct LoadPhase {
    /// Name of the machine.
    pub machine: String,
    /// As the list has it.
    pub listed: Connection,
    /// The most probable connection; `None` where nothing was measured and the list gives none.
    pub probable: Option<Connection>,
    /// Its probability, 0 to 1; `None` where nothing was measured.
    pub probability: Option<f64>,
    /// How certain it is.
    pub status: PhaseStatus,
    /// What it rests on.
    pub basis: String,
    /// All connections that are possible, most probable first. Where nothing was measured their probabilities are an
    /// assumption: one line of a list in twenty is wrong.
    pub options: Vec<PhaseOption>,
    /// What would settle it; `None` where it is settled.
    pub to_settle: Option<String>,
    /// By how much its meter's clock is behind that of the meter above. (s)
    pub clock_behind_s: Option<f64>,
}

impl LoadPhase {
    /// Is the most probable connection certain enough to plan with?
    #[must_use]
    pub fn is_settled(&self) -> bool {
        matches!(
            self.status,
            PhaseStatus::AsListed | PhaseStatus::Elsewhere | PhaseStatus::Found
        )
    }
}

/// A probability as people are shown it: beyond 99 % trials do not show that it can be relied on. (%)
///
/// ```
/// use phases::shown_probability_pct;
/// assert_eq!(shown_probability_pct(0.975), 97.5);
/// assert_eq!(shown_probability_pct(0.9999), 99.0);
/// assert_eq!(shown_probability_pct(0.0), 1.0);
/// ```
#[must_use]
pub fn shown_probability_pct(share: f64) -> f64 {
    (100.0 * share).clamp(1.0, 99.0)
}

/// Two loads that cannot be distinguished: one of them is on one of the connections, the other on the other.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct IndistinctLoads {
    /// Names of the machines.
    pub machines: [String; 2],
    /// Their connections, in no order.
    pub connections: [Connection; 2],
    /// Probability that these are the connections of the two, 0 to 1.
    pub probability: f64,
}

/// The phases of all loads on one or two phases.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct PhaseResult {
    /// In the order of the list.
    pub loads: Vec<LoadPhase>,
    /// Loads whose connections are known together, but not which of them has which.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub indistinct: Vec<IndistinctLoads>,
    /// What it is worth to know the phase of the loads in doubt, where that was asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub worth_knowing: Vec<WorthKnowing>,
    /// What was assumed, and what was not used.
    pub notes: Vec<String>,
}

impl PhaseResult {
    /// Did any log, test or reading show the phase of a load?
    #[must_use]
    pub fn is_anything_measured(&self) -> bool {
        let mut loads = self.loads.iter();
        loads.any(|load| load.status != PhaseStatus::NotMeasured)
    }
}
