//! Energy over the one variable of a baseline.

use schemars::JsonSchema;
use serde::Serialize;

use super::baseline_period::BaselinePeriod;
use super::variable_trace::VariableTrace;
use electrical::energy_index;
use units::KilowattHours;

/// Energy for a unit of the only variable, what does not depend on it included.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct EnergyIndex {
    /// The variable.
    pub variable: String,
    /// Unit of the figures.
    pub unit: String,
    /// Over the periods that entered the fit; unknown where the variable comes to nothing. (kWh per unit)
    pub baseline_kwh_per_unit: Option<f64>,
    /// Over the periods since that could be compared. (kWh per unit)
    pub since_kwh_per_unit: Option<f64>,
}

/// Of a baseline with exactly one variable: of several none is the one to divide by.
pub(super) fn index_of(
    variables: &[VariableTrace],
    periods: &[BaselinePeriod],
) -> Option<EnergyIndex> {
    let [variable] = variables else { return None };
    let over = |in_baseline: bool| {
        let own = variable.points.iter();
        let own = own.filter(|point| point.in_baseline == in_baseline);
        let (mut kwh, mut units) = (0.0, 0.0);
        for point in own {
            let period = &periods[point.period];
            kwh += period.energy_kwh?;
            units += point.value * (period.to - period.from).num_days() as f64;
        }
        // Sums of finite readings are finite.
        energy_index(KilowattHours(kwh), units).ok().flatten()
    };
    Some(EnergyIndex {
        variable: variable.name.clone(),
        unit: format!("kWh/{}", variable.unit),
        baseline_kwh_per_unit: over(true),
        since_kwh_per_unit: over(false),
    })
}
