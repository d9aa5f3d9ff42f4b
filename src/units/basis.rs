//! The basis of a figure.

use schemars::JsonSchema;
use serde::Serialize;

/// The basis of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// From a meter's log.
    Measured,
    /// From the rating in the machine list, assumed to run all the time: no log, reading or schedule.
    RatingOnly,
    /// From rating, utilisation factor and schedule.
    Estimated,
}

impl Basis {
    /// The word for it, as in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Basis::Measured => "measured",
            Basis::RatingOnly => "rating only",
            Basis::Estimated => "estimated",
        }
    }
}
