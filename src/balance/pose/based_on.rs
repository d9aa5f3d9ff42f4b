//! On what the analysis intervals stand.

use schemars::JsonSchema;
use serde::Serialize;

/// What the analysis intervals are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BasedOn {
    /// Intervals of meters' logs.
    Logs,
    /// Rounds of readings with a clamp meter, one interval each.
    Readings,
    /// A week made of ratings, utilisation factors and schedules.
    TypicalWeek,
}
