//! The result of placing several machines together, ready for text, JSON and CSV.

use schemars::JsonSchema;
use serde::Serialize;

use crate::check::Check;
use crate::running_cost::RunningCost;
use crate::supply_effect::SupplyEffect;
use balance::BasedOn;
use site::{Connection, ProtectiveDevice};

/// A new machine at its connection point.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PlacedMachine {
    /// Its name.
    pub machine: String,
    /// Design current of one machine. (A)
    pub design_current_a: f64,
    /// The circuit, or the board for a new circuit.
    pub circuit: String,
    /// The connection.
    pub connection: Connection,
    /// Do all checks pass, with the others at their connection points?
    pub fits: bool,
    /// The checks that fail; empty where all pass.
    pub reason: String,
    /// Protective device: its own, or the one proposed.
    pub device: Option<ProtectiveDevice>,
    /// Cross-sectional area of its own cable: given, or proposed from the user's table. (mm²)
    pub cable_mm2: Option<f64>,
    /// Length of cable from the supply to it, as far as it is declared. (m)
    pub path_m: f64,
    /// The checks.
    pub checks: Vec<Check>,
    /// Checks that were not possible, and the data they need.
    pub not_checked: Vec<String>,
    /// Assumptions for values that are not on its rating plate.
    pub typical: Vec<String>,
}

/// The same machines placed one after another in the order of the list.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct OneAfterTheOther {
    /// Machines that pass once all are placed.
    pub fitting: usize,
    /// Neutral of the supply, root mean square over time. (A)
    pub neutral_rms_a: f64,
}

/// All machines of a list at their connection points.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Together {
    /// The machines, in the order of the list.
    pub machines: Vec<PlacedMachine>,
    /// Do all of them pass?
    pub all_fit: bool,
    /// Effect of all of them at the supply.
    #[serde(flatten)]
    pub effect: SupplyEffect,
    /// Energy and cost of all of them.
    pub running_cost: RunningCost,
    /// Sum of the lengths of their paths. (m)
    pub path_m: f64,
    /// Is this combination proven to be the best?
    pub is_best_of_all: bool,
    /// Number of combinations of connection points, up to the largest that can be counted.
    pub combinations: u64,
    /// Combinations that were checked.
    pub looked_at: usize,
    /// For comparison.
    pub one_after_the_other: OneAfterTheOther,
    /// The data behind the intervals.
    pub based_on: BasedOn,
    /// Number of intervals.
    pub intervals: usize,
    /// Length of an interval. (s)
    pub interval_s: i64,
    /// Demand period. (min)
    pub demand_window_min: u32,
    /// Assumptions, one sentence each.
    pub notes: Vec<String>,
    /// What is not checked, and who decides.
    pub cautions: Vec<String>,
}
