//! What the energy should have been by what drives it, and where it has gone since.
//!
//! In: a meter's energy by local day, the calendar, and the user's own series ([`read_drivers`]). Out: a
//! [`Baseline`] by ordinary least squares with its limits, what was expected of every day, week or month
//! since with prediction intervals and the cumulative difference, or a [`Refusal`] that says why not;
//! and the days that stand out of their kind ([`standing_out`]). Only whole days enter; nothing is filled in.

mod apart;
mod baseline_period;
mod compare;
mod day_type;
mod days;
mod differed;
mod driver_file;
mod driver_trace;
mod energy_index;
mod limits;
mod model;
mod period;
mod refusal;
mod result;
mod stands_out;
mod term;
mod wish;

pub use baseline_period::BaselinePeriod;
pub use compare::baseline;
pub use day_type::DayType;
pub use days::{Calendar, DayShape, DayTotal};
pub use driver_file::{DriverValues, read_drivers};
pub use driver_trace::{DriverPoint, DriverTrace};
pub use energy_index::EnergyIndex;
pub use refusal::Refusal;
pub use result::{
    Baseline, Change, DifferenceSince, FittedTerm, HoursDiffer, LimitsBeside, PartDiffers,
    StandingOut,
};
pub use stands_out::{FEWEST_DAYS, POSSIBLE_OUTLIER, standing_out};
pub use wish::Wish;
