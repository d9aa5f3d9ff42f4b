//! Active or apparent power.

use schemars::JsonSchema;
use serde::Serialize;

/// What the demand is charged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
pub enum DemandUnit {
    /// Active power.
    #[serde(rename = "kW")]
    Kilowatt,
    /// Apparent power.
    #[serde(rename = "kVA")]
    KilovoltAmpere,
}

impl DemandUnit {
    /// `kW`, `kVA`.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            DemandUnit::Kilowatt => "kW",
            DemandUnit::KilovoltAmpere => "kVA",
        }
    }
}
