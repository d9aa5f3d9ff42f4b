//! The data behind the analysis intervals.

use schemars::JsonSchema;
use serde::Serialize;

/// The data behind the analysis intervals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BasedOn {
    /// Intervals of the meter logs.
    Logs,
    /// A week as the machine list and rounds of clamp-meter readings have it.
    Readings,
    /// A week made of ratings, utilisation factors and schedules.
    TypicalWeek,
}
