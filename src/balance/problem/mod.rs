//! The problem and its solution: plain series of currents, limits, settings.

pub(crate) mod currents;
pub(crate) mod error;
pub(crate) mod evaluation;
pub(crate) mod feeder_resistance;
pub(crate) mod objective;
pub(crate) mod problem;
pub(crate) mod proof;
pub(crate) mod settings;
pub(crate) mod solution;
