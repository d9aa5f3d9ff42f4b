//! Days of the week and times of day, as tariffs, schedules and works write them.
//!
//! In: words such as `Mon-Fri` and `07:30`. Out: sets of days, minutes of the day.

mod days;

pub use days::{Days, parse_minute_of_day};
