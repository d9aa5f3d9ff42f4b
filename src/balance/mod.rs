//! Which phase each movable load should be tapped off.
//!
//! Comes in: a [`Problem`], plain series of currents of what can move and what stays, with limits.
//! Goes out: a [`Solution`], the turn of each unit, with a lower bound and what few moves give.

mod bound;
mod branch;
mod changes;
mod currents;
mod curve;
mod descent;
mod enumerate;
mod evaluation;
mod lessen;
mod limits;
mod model;
mod problem;
mod quadratic;
mod random;
mod record;
mod result;
#[cfg(test)]
mod samples;
mod search;
mod settings;
mod solution;
mod solve;
mod state;
mod ties;

pub use currents::Currents;
pub use evaluation::{Evaluation, Excess};
pub use problem::{Node, Problem, ProblemError, Share, Unit, Ways};
pub use result::{
    BalanceResult, BalanceTrace, Basis, MachineShare, Move, MovesPoint, NodeFigures, NodeResult,
    Objective, PhasorMoment, Proof,
};
pub use settings::Settings;
pub use solution::{CurvePoint, Solution};
pub use solve::solve;
