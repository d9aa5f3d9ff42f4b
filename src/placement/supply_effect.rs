//! The supply now and with new machines.

use schemars::JsonSchema;
use serde::Serialize;

use super::supply_figures::SupplyFigures;

/// A figure now and with the machine. `None` where it is not known.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct BeforeAfter<T> {
    /// Now.
    pub before: T,
    /// With the machine.
    pub after: T,
}

/// Effect of new machines at the supply: neutral, phases, unbalance, maximum demand.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct SupplyEffect {
    /// Neutral, root mean square over time. (A)
    pub neutral_rms_a: BeforeAfter<f64>,
    /// Neutral, largest interval. (A)
    pub neutral_max_a: BeforeAfter<f64>,
    /// Phases, largest interval. (A)
    pub phase_max_a: BeforeAfter<[f64; 3]>,
    /// Neutral, largest mean over a complete demand period. (A)
    pub demand_period_neutral_max_a: BeforeAfter<Option<f64>>,
    /// Phases, largest mean over a complete demand period. (A)
    pub demand_period_phase_max_a: BeforeAfter<Option<[f64; 3]>>,
    /// Largest deviation of a phase's rms from the mean of the three. (%)
    pub current_unbalance_pct: BeforeAfter<Option<f64>>,
    /// Maximum demand over complete demand periods. (kW)
    pub max_demand_kw: BeforeAfter<Option<f64>>,
    /// Maximum demand over complete demand periods. (kVA)
    pub max_demand_kva: BeforeAfter<Option<f64>>,
}

impl SupplyEffect {
    /// From the figures and the demand [kW, kVA] now and after.
    pub(super) fn new(
        [now, after]: [&SupplyFigures; 2],
        [demand_now, demand_after]: [[Option<f64>; 2]; 2],
    ) -> SupplyEffect {
        SupplyEffect {
            neutral_rms_a: pair(now.neutral_rms_a, after.neutral_rms_a),
            neutral_max_a: pair(now.neutral_max_a, after.neutral_max_a),
            phase_max_a: pair(now.phase_max_a, after.phase_max_a),
            demand_period_neutral_max_a: pair(
                now.demand_period_neutral_max_a,
                after.demand_period_neutral_max_a,
            ),
            demand_period_phase_max_a: pair(
                now.demand_period_phase_max_a,
                after.demand_period_phase_max_a,
            ),
            current_unbalance_pct: pair(now.unbalance_pct, after.unbalance_pct),
            max_demand_kw: pair(demand_now[0], demand_after[0]),
            max_demand_kva: pair(demand_now[1], demand_after[1]),
        }
    }
}

fn pair<T>(before: T, after: T) -> BeforeAfter<T> {
    BeforeAfter { before, after }
}
