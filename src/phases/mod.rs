//! Which phase each load is on: probabilities from logs.
//!
//! In: powers of the supply's phases and of the loads that have a meter. Out: for each load the probability of
//! each connection that it may have, all loads at once.

pub mod changes;
