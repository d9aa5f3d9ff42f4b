//! Which phase each load is on: probabilities from logs, switching tests, clamp readings and the machine list.
//!
//! In: the site, its logs and rounds of readings, and its switching tests. Out: a [`PhaseResult`]: for each load on one
//! or two phases the connection that it probably has, with its probability, what that rests on and what would settle
//! it. [`settle`] puts what is certain enough into the machine list, for the rooms that plan.
//!
//! One model: each load is on exactly one of its possible connections, and what is seen of different loads or by
//! different means is independent given the connections. So the probabilities that the list gives beforehand are
//! multiplied by the likelihood of each source in turn: the logs of loads with meters, all loads at once (`changes`),
//! then what single machines showed, then the
//! steps that recur in the log of the supply (`recurring`), then rounds of readings.

pub mod changes;
mod identify;
mod metered;
mod options;
mod plan_doubt;
mod recurring;
mod result;
mod steps;
mod worth;

pub use identify::{identify, settle};
pub use plan_doubt::plan_doubt;
pub use result::{
    IndistinctLoads, LoadPhase, PhaseOption, PhaseResult, PhaseStatus, shown_probability_pct,
};
pub use worth::worth_knowing;
