//! Loads with meters of their own: their powers compared with those of the supply's phases, all loads at once.
//!
//! In: a [`PowerRecord`], the powers of the supply's phases and of the loads over the same intervals. Out: a
//! [`ChangeEstimate`] with the probability of each connection of each load, and what each meter's clock and gain are.
//!
//! The model. Each load is on exactly one of its possible connections; its meter has a gain error that does not change
//! and a clock of its own. What the supply's phases draw beyond the loads is the unmetered part: it follows its own
//! value of the interval before (autoregression of the first order), its innovations are correlated among the
//! phases and have long tails (Student's t, as a normal distribution whose scale differs from interval to interval).
//!
//! The method. Clocks, the autoregression and a first answer by coordinate ascent; then draws of connections, gains,
//! scales and the covariance from their joint posterior (Gibbs sampling, with exchanges of two loads), from several
//! starts, each cooled down from a flat distribution.

mod carried;
mod chain;
mod clocks;
mod estimate;
mod innovations;
mod leftover;
pub(crate) mod matrix;
mod moments;
mod record;
mod scale;

pub use estimate::{ChangeEstimate, LoadVerdict, estimate};
pub use record::{PowerRecord, RecordedLoad, TrialConnection};
