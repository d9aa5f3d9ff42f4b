//! From days to a baseline with every period compared with it.

use super::baseline_period::BaselinePeriod;
use super::baseline_request::BaselineRequest;
use super::day_type::DayType;
use super::days::{Calendar, DayTotal};
use super::energy_index::index_of;
use super::limits::{self, GUIDELINE};
use super::model::BaselineModel;
use super::period::{ModelPeriod, periods};
use super::refusal::Refusal;
use super::result::{Baseline, DifferenceSince, FittedTerm};
use super::variable_file::VariableValues;
use super::variable_trace::traces;
use site::{Every, Per};
use statistics::{cv_rmse_pct, nmbe_pct, r_squared};
use units::percent_of;

/// A model has seen all seasons after so many days. (Common practice.)
const A_YEAR_D: i64 = 360;

/// Fits a meter's energy to the day type and the variables over the baseline, by ordinary least squares, and sets
/// every whole period of the log compared with the fit.
///
/// What is fitted is the energy per day: of weeks and months the mean over their days, so that months of
/// different lengths compare. A prediction interval is that of a single period (95 %, Student's t); the
/// interval of a sum widens with the correlation of neighbouring residuals.
///
/// # Errors
///
/// A [`Refusal`] where the baseline has too few whole periods for its coefficients, or a variable in it that
/// is missing, constant, or follows from the others.
///
/// # Source
///
/// Models and their limits: ASHRAE Guideline 14-2014. Prediction interval: N. R. Draper, H. Smith, Applied
/// Regression Analysis, 3rd ed., Wiley, 1998 (from memory).
pub fn baseline(
    meter: &str,
    days: &[DayTotal],
    calendar: Calendar<'_>,
    variables: &[&VariableValues],
    request: &BaselineRequest,
) -> Result<Baseline, Refusal> {
    for variable in variables {
        let fits = match variable.per {
            Per::Hour | Per::Day => true,
            Per::Week => request.every == Every::Week,
            Per::Month => request.every == Every::Month,
        };
        if !fits {
            return Err(Refusal::TooCoarse {
                variable: variable.name.clone(),
                every: request.every,
            });
        }
    }
    let all = periods(days, calendar, variables, request.every);
    if all.is_empty() {
        return Err(Refusal::NoDays {
            meter: meter.to_owned(),
        });
    }
    let in_baseline =
        |period: &ModelPeriod| period.first >= request.from && period.after <= request.to;
    let inside: Vec<&ModelPeriod> = all.iter().filter(|period| in_baseline(period)).collect();
    let model = BaselineModel::fit(&inside, variables, request)?;
    let compared = compared_periods(&all, &model, request);
    let variables = traces(&all, &compared, &model);
    let parameters = model.terms.len();
    let cv = cv_rmse_pct(&model.measured, &model.predicted, parameters);
    let nmbe = nmbe_pct(&model.measured, &model.predicted, parameters);
    Ok(Baseline {
        meter: meter.to_owned(),
        by: request.every,
        from: request.from,
        to: request.to,
        n: model.measured.len(),
        left_out: inside.len() - model.measured.len(),
        degrees_of_freedom: model.fit.degrees_of_freedom(),
        terms: fitted(&model),
        r_squared: r_squared(&model.measured, &model.predicted),
        residual_kwh: model.fit.residual_deviation(),
        cv_rmse_pct: cv,
        nmbe_pct: nmbe,
        limits: cv.zip(nmbe).map_or_else(Vec::new, |(cv, nmbe)| {
            limits::usual_limits(request.every, cv, nmbe)
        }),
        autocorrelation: model.correlation,
        since: since(&all, &model, request),
        energy_index: index_of(&variables, &compared),
        variables,
        notes: notes(&model, request, &compared),
        periods: compared,
    })
}

fn fitted(model: &BaselineModel) -> Vec<FittedTerm> {
    let terms = model.terms.iter().enumerate();
    terms
        .filter_map(|(index, term)| {
            let (standard_error, low_95, high_95) = model.coefficient_interval(index)?;
            Some(FittedTerm {
                term: term.name(),
                unit: term.unit(),
                coefficient: model.coefficients[index],
                standard_error,
                low_95,
                high_95,
            })
        })
        .collect()
}

fn compared_periods(
    all: &[ModelPeriod],
    model: &BaselineModel,
    request: &BaselineRequest,
) -> Vec<BaselinePeriod> {
    let mut sum = 0.0;
    let mut was_in_baseline = false;
    let mut found = Vec::new();
    for period in all {
        let in_baseline = period.first >= request.from && period.after <= request.to;
        if was_in_baseline && !in_baseline {
            // Rounding apart, the residuals of a fit with a constant add up to zero.
            sum = 0.0;
        }
        was_in_baseline = in_baseline;
        let expected = model.expected(period);
        let difference = period.kwh.zip(expected).map(|(kwh, by)| kwh - by.kwh);
        let counts = in_baseline || period.first >= request.to;
        let cumulative = difference.filter(|_| counts).map(|difference| {
            sum += difference;
            sum
        });
        found.push(BaselinePeriod {
            key: period.key(request.every),
            from: period.first,
            to: period.after,
            day_type: (request.every == Every::Day).then(|| kind_of(period)),
            in_baseline,
            energy_kwh: period.kwh,
            expected_kwh: expected.map(|by| by.kwh),
            low_95_kwh: expected.map(|by| by.kwh - by.half),
            high_95_kwh: expected.map(|by| by.kwh + by.half),
            difference_kwh: difference,
            cumulative_kwh: cumulative,
            extrapolated: if expected.is_some() {
                model.outside(period)
            } else {
                Vec::new()
            },
        });
    }
    found
}

/// The kind of a period of one day.
fn kind_of(period: &ModelPeriod) -> DayType {
    let mut kinds = DayType::ALL.into_iter();
    kinds
        .find(|kind| period.days_of[*kind as usize] > 0)
        .unwrap_or(DayType::WorkingDay)
}

fn since(
    all: &[ModelPeriod],
    model: &BaselineModel,
    request: &BaselineRequest,
) -> Option<DifferenceSince> {
    let after: Vec<&ModelPeriod> = all.iter().filter(|one| one.first >= request.to).collect();
    let compared: Vec<(&ModelPeriod, f64, f64)> = after
        .iter()
        .filter_map(|&period| Some((period, period.kwh?, model.expected(period)?.kwh)))
        .collect();
    if compared.is_empty() {
        return None;
    }
    let energy_kwh: f64 = compared.iter().map(|(_, kwh, _)| kwh).sum();
    let expected_kwh: f64 = compared.iter().map(|(.., expected)| expected).sum();
    let difference_kwh = energy_kwh - expected_kwh;
    let used: Vec<&ModelPeriod> = compared.iter().map(|(period, ..)| *period).collect();
    let half = model.half_of_sum(&used)?;
    Some(DifferenceSince {
        periods: compared.len(),
        left_out: after.len() - compared.len(),
        energy_kwh,
        expected_kwh,
        difference_kwh,
        difference_pct: percent_of(difference_kwh, expected_kwh),
        low_95_kwh: difference_kwh - half,
        high_95_kwh: difference_kwh + half,
    })
}

fn notes(
    model: &BaselineModel,
    request: &BaselineRequest,
    compared: &[BaselinePeriod],
) -> Vec<String> {
    let mut notes = model.doubts.clone();
    let each = request.every.name();
    if (request.to - request.from).num_days() < A_YEAR_D {
        notes.push(
            "a baseline shorter than a year does not cover all seasons: a seasonal difference that no variable covers counts as a change"
                .to_owned(),
        );
    }
    if request.every != Every::Month {
        notes.push(format!(
            "{GUIDELINE} gives limits for monthly and hourly models; it has none for a {each} model"
        ));
    }
    let extrapolated = compared.iter().filter(|one| !one.extrapolated.is_empty());
    let count = extrapolated.count();
    if count > 0 {
        notes.push(format!(
            "{count} {each}s have a variable outside the range of the baseline: their expected energy is extrapolated"
        ));
    }
    let no_kind = compared
        .iter()
        .filter(|one| one.energy_kwh.is_some() && one.expected_kwh.is_none())
        .count();
    if no_kind > 0 {
        notes.push(format!(
            "{no_kind} {each}s have no expected energy: a variable has no value, or the baseline has no day of that type"
        ));
    }
    notes
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
