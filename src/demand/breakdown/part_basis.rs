//! Where the energy of a part of the installation comes from.

use schemars::JsonSchema;
use serde::Serialize;

/// Where the energy of a part of the installation comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartBasis {
    /// Meters alone tell it.
    Measured,
    /// The machine list: rating × utilisation factor while the schedule runs, never more than the meter above
    /// leaves.
    Declared,
    /// Some of it is measured and some declared.
    PartDeclared,
    /// What a meter sees beyond all that is measured or declared below it.
    Remainder,
}

impl PartBasis {
    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            PartBasis::Measured => "measured",
            PartBasis::Declared => "declared share",
            PartBasis::PartDeclared => "part measured, part declared",
            PartBasis::Remainder => "remainder",
        }
    }
}
