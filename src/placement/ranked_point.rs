//! The result of placement, ready for text, JSON and CSV.

use schemars::JsonSchema;
use serde::Serialize;

use super::check::Check;
use super::running_cost::RunningCost;
use super::supply_effect::SupplyEffect;
use balance::BasedOn;
use site::{Connection, ProtectiveDevice};
use units::Basis;

/// A listed machine that has to change its phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MoveNeeded {
    /// Its name.
    pub machine: String,
    /// Connection now.
    pub from: Connection,
    /// Connection after the move.
    pub to: Connection,
}

/// Kind of change after which a connection point passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RemedyKind {
    /// Machines change their phase.
    Moves,
    /// Another rating of a protective device.
    Device,
    /// A larger cable from the user's table.
    Cable,
}

/// A change after which all checks of the connection point pass.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Remedy {
    /// Kind of change.
    pub kind: RemedyKind,
    /// The change, in words.
    pub change: String,
}

/// A connection point: a circuit or board, and the connection there.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct RankedPoint {
    /// The circuit, or the board for a new circuit.
    pub circuit: String,
    /// The connection.
    pub connection: Connection,
    /// Do all checks pass now?
    pub fits: bool,
    /// From 1, the best.
    pub rank: usize,
    /// Reason for the rank.
    pub reason: String,
    /// Protective device of the machine: its own, or the one proposed.
    pub device: Option<ProtectiveDevice>,
    /// Cross-sectional area of the machine's own cable: given, or proposed from the user's table. (mm²)
    pub cable_mm2: Option<f64>,
    /// The checks.
    pub checks: Vec<Check>,
    /// Checks that were not possible, and the data they need.
    pub not_checked: Vec<String>,
    /// Effect at the supply.
    #[serde(flatten)]
    pub effect: SupplyEffect,
    /// Length of cable from the supply to the machine, as far as it is declared. (m)
    pub path_m: f64,
    /// Moves after which the connection point passes; empty where none are needed or none were found.
    pub moves_needed: Vec<MoveNeeded>,
    /// Was every smaller number of moves ruled out?
    pub moves_are_fewest: bool,
    /// Other changes after which it passes.
    pub remedies: Vec<Remedy>,
}

/// The connection points of one machine, best first.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Placement {
    /// The machine's name.
    pub machine: String,
    /// Design current of one machine. (A)
    pub design_current_a: f64,
    /// Starting current of the row, one machine starting. (A)
    pub starting_current_a: Option<f64>,
    /// Basis of its profile.
    pub profile: Basis,
    /// The data behind the intervals.
    pub based_on: BasedOn,
    /// Number of intervals.
    pub intervals: usize,
    /// Length of an interval. (s)
    pub interval_s: i64,
    /// Demand period. (min)
    pub demand_window_min: u32,
    /// Its energy and cost, wherever it is connected.
    pub running_cost: RunningCost,
    /// Assumptions for values that are not on the rating plate.
    pub typical: Vec<String>,
    /// The connection points, by rank.
    pub places: Vec<RankedPoint>,
    /// Where no connection point passes: the checks that fail.
    pub failed_checks: Vec<String>,
    /// Assumptions, one sentence each.
    pub notes: Vec<String>,
    /// What is not checked, and who decides.
    pub cautions: Vec<String>,
}
