//! Phase allocation: which phase each movable load should be on.
//!
//! In: a [`Problem`], plain series of currents of movable and fixed loads, with limits.
//! Out: a [`Solution`], the turn of each unit, with a lower bound and the best plans with fewer moves.

mod answer;
mod expected;
mod form;
mod node_currents;
mod pose;
mod problem;
mod prove;
#[cfg(test)]
mod samples;
mod search;
mod solve;
mod work;

pub use crate::answer::certificate::{Certificate, certificate};
pub use crate::answer::few_moves::{FewMoves, few_moves};
pub use crate::answer::figures::NodeFigures;
pub use crate::answer::infeasible::{Infeasible, MissingWays, NeededLimit, OverloadedConductor};
pub use crate::answer::phase_doubt::{DoubtfulPhases, PlanElsewhere, WorthKnowing};
pub use crate::answer::result::{
    AfterRepair, BalanceResult, BalanceTrace, FeederLoss, LaterMove, MachineShare, Move,
    MovesPoint, NodeResult, OptionalMove, PeakBlock, Peaks, PhasorMoment,
};
pub use crate::answer::what_if::{
    Slot, TrialBoard, TrialFigures, TrialNode, TrialPlan, TrialUnit, Wave,
};
pub use crate::expected::{
    ConnectedLoad, PHASE_DOUBT, RoundFigures, RoundState, turns_by_readings,
};
pub use crate::pose::based_on::BasedOn;
pub use crate::pose::fix::{Fix, read_fix};
pub use crate::pose::hold_back::HeldBack;
pub use crate::pose::present_currents::{
    MachineSeries, Standing, connection_of, standing_connection, turn,
};
pub use crate::problem::currents::Currents;
pub use crate::problem::error::BalanceError;
pub use crate::problem::evaluation::{Evaluation, Excess};
pub use crate::problem::feeder_resistance::FeederResistance;
pub use crate::problem::objective::Objective;
pub use crate::problem::problem::{Problem, ProblemError, ProblemNode, Share, Unit, Ways};
pub use crate::problem::proof::Proof;
pub use crate::problem::settings::Settings;
pub use crate::problem::solution::{CurvePoint, Solution};
pub use crate::work::work_order::{WaysCount, WorkMove, WorkOrder, WorkStep};
pub use answer::{balance, balance_with};
pub use node_currents::NodeCurrents;
pub use solve::solve;
