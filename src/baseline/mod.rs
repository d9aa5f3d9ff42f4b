//! What the energy should have been by its variables, and where it has gone since.
//!
//! In: a meter's energy by local day, the calendar, and the user's own series ([`read_variables`]). Out: a
//! [`Baseline`] by ordinary least squares with its limits, what was expected of every day, week or month
//! since with prediction intervals and the cumulative difference, or a [`Refusal`] that says why not;
//! and the unusual days ([`unusual_days`]). Only whole days enter; nothing is filled in.

mod baseline_period;
mod baseline_request;
mod collinearity;
mod compare;
mod day_type;
mod days;
mod energy_index;
mod limits;
mod model;
mod outlier_causes;
mod period;
mod refusal;
mod result;
mod term;
mod unusual_days;
mod variable_file;
mod variable_trace;

pub use baseline_period::BaselinePeriod;
pub use baseline_request::BaselineRequest;
pub use compare::baseline;
pub use day_type::DayType;
pub use days::{Calendar, DayShape, DayTotal};
pub use energy_index::EnergyIndex;
pub use refusal::Refusal;
pub use result::{
    Baseline, Change, DifferenceSince, FittedTerm, HoursDiffer, LimitsBeside, PartDiffers,
    StandingOut,
};
pub use unusual_days::{FEWEST_DAYS, POSSIBLE_OUTLIER, unusual_days};
pub use variable_file::{VariableValues, read_variables};
pub use variable_trace::{VariablePoint, VariableTrace};
