//! The result of phase allocation, ready for text, JSON, charts and the report.

use crate::answer::phase_doubt::DoubtfulPhases;
use chrono::{DateTime, Utc};
use num_complex::Complex64;
use schemars::JsonSchema;
use serde::Serialize;

use super::figures::NodeFigures;
use super::infeasible::Infeasible;
use crate::answer::what_if::TrialBoard;
use crate::expected::{ConnectedLoad, RoundFigures};
use crate::pose::based_on::BasedOn;
use crate::pose::hold_back::HeldBack;
use crate::problem::objective::Objective;
use crate::problem::proof::Proof;
use crate::work::work_order::WorkOrder;
use site::Connection;
use units::Basis;

/// Heat losses in the declared feeders.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct FeederLoss {
    /// Now, for a year like the period. (kWh) `None` where a machine is not yet allocated.
    pub before_kwh_per_year: Option<f64>,
    /// After the moves. (kWh)
    pub after_kwh_per_year: f64,
    /// Cost now, each interval at the price of its band, tax included. (currency) `None` without a tariff in bands
    /// for the whole period, or while a machine is not allocated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before_cost_per_year: Option<f64>,
    /// Cost after the moves. (currency)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after_cost_per_year: Option<f64>,
    /// No allocation has lower losses; known where the losses are minimised. (kWh)
    pub lower_bound_kwh_per_year: Option<f64>,
}

/// Largest current of the demand periods at the supply, each rms over its period.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Peaks {
    /// Length of a demand period, or of an interval where no demand periods can be formed. (s)
    pub block_s: u32,
    /// Now; `None` where a machine is not yet allocated.
    pub before: Option<PeakBlock>,
    /// After the moves.
    pub after: PeakBlock,
    /// No allocation has a lower peak. (A)
    pub lower_bound_a: Option<f64>,
}

/// The demand period in which a current is largest.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PeakBlock {
    /// Root mean square over the block. (A)
    pub current_a: f64,
    /// The conductor.
    pub conductor: &'static str,
    /// Start of the block.
    #[serde(serialize_with = "units::serial::utc")]
    pub at: DateTime<Utc>,
}

/// One machine that changes its phase.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Move {
    /// The machine's name.
    pub machine: String,
    /// Its connection now; `any` when it is not yet allocated.
    pub from: Connection,
    /// Its connection in the plan.
    pub to: Connection,
    /// How likely the move lowers the neutral, all the other moves made, by what list and readings leave open. (%)
    /// `None` where the figures are measured.
    pub helps_pct: Option<f64>,
    /// The one- or two-phase circuit that moves as a whole, where the machine is on one.
    pub with_circuit: Option<String>,
    /// Its step in the work order, from 1; `None` where only the list's entry changes, the circuit
    /// being there already.
    pub step: Option<usize>,
    /// Saving in the neutral rms if this is the only move, with all that moves with
    /// it; negative where it adds. `None` while a machine has no phase yet. (A)
    pub gain_alone_a: Option<f64>,
    /// What the neutral's rms gains when all moves are made but this one, with all that moves with
    /// it. `None` where the machine has no phase yet. (A)
    pub loss_without_a: Option<f64>,
}

/// A move beyond the plan.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct OptionalMove {
    /// Its step, from 1: those of one step lower the neutral only together.
    pub step: usize,
    /// The machine's name.
    pub machine: String,
    /// Its connection in the plan.
    pub from: Connection,
    /// Its connection with the move.
    pub to: Connection,
    /// The supply's neutral rms with this step and those before it. (A)
    pub neutral_rms_a: f64,
}

/// Lowest neutral current with a given number of moves.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MovesPoint {
    /// Number of moves allowed.
    pub moves: usize,
    /// Neutral rms reached. (A)
    pub neutral_rms_a: f64,
    /// Feeder losses for a year like the period, where they are minimised. (kWh)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss_kwh_per_year: Option<f64>,
    /// Largest current of a demand period, where it is minimised. (A)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub peak_a: Option<f64>,
    /// Whether this is proven to be the best.
    pub proof: Proof,
    /// Are all limits kept? Where not, the overload is the smallest that was found.
    pub within_limits: bool,
    /// No allocation with this number of moves, within limits, has a lower neutral current. (A) `None` when unknown.
    pub lower_bound_neutral_rms_a: Option<f64>,
    /// How much better another could be at most, as a share of the value; 0 when proven. (%)
    pub gap_pct: Option<f64>,
}

/// The second step of a plan: what is moved once the conductors that are held back are repaired.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct AfterRepair {
    /// Machines that change then, from where the first step leaves them, in machine order.
    pub moves: Vec<LaterMove>,
    /// Supply, after both steps.
    pub after: NodeFigures,
    /// Lowest neutral that was found for then, with all moves. (A)
    pub best_neutral_rms_a: f64,
    /// Are all limits kept then?
    pub within_limits: bool,
    /// Whether that lowest neutral is proven to be the best of all allocations.
    pub proof: Proof,
}

/// One machine that changes its phase in the second step.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct LaterMove {
    /// The machine's name.
    pub machine: String,
    /// Its connection after the first step.
    pub from: Connection,
    /// Its connection after the second.
    pub to: Connection,
}

/// Figures of one node before and after.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct NodeResult {
    /// `supply`, or the board's or circuit's id.
    pub id: String,
    /// Basis: its own meter or readings, else the sum of the machines below it.
    pub basis: Basis,
    /// Limit per phase: of supply and board as declared, of a circuit the rating of its device. (A)
    pub phase_limit_a: Option<f64>,
    /// Limit of the neutral. (A)
    pub neutral_limit_a: Option<f64>,
    /// Now, as measured where there is a meter; `None` where a machine is not yet allocated.
    pub before: Option<NodeFigures>,
    /// After the moves.
    pub after: NodeFigures,
    /// By how much the uncorrected sum of the phase currents exceeds the neutral of `before`, rms over time. The plan
    /// uses the neutral as measured. (A) `None` without a meter.
    pub model_difference_neutral_rms_a: Option<f64>,
    /// The same of the largest neutral. (A)
    pub model_difference_neutral_max_a: Option<f64>,
}

/// One machine in the allocation.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MachineShare {
    /// The machine's name.
    pub machine: String,
    /// Phase before.
    pub from: Connection,
    /// Phase after.
    pub to: Connection,
    /// May it be moved?
    pub movable: bool,
    /// Basis of its profile.
    pub basis: Basis,
    /// Energy: of its own meter over all of its readings, as `energy` has it; without one, drawn over the analysis
    /// intervals. (kWh)
    pub energy_kwh: f64,
    /// Root mean square of its phase current over time. (A)
    pub current_rms_a: f64,
    /// Largest phase current of an interval. (A)
    pub current_max_a: f64,
}

/// Phasors of the supply at one moment, in the common frame (L1's voltage at 0°). (A)
#[derive(Clone, Debug, PartialEq)]
pub struct PhasorMoment {
    /// Start of the interval.
    pub at: DateTime<Utc>,
    /// Currents of L1, L2, L3.
    pub phases: [Complex64; 3],
    /// Their sum.
    pub neutral: Complex64,
    /// Part of the neutral that the phasors cannot explain (harmonics, switching within the interval).
    pub neutral_beyond_phasors_a: f64,
}

/// Series at the supply, for charts.
#[derive(Clone, Debug, PartialEq)]
pub struct BalanceTrace {
    /// Starts of the analysis intervals, Unix seconds, ascending.
    pub start_s: Vec<i64>,
    /// Length of an interval. (s)
    pub interval_s: u32,
    /// Phase currents now, L1, L2, L3. (A)
    pub phase_before_a: Option<[Vec<f64>; 3]>,
    /// Phase currents after the moves. (A)
    pub phase_after_a: [Vec<f64>; 3],
    /// Neutral now. (A)
    pub neutral_before_a: Option<Vec<f64>>,
    /// Neutral after the moves. (A)
    pub neutral_after_a: Vec<f64>,
    /// Phasors at the moment of the largest neutral now, before the moves.
    pub worst_before: Option<PhasorMoment>,
    /// Phasors at the same moment after the moves (at the largest neutral after, if there is no before).
    pub worst_after: PhasorMoment,
}

/// The whole result of `balance`.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BalanceResult {
    /// The quantity that was minimised.
    pub objective: Objective,
    /// The data behind the analysis intervals.
    pub based_on: BasedOn,
    /// Number of analysis intervals.
    pub intervals: usize,
    /// Length of an interval. (s)
    pub interval_s: u32,
    /// Start of the first interval.
    #[serde(serialize_with = "units::serial::utc")]
    pub from: DateTime<Utc>,
    /// End of the last interval.
    #[serde(serialize_with = "units::serial::utc")]
    pub to: DateTime<Utc>,
    /// Supply, now; `None` while a movable machine is still `any`.
    pub before: Option<NodeFigures>,
    /// Supply, after the moves.
    pub after: NodeFigures,
    /// Losses in the board feeders, for a year like the period; `None` where no feeder is declared.
    pub feeder_loss: Option<FeederLoss>,
    /// The highest demand period, where its current is minimised.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub peaks: Option<Peaks>,
    /// No allocation can have a lower neutral rms than this. (A) `None` where another quantity was minimised.
    pub lower_bound_neutral_rms_a: Option<f64>,
    /// 100·(after − bound)/after; 0 when after is 0. (%)
    pub gap_pct: Option<f64>,
    /// Whether the result is proven to be the best.
    pub proof: Proof,
    /// Conductors with a danger: until they are repaired nothing is moved onto them.
    pub held_back: Vec<HeldBack>,
    /// What is moved after the repair; `None` where nothing is held back.
    pub after_repair: Option<AfterRepair>,
    /// Machine and connection, in machine order.
    #[serde(serialize_with = "units::serial::pairs")]
    #[schemars(with = "std::collections::BTreeMap<String, Connection>")]
    pub allocation: Vec<(String, Connection)>,
    /// Number of moves of the plan: the fewest that keep every limit and take enough of the possible gain; all where
    /// they are asked for. 0: nothing is urged.
    pub recommended_moves: usize,
    /// Is all that could be gained in the neutral less than two readings of a clamp meter can show?
    pub gain_is_small: bool,
    /// Machines that change, in machine order.
    pub moves: Vec<Move>,
    /// Further moves that lead from the plan to the lowest neutral, in steps that each lower it; none where they are part
    /// of the plan, or no plan keeps the limits.
    pub optional_moves: Vec<OptionalMove>,
    /// The moves as work, in an order in which nothing is overloaded during the work.
    pub work_order: WorkOrder,
    /// Lowest neutral that was found, which is what is proven; the plan may have fewer moves. Where no allocation keeps
    /// the limits, that of the plan. (A)
    pub best_neutral_rms_a: f64,
    /// Rounds of readings: the supply as read, and after the moves.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rounds: Vec<RoundFigures>,
    /// Without a log: what is connected, against what is expected and the limits.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub connected_load: Vec<ConnectedLoad>,
    /// Why no allocation keeps within all limits. `None` where all are kept.
    pub infeasible: Option<Infeasible>,
    /// Neutral current against number of moves.
    pub moves_curve: Vec<MovesPoint>,
    /// Supply, boards and circuits.
    pub nodes: Vec<NodeResult>,
    /// Every machine with the figures of its profile.
    pub machines: Vec<MachineShare>,
    /// Loads whose phase is in doubt, where there are any and it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub phase_doubt: Option<DoubtfulPhases>,
    /// Assumptions and problems found in the data, one sentence each.
    pub notes: Vec<String>,
    /// Data of the what-if board, where the settings ask for it.
    #[serde(skip)]
    pub trial: Option<TrialBoard>,
    /// Series for charts.
    #[serde(skip)]
    pub trace: BalanceTrace,
}

impl BalanceResult {
    /// Do the figures rest on a log, not on list and readings?
    #[must_use]
    pub fn is_measured(&self) -> bool {
        self.based_on == BasedOn::Logs
    }

    /// Root mean square over the rounds of readings of the supply's neutral, before and after the moves. (A)
    /// `None` without rounds.
    #[must_use]
    pub fn rounds_rms_a(&self) -> Option<(f64, f64)> {
        let rms = |of: fn(&RoundFigures) -> f64| {
            let squares: f64 = self.rounds.iter().map(|round| of(round).powi(2)).sum();
            (squares / self.rounds.len().max(1) as f64).sqrt()
        };
        (!self.rounds.is_empty()).then(|| {
            (
                rms(|round| round.before.neutral_a),
                rms(|round| round.after.neutral_a),
            )
        })
    }

    /// The fewest moves that keep every limit, where a limit is exceeded now and the plan needs more moves.
    #[must_use]
    pub fn fewest_within_limits(&self) -> Option<&MovesPoint> {
        let first = self.moves_curve.first()?;
        let fewest = self.moves_curve.iter().find(|point| point.within_limits)?;
        (!first.within_limits && fewest.moves < self.recommended_moves).then_some(fewest)
    }
}
