//! The quantity that the search minimises.

use schemars::JsonSchema;
use serde::Serialize;

/// The quantity that the search minimises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, JsonSchema, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Objective {
    /// Root of the mean square over time of the neutral current at the supply.
    NeutralRms,
    /// Heat loss in the phase and neutral conductors of the declared feeders.
    NeutralLoss,
    /// Largest neutral current of a demand period at the supply.
    NeutralPeak,
    /// Largest phase current of a demand period at the supply.
    PhasePeak,
}

impl Objective {
    /// What a better allocation would have, after "no other allocation".
    #[must_use]
    pub const fn less(self) -> &'static str {
        match self {
            Objective::NeutralRms => "has a lower neutral current (rms over the period)",
            Objective::NeutralLoss => "has lower losses in the board feeders",
            Objective::NeutralPeak => "has a lower neutral current in its highest demand period",
            Objective::PhasePeak => {
                "has a lower current on the most heavily loaded phase in its highest demand period"
            }
        }
    }
}
