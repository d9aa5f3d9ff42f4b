//! The machine list compared with the readings since the last work.

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::Serialize;

use super::predicted::ConductorCheck;
use super::round::RoundCheck;
use units::serial::utc_option;

/// The list compared with the readings since the last work.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct AfterWork {
    /// Since when the list should be right; `None`: since the logs begin.
    #[serde(serialize_with = "utc_option")]
    pub since: Option<DateTime<Utc>>,
    /// Phases and neutral of the supply: before, predicted, measured.
    pub conductors: Vec<ConductorCheck>,
    /// Why no current could be predicted.
    pub not_predicted: Option<String>,
    /// The last round of clamp readings at the supply, compared with the list.
    pub round: Option<RoundCheck>,
}
