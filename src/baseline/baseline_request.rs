//! What is asked of a baseline.

use chrono::NaiveDate;

use site::Every;

/// The baseline period and what is counted in it.
#[derive(Clone, Debug, PartialEq)]
pub struct BaselineRequest {
    /// First local day of the baseline.
    pub from: NaiveDate,
    /// First local day after it.
    pub to: NaiveDate,
    /// What is counted.
    pub every: Every,
    /// Does it go by the day type?
    pub by_day_type: bool,
}
