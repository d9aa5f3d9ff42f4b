//! On what a figure rests.

use schemars::JsonSchema;
use serde::Serialize;

/// Where a figure comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// From a meter's log.
    Measured,
    /// From the machine list, taken as running all the time.
    Declared,
    /// From rating, utilisation factor and schedule.
    Estimated,
}
