//! What the logs say once loads were moved: the currents beside those that were predicted, and which
//! machine is probably not where the list says.
//!
//! In: the site, whose list says how it should be, its logs, and its rounds of clamp readings. Out:
//! [`AfterWork`], and a finding where list and readings disagree.

mod page;
mod predicted;
mod round;
mod tell;
#[cfg(test)]
mod tests;
mod whereabouts;

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::Serialize;

use units::serial::utc_option;

pub use predicted::ConductorCheck;
pub use round::RoundCheck;
pub use whereabouts::{Verdict, Whereabouts};

pub(super) use page::PAGE;
pub(super) use tell::check;

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
