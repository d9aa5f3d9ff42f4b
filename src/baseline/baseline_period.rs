//! A day, week or month compared with its expected energy.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::day_type::DayType;

/// A day, week or month compared with its expected energy.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BaselinePeriod {
    /// `2026-03-09`, `2026-W11`, `2026-03`.
    pub key: String,
    /// Its first local day.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// The day after its last.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// Its kind, of days.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day_type: Option<DayType>,
    /// Does it belong to the baseline?
    pub in_baseline: bool,
    /// What was measured; unknown without all its readings. (kWh)
    pub energy_kwh: Option<f64>,
    /// What the model expects; unknown without its variables, or of a day type that the baseline has not. (kWh)
    pub expected_kwh: Option<f64>,
    /// Lower end of the 95 % prediction interval. (kWh)
    pub low_95_kwh: Option<f64>,
    /// Upper end. (kWh)
    pub high_95_kwh: Option<f64>,
    /// Measured less expected. (kWh)
    pub difference_kwh: Option<f64>,
    /// Sum of the differences: through the baseline, and from zero since its end. (kWh)
    pub cumulative_kwh: Option<f64>,
    /// Variables that are outside what the baseline has seen: the expectation is extrapolated.
    pub extrapolated: Vec<String>,
}
