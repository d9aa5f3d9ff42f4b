//! What can be set of an analysis of energy and demand.

/// Power factor that correction aims at, by default: below it, tariffs commonly charge (common practice).
const USUAL_TARGET: f64 = 0.95;

/// Step in which capacitors are sized, by default: a usual smallest step of a bank (common practice). (kvar)
const USUAL_STEP_KVAR: f64 = 2.5;

/// How energy and demand are analysed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DemandSettings {
    /// Length of a demand period; `None`: as the site says. (min)
    pub window_min: Option<u32>,
    /// Power factor, lagging, that correction aims at. 0–1
    pub target_power_factor: f64,
    /// Correction is rounded up to a multiple of this. (kvar)
    pub kvar_step: f64,
}

impl Default for DemandSettings {
    fn default() -> DemandSettings {
        DemandSettings {
            window_min: None,
            target_power_factor: USUAL_TARGET,
            kvar_step: USUAL_STEP_KVAR,
        }
    }
}
