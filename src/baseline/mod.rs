//! What the energy should have been by what drives it, and where it has gone since.
//!
//! In: a meter's energy by local day, the calendar, and the user's own series ([`read_variables`]). Out: a
//! [`Baseline`] by ordinary least squares with its limits, what was expected of every day, week or month
//! since with prediction intervals and the cumulative difference, or a [`Refusal`] that says why not;
//! and the days that stand out of their kind ([`unusual_days`]). Only whole days enter; nothing is filled in.

mod apart;
mod baseline_period;
mod compare;
mod day_type;
mod days;
mod differed;
mod energy_index;
mod limits;
mod model;
mod period;
mod refusal;
mod result;
mod stands_out;
mod term;
mod variable_file;
mod variable_trace;
mod wish;

pub use baseline_period::BaselinePeriod;
pub use compare::baseline;
pub use day_type::DayType;
pub use days::{Calendar, DayShape, DayTotal};
pub use energy_index::EnergyIndex;
pub use refusal::Refusal;
pub use result::{
    Baseline, Change, DifferenceSince, FittedTerm, HoursDiffer, LimitsBeside, PartDiffers,
    StandingOut,
};
pub use stands_out::{FEWEST_DAYS, POSSIBLE_OUTLIER, unusual_days};
pub use variable_file::{VariableValues, read_variables};
pub use variable_trace::{VariablePoint, VariableTrace};
pub use wish::Wish;
