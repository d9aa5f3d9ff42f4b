//! What placing several machines together gives, ready for text, JSON and CSV.

use schemars::JsonSchema;
use serde::Serialize;

use crate::check::Check;
use crate::running_cost::RunningCost;
use crate::supply_effect::SupplyEffect;
use balance::BasedOn;
use site::{Connection, ProtectiveDevice};

/// A machine of the list at its place.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PlacedMachine {
    /// Its name.
    pub machine: String,
    /// Design current of one machine. (A)
    pub design_current_a: f64,
    /// The circuit, or the board that a new circuit would leave.
    pub circuit: String,
    /// The connection.
    pub connection: Connection,
    /// Are all checks met with the others at their places?
    pub fits: bool,
    /// What fails; empty where nothing does.
    pub reason: String,
    /// Protective device: its own, or the one proposed.
    pub device: Option<ProtectiveDevice>,
    /// Section of its own cable: given, or proposed from the user's table. (mm²)
    pub cable_mm2: Option<f64>,
    /// Length of cable from the supply to it, as far as it is declared. (m)
    pub path_m: f64,
    /// The checks.
    pub checks: Vec<Check>,
    /// What could not be checked, and what it would need.
    pub not_checked: Vec<String>,
    /// What its plate leaves out and is taken as typical.
    pub typical: Vec<String>,
}

/// The same machines placed in the order of the list, each without regard for those that follow.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct OneAfterTheOther {
    /// Machines that fit in the end, all of them being there.
    pub fitting: usize,
    /// Neutral of the supply, root mean square over time. (A)
    pub neutral_rms_a: f64,
}

/// All machines of a list at their places.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Together {
    /// The machines, in the order of the list.
    pub machines: Vec<PlacedMachine>,
    /// Do all of them fit?
    pub all_fit: bool,
    /// What all of them do to the supply.
    #[serde(flatten)]
    pub effect: SupplyEffect,
    /// What all of them draw and cost.
    pub running_cost: RunningCost,
    /// Sum of the lengths of their paths. (m)
    pub path_m: f64,
    /// Was every better combination of places ruled out?
    pub is_best_of_all: bool,
    /// Combinations of places that there are; the largest number where there are more.
    pub combinations: u64,
    /// Combinations that were checked.
    pub looked_at: usize,
    /// For comparison.
    pub one_after_the_other: OneAfterTheOther,
    /// What the intervals are.
    pub based_on: BasedOn,
    /// Number of intervals.
    pub intervals: usize,
    /// Length of an interval. (s)
    pub interval_s: i64,
    /// Length of a demand block. (min)
    pub demand_window_min: u32,
    /// Assumptions, one sentence each.
    pub notes: Vec<String>,
    /// What is not checked, and who decides.
    pub cautions: Vec<String>,
}
