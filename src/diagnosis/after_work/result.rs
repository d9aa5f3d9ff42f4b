//! The machine list against what was measured since the last work.

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::Serialize;

use super::predicted::ConductorCheck;
use super::round::RoundCheck;
use super::whereabouts::Whereabouts;
use units::serial::utc_option;

/// The list against what was measured since the last work.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct AfterWork {
    /// Since when the list should hold; `None`: since the logs begin.
    #[serde(serialize_with = "utc_option")]
    pub since: Option<DateTime<Utc>>,
    /// Phases and neutral of the supply: before, predicted, measured.
    pub conductors: Vec<ConductorCheck>,
    /// Why nothing could be predicted.
    pub not_predicted: Option<String>,
    /// Where each machine on one or two phases is, as far as the log tells.
    pub machines: Vec<Whereabouts>,
    /// The last round of clamp readings at the supply, against the list.
    pub round: Option<RoundCheck>,
}
