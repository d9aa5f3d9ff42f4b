//! Which phase each load is tapped off, whether a new machine fits, what the meter logs say is
//! wrong, and where the kWh go.

pub mod app;
pub mod balance;
pub mod chart;
pub mod cli;
pub mod demand;
pub mod electrical;
pub mod export;
pub mod finding;
pub mod message;
pub mod metering;
pub mod report;
pub mod site;
pub mod units;
