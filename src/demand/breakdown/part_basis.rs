//! The basis of the energy of a part of the installation.

use schemars::JsonSchema;
use serde::Serialize;

/// The basis of the energy of a part of the installation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartBasis {
    /// From meters only.
    Measured,
    /// From the machine list: rating × utilisation factor during the schedule, limited to what the meter above
    /// leaves.
    Estimated,
    /// Partly measured, partly estimated.
    PartEstimated,
    /// What a meter shows beyond all that is measured or estimated below it.
    Unmetered,
}

impl PartBasis {
    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            PartBasis::Measured => "measured",
            PartBasis::Estimated => "estimated",
            PartBasis::PartEstimated => "part measured, part estimated",
            PartBasis::Unmetered => "unmetered",
        }
    }
}
