//! A baseline and what came after it, ready for text, JSON, charts and the report.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::baseline_period::BaselinePeriod;
use super::day_type::DayType;
use super::energy_index::EnergyIndex;
use super::variable_trace::VariableTrace;
use site::Every;

/// What the room has to say about a meter.
#[derive(Clone, Debug, Default, PartialEq, JsonSchema, Serialize)]
pub struct Change {
    /// The baseline and what came after it, where one was asked for and could be fitted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub baseline: Option<Baseline>,
    /// Why there is none though one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_baseline: Option<String>,
    /// Unusual days, the furthest first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unusual_days: Option<Vec<StandingOut>>,
}

/// A fitted model of a meter's energy, and every day, week or month compared with it.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Baseline {
    /// The meter's id.
    pub meter: String,
    /// What is counted.
    pub by: Every,
    /// First local day of the baseline.
    #[serde(serialize_with = "units::serial::date")]
    pub from: NaiveDate,
    /// First local day after it.
    #[serde(serialize_with = "units::serial::date")]
    pub to: NaiveDate,
    /// Periods that entered the fit.
    pub n: usize,
    /// Periods of the baseline that did not: not all their readings, or no value of a variable.
    pub left_out: usize,
    /// Periods less coefficients.
    pub degrees_of_freedom: usize,
    /// The coefficients, of the energy per day.
    pub terms: Vec<FittedTerm>,
    /// Share of the variance that the model explains.
    pub r_squared: Option<f64>,
    /// Residual standard deviation of the energy per day. (kWh)
    pub residual_kwh: f64,
    /// √(Σ residual²/(n − coefficients)) over the mean. (%)
    pub cv_rmse_pct: Option<f64>,
    /// Σ residual/(n − coefficients) over the mean: 0 by construction, as the model has a constant. (%)
    pub nmbe_pct: Option<f64>,
    /// The guideline's limits.
    pub limits: Vec<LimitsBeside>,
    /// Correlation of a residual with the one of the period before.
    pub autocorrelation: Option<f64>,
    /// Every whole period of the log, ascending.
    pub periods: Vec<BaselinePeriod>,
    /// Energy over the variable, where there is one alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub energy_index: Option<EnergyIndex>,
    /// The energy against each variable, for charts.
    #[serde(skip)]
    pub variables: Vec<VariableTrace>,
    /// All since the baseline together.
    pub since: Option<DifferenceSince>,
    /// Notes for the reader.
    pub notes: Vec<String>,
}

/// A coefficient.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct FittedTerm {
    /// What it belongs to.
    pub term: String,
    /// Its unit.
    pub unit: String,
    /// Its value.
    pub coefficient: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Lower end of its 95 % interval.
    pub low_95: f64,
    /// Upper end.
    pub high_95: f64,
}

/// The model compared with one pair of limits.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct LimitsBeside {
    /// Whose limits.
    pub guideline: &'static str,
    /// For what data: `monthly` or `hourly`.
    pub data: &'static str,
    /// Largest CV(RMSE). (%)
    pub cv_rmse_limit_pct: f64,
    /// Largest NMBE in either direction. (%)
    pub nmbe_limit_pct: f64,
    /// Are both kept?
    pub within: bool,
}

/// All whole periods since the baseline together.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct DifferenceSince {
    /// How many of them could be compared.
    pub periods: usize,
    /// How many could not.
    pub left_out: usize,
    /// What was measured. (kWh)
    pub energy_kwh: f64,
    /// What was expected. (kWh)
    pub expected_kwh: f64,
    /// Measured less expected. (kWh)
    pub difference_kwh: f64,
    /// The same as a share of what was expected. (%)
    pub difference_pct: Option<f64>,
    /// Lower end of the 95 % interval of the difference. (kWh)
    pub low_95_kwh: f64,
    /// Upper end. (kWh)
    pub high_95_kwh: f64,
}

/// An unusual day.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct StandingOut {
    /// The meter's id.
    pub meter: String,
    /// The day.
    #[serde(serialize_with = "units::serial::date")]
    pub date: NaiveDate,
    /// Its kind.
    pub day_type: DayType,
    /// What was measured. (kWh)
    pub energy_kwh: f64,
    /// What was expected: by the baseline, else the median of its day type. (kWh)
    pub expected_kwh: f64,
    /// Measured less expected. (kWh)
    pub difference_kwh: f64,
    /// Distance from the median of its day type in robust deviations.
    pub score: f64,
    /// When it differed most.
    pub hours: Option<HoursDiffer>,
    /// The meter below that differed most, or what none of them sees.
    pub part: Option<PartDiffers>,
    /// The phase that differed most.
    pub phase: Option<PartDiffers>,
}

/// A stretch of the day compared with the usual one of its day type.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct HoursDiffer {
    /// Hour of the local clock at which it begins.
    pub from_hour: usize,
    /// Hour at which it ends, up to 24.
    pub to_hour: usize,
    /// Measured less the medians of these hours. (kWh)
    pub difference_kwh: f64,
}

/// A part of the day's energy compared with the usual one of its day type.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PartDiffers {
    /// A meter's id, `beyond the meters below`, or a phase.
    pub name: String,
    /// Measured less the median of its day type. (kWh)
    pub difference_kwh: f64,
}
