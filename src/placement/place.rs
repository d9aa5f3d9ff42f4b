//! What placing gives, ready for text, JSON and CSV.

use schemars::JsonSchema;
use serde::Serialize;

use super::check::Check;
use super::running_cost::RunningCost;
use super::supply_effect::SupplyEffect;
use balance::BasedOn;
use site::{Connection, ProtectiveDevice};
use units::Basis;

/// A machine of the list that would have to change its phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MoveNeeded {
    /// Its name.
    pub machine: String,
    /// Where it is.
    pub from: Connection,
    /// Where it would go.
    pub to: Connection,
}

/// What kind of change makes a place fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RemedyKind {
    /// Machines change their phase.
    Moves,
    /// Another rating of a protective device.
    Device,
    /// A larger cable of the user's own table.
    Cable,
}

/// A change after which all checks of the place are met.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Remedy {
    /// What kind.
    pub kind: RemedyKind,
    /// What to change, a sentence.
    pub change: String,
}

/// A circuit or board and the connection there.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Place {
    /// The circuit, or the board that a new circuit would leave.
    pub circuit: String,
    /// The connection.
    pub connection: Connection,
    /// Are all checks met as things are?
    pub fits: bool,
    /// From 1, the best.
    pub rank: usize,
    /// Why it stands where it stands.
    pub reason: String,
    /// Protective device of the machine: its own, or the one proposed.
    pub device: Option<ProtectiveDevice>,
    /// Section of the machine's own cable: given, or proposed from the user's table. (mm²)
    pub cable_mm2: Option<f64>,
    /// The checks.
    pub checks: Vec<Check>,
    /// What could not be checked, and what it would need.
    pub not_checked: Vec<String>,
    /// What it does to the supply.
    #[serde(flatten)]
    pub effect: SupplyEffect,
    /// Length of cable from the supply to the machine, as far as it is declared. (m)
    pub path_m: f64,
    /// Few moves that make the place fit; empty where none are needed or none were found.
    pub moves_needed: Vec<MoveNeeded>,
    /// Was every smaller number of moves ruled out?
    pub moves_are_fewest: bool,
    /// What else would make it fit.
    pub remedies: Vec<Remedy>,
}

/// The places of one machine, best first.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Placement {
    /// The machine's name.
    pub machine: String,
    /// Design current of one machine. (A)
    pub design_current_a: f64,
    /// Starting current of the row, one machine starting. (A)
    pub starting_current_a: Option<f64>,
    /// Where its profile comes from.
    pub profile: Basis,
    /// What the intervals are.
    pub based_on: BasedOn,
    /// Number of intervals.
    pub intervals: usize,
    /// Length of an interval. (s)
    pub interval_s: i64,
    /// Length of a demand block. (min)
    pub demand_window_min: u32,
    /// What it draws and costs, wherever it is connected.
    pub running_cost: RunningCost,
    /// What the plate leaves out and is taken as typical.
    pub typical: Vec<String>,
    /// The places, by rank.
    pub places: Vec<Place>,
    /// Where nothing fits: what stands in the way.
    pub failed_checks: Vec<String>,
    /// Assumptions, one sentence each.
    pub notes: Vec<String>,
    /// What is not checked, and who decides.
    pub cautions: Vec<String>,
}
