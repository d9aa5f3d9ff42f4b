//! One meter: its energies, demand, currents, profile and what they rest on.

pub(crate) mod basis;
pub(crate) mod blocks;
pub(crate) mod carbon;
pub(crate) mod complete_blocks;
pub(crate) mod data_problems;
pub(crate) mod demand_trace;
pub(crate) mod directions;
pub(crate) mod energy;
pub(crate) mod meter_energy;
pub(crate) mod profile;
mod quarter;
pub(crate) mod quarter_hours;
pub(crate) mod quarters;
pub(crate) mod sliding;
pub(crate) mod unbalance;
pub(crate) mod usage;
