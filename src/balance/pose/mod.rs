//! From the installation and its logs to a problem: intervals, machine profiles, nodes, units that move together.

pub(crate) mod based_on;
pub(crate) mod cap_estimates;
pub(crate) mod connections;
pub(crate) mod fix;
pub(crate) mod from_site;
pub(crate) mod grid;
pub(crate) mod hold_back;
pub(crate) mod measured;
pub(crate) mod nodes;
pub(crate) mod present_currents;
pub(crate) mod profile;
pub(crate) mod third_harmonic;
pub(crate) mod three_wire;
pub(crate) mod units;
pub(crate) mod ways;
