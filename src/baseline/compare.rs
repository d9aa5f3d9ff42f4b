//! From days to a baseline with everything beside it.

use super::baseline_period::BaselinePeriod;
use super::day_type::DayType;
use super::days::{Calendar, DayTotal};
use super::energy_index::index_of;
use super::limits::{self, GUIDELINE};
use super::model::Model;
use super::period::{Period, periods};
use super::refusal::Refusal;
use super::result::{Baseline, DifferenceSince, FittedTerm};
use super::variable_file::VariableValues;
use super::variable_trace::traces;
use super::wish::Wish;
use site::{Every, Per};
use statistics::{cv_rmse_pct, nmbe_pct, r_squared};

/// A model has seen all seasons after so many days. (Common practice.)
const A_YEAR_D: i64 = 360;

/// Fits a meter's energy to the kind of day and the variables over the baseline, by ordinary least squares, and sets
/// every whole period of the log beside what the fit expects of it.
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
    wish: &Wish,
) -> Result<Baseline, Refusal> {
    for variable in variables {
        let fits = match variable.per {
            Per::Hour | Per::Day => true,
            Per::Week => wish.every == Every::Week,
            Per::Month => wish.every == Every::Month,
        };
        if !fits {
            return Err(Refusal::TooCoarse {
                variable: variable.name.clone(),
                every: wish.every,
            });
        }
    }
    let all = periods(days, calendar, variables, wish.every);
    if all.is_empty() {
        return Err(Refusal::NoDays {
            meter: meter.to_owned(),
        });
    }
    let in_baseline = |period: &Period| period.first >= wish.from && period.after <= wish.to;
    let inside: Vec<&Period> = all.iter().filter(|period| in_baseline(period)).collect();
    let model = Model::fit(&inside, variables, wish)?;
    let beside = beside(&all, &model, wish);
    let variables = traces(&all, &beside, &model);
    let parameters = model.terms.len();
    let cv = cv_rmse_pct(&model.measured, &model.predicted, parameters);
    let nmbe = nmbe_pct(&model.measured, &model.predicted, parameters);
    Ok(Baseline {
        meter: meter.to_owned(),
        by: wish.every,
        from: wish.from,
        to: wish.to,
        n: model.measured.len(),
        left_out: inside.len() - model.measured.len(),
        degrees_of_freedom: model.fit.degrees_of_freedom(),
        terms: fitted(&model),
        r_squared: r_squared(&model.measured, &model.predicted),
        residual_kwh: model.fit.residual_deviation(),
        cv_rmse_pct: cv,
        nmbe_pct: nmbe,
        limits: cv
            .zip(nmbe)
            .map_or_else(Vec::new, |(cv, nmbe)| limits::beside(wish.every, cv, nmbe)),
        autocorrelation: model.correlation,
        since: since(&all, &model, wish),
        energy_index: index_of(&variables, &beside),
        variables,
        notes: notes(&model, wish, &beside),
        periods: beside,
    })
}

fn fitted(model: &Model) -> Vec<FittedTerm> {
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

fn beside(all: &[Period], model: &Model, wish: &Wish) -> Vec<BaselinePeriod> {
    let mut sum = 0.0;
    let mut was_in_baseline = false;
    let mut found = Vec::new();
    for period in all {
        let in_baseline = period.first >= wish.from && period.after <= wish.to;
        if was_in_baseline && !in_baseline {
            // Rounding apart, the residuals of a fit with a constant add up to nought.
            sum = 0.0;
        }
        was_in_baseline = in_baseline;
        let expected = model.expected(period);
        let difference = period.kwh.zip(expected).map(|(kwh, by)| kwh - by.kwh);
        let counts = in_baseline || period.first >= wish.to;
        let cumulative = difference.filter(|_| counts).map(|difference| {
            sum += difference;
            sum
        });
        found.push(BaselinePeriod {
            key: period.key(wish.every),
            from: period.first,
            to: period.after,
            day_type: (wish.every == Every::Day).then(|| kind_of(period)),
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
fn kind_of(period: &Period) -> DayType {
    let mut kinds = DayType::ALL.into_iter();
    kinds
        .find(|kind| period.days_of[*kind as usize] > 0)
        .unwrap_or(DayType::WorkingDay)
}

fn since(all: &[Period], model: &Model, wish: &Wish) -> Option<DifferenceSince> {
    let after: Vec<&Period> = all.iter().filter(|one| one.first >= wish.to).collect();
    let compared: Vec<(&Period, f64, f64)> = after
        .iter()
        .filter_map(|&period| Some((period, period.kwh?, model.expected(period)?.kwh)))
        .collect();
    if compared.is_empty() {
        return None;
    }
    let energy_kwh: f64 = compared.iter().map(|(_, kwh, _)| kwh).sum();
    let expected_kwh: f64 = compared.iter().map(|(.., expected)| expected).sum();
    let difference_kwh = energy_kwh - expected_kwh;
    let used: Vec<&Period> = compared.iter().map(|(period, ..)| *period).collect();
    let half = model.half_of_sum(&used)?;
    Some(DifferenceSince {
        periods: compared.len(),
        left_out: after.len() - compared.len(),
        energy_kwh,
        expected_kwh,
        difference_kwh,
        difference_pct: (expected_kwh > 0.0).then(|| 100.0 * difference_kwh / expected_kwh),
        low_95_kwh: difference_kwh - half,
        high_95_kwh: difference_kwh + half,
    })
}

fn notes(model: &Model, wish: &Wish, beside: &[BaselinePeriod]) -> Vec<String> {
    let mut notes = model.doubts.clone();
    let each = wish.every.name();
    if (wish.to - wish.from).num_days() < A_YEAR_D {
        notes.push(
            "a baseline of less than a year has not seen all seasons: what differs with them and is no variable is \
             taken for a change"
                .to_owned(),
        );
    }
    if wish.every != Every::Month {
        notes.push(format!(
            "{GUIDELINE} limits models of monthly and of hourly data; for one by the {each} it has no limit of its own"
        ));
    }
    let extrapolated = beside.iter().filter(|one| !one.extrapolated.is_empty());
    let count = extrapolated.count();
    if count > 0 {
        notes.push(format!(
            "{count} {each}s have a variable outside what the baseline has seen: what is expected of them is extrapolated"
        ));
    }
    let no_kind = beside
        .iter()
        .filter(|one| one.energy_kwh.is_some() && one.expected_kwh.is_none())
        .count();
    if no_kind > 0 {
        notes.push(format!(
            "nothing is expected of {no_kind} {each}s: a variable has no value, or the baseline has no day of their kind"
        ));
    }
    notes
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
