//! Data behind a coefficient: the energy of each period against one variable, all else held at its mean.

use super::baseline_period::BaselinePeriod;
use super::model::BaselineModel;
use super::period::ModelPeriod;

/// One variable of a baseline with the energy per day against it.
#[derive(Clone, Debug, PartialEq)]
pub struct VariableTrace {
    /// The user's name of it.
    pub name: String,
    /// What its values count.
    pub unit: String,
    /// Energy for a unit of it. (kWh)
    pub slope: f64,
    /// 95 % interval of that.
    pub slope_95: (f64, f64),
    /// Its mean over the baseline, per day.
    pub mean: f64,
    /// Energy per day at that mean. (kWh)
    pub mean_kwh: f64,
    /// Periods of the baseline and those since, ascending.
    pub points: Vec<VariablePoint>,
}

/// A period against a variable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VariablePoint {
    /// Its place among the baseline's periods.
    pub period: usize,
    /// Does it belong to the baseline?
    pub in_baseline: bool,
    /// The variable, per day.
    pub value: f64,
    /// Energy per day, had all other terms been at their means over the baseline. (kWh)
    pub held_kwh: f64,
}

impl VariableTrace {
    /// What the baseline expects of a day at a value, all else at its mean. (kWh)
    #[must_use]
    pub fn expected_kwh(&self, value: f64) -> f64 {
        self.mean_kwh + self.slope * (value - self.mean)
    }

    /// Smallest and largest value that the baseline has seen.
    #[must_use]
    pub fn seen(&self) -> (f64, f64) {
        let own = self.points.iter().filter(|point| point.in_baseline);
        own.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), point| {
            (low.min(point.value), high.max(point.value))
        })
    }

    /// Largest change of the energy per day that it makes within the baseline. (kWh)
    #[must_use]
    pub fn effect_kwh(&self) -> f64 {
        let (low, high) = self.seen();
        (self.slope * (high - low)).abs()
    }
}

/// Of every variable in the model, in its order. With a constant among the terms the means lie on the fit, so that
/// what is held is the line at the variable's value and the period's own residual (partial residuals).
pub(super) fn traces(
    all: &[ModelPeriod],
    compared: &[BaselinePeriod],
    model: &BaselineModel,
) -> Vec<VariableTrace> {
    let mean_kwh = model.measured.iter().sum::<f64>() / model.measured.len() as f64;
    let terms = model.terms.iter().enumerate();
    terms
        .filter_map(|(at, term)| {
            let unit = term.variable_unit()?;
            let values: Vec<(usize, f64, f64)> = all
                .iter()
                .zip(compared)
                .enumerate()
                .filter(|(_, (_, told))| told.cumulative_kwh.is_some())
                .filter_map(|(period, (own, told))| {
                    let residual = told.difference_kwh? / own.days();
                    Some((period, term.value(own)?, residual))
                })
                .collect();
            let fitted: Vec<f64> = values
                .iter()
                .filter(|value| compared[value.0].in_baseline)
                .map(|value| value.1)
                .collect();
            let (_, low, high) = model.coefficient_interval(at)?;
            let mut trace = VariableTrace {
                name: term.name(),
                unit: unit.to_owned(),
                slope: model.coefficients[at],
                slope_95: (low, high),
                mean: fitted.iter().sum::<f64>() / fitted.len() as f64,
                mean_kwh,
                points: Vec::new(),
            };
            let points = values
                .into_iter()
                .map(|(period, value, residual)| VariablePoint {
                    period,
                    in_baseline: compared[period].in_baseline,
                    value,
                    held_kwh: trace.expected_kwh(value) + residual,
                });
            trace.points = points.collect();
            Some(trace)
        })
        .collect()
}
