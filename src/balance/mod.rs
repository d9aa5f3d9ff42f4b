//! Which phase each movable load should be tapped off.
//!
//! Comes in: a [`Problem`], plain series of currents of what can move and what stays, with limits.
//! Goes out: a [`Solution`], the turn of each unit, with a lower bound and what few moves give.

mod answer;
mod board_ways;
mod bound;
mod branch;
mod capped;
mod certificate;
mod changes;
mod connections;
mod currents;
mod curve;
mod descent;
mod effect;
mod enumerate;
mod error;
mod evaluation;
mod figures;
mod fix;
mod from_site;
mod grid;
mod infeasible;
mod lessen;
mod limits;
mod loss;
mod measured;
mod meet;
mod model;
mod node_currents;
mod nodes;
mod order_rules;
mod order_search;
mod peak;
mod problem;
mod profile;
mod quadratic;
mod random;
mod record;
mod result;
mod rounds;
#[cfg(test)]
mod samples;
mod screen;
mod search;
mod settings;
mod solution;
mod solve;
mod standing;
mod state;
mod ties;
mod trial;
mod units;
mod work_order;

pub use answer::{balance, balance_with};
pub use certificate::{Certificate, certificate};
pub use currents::Currents;
pub use error::BalanceError;
pub use evaluation::{Evaluation, Excess};
pub use fix::{Fix, read_fix};
pub use infeasible::{Infeasible, MissingWays, NeededLimit, PassedLimit};
pub use loss::FeederResistance;
pub use node_currents::NodeCurrents;
pub use problem::{Node, Problem, ProblemError, Share, Unit, Ways};
pub use result::{
    BalanceResult, BalanceTrace, BasedOn, FeederLoss, MachineShare, Move, MovesPoint, NodeFigures,
    NodeResult, Objective, PeakBlock, Peaks, PhasorMoment, Proof,
};
pub use settings::Settings;
pub use solution::{CurvePoint, Solution};
pub use solve::solve;
pub use standing::{MachineSeries, Standing, connection_of, standing_connection, turn};
pub use trial::{Slot, TrialBoard, TrialFigures, TrialNode, TrialPlan, TrialUnit, Wave};
pub use work_order::{WaysCount, WorkMove, WorkOrder, WorkStep};
