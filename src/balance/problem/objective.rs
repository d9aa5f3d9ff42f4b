//! What the search makes small.

use schemars::JsonSchema;
use serde::Serialize;

/// What the search made small.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Objective {
    /// Root of the mean square over time of the neutral current at the supply.
    NeutralRms,
    /// Heat in neutrals and phases of the feeders that are declared.
    NeutralLoss,
    /// Largest neutral current of a demand block at the supply.
    NeutralPeak,
    /// Largest phase current of a demand block at the supply.
    PhasePeak,
}

impl Objective {
    /// What no better allocation would do, after "no other allocation".
    #[must_use]
    pub const fn less(self) -> &'static str {
        match self {
            Objective::NeutralRms => {
                "leaves less in the neutral (root mean square over the period)"
            }
            Objective::NeutralLoss => "loses less in the boards' feeders",
            Objective::NeutralPeak => "leaves less in the neutral in its highest demand block",
            Objective::PhasePeak => "leaves less on the fullest phase in its highest demand block",
        }
    }
}
