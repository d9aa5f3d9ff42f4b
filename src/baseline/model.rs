//! The fit, and what it expects.

use chrono::NaiveDate;

use super::baseline_request::BaselineRequest;
use super::collinearity::{judge, range};
use super::day_type::DayType;
use super::period::ModelPeriod;
use super::refusal::Refusal;
use super::term::{Term, row};
use super::variable_file::VariableValues;
use site::Every;
use statistics::{LeastSquares, student_quantile};

/// So many periods more than coefficients are needed: the interval of a prediction is then at most a third
/// wider than with very many (t of 5 degrees of freedom is 2.57, of very many 1.96; common practice).
const SPARE_PERIODS: usize = 5;
/// Correlation of neighbours beyond which a sum's interval is not widened further.
const MOST_CORRELATION: f64 = 0.9;
/// Chance that a value stays below the upper end of a 95 % interval.
const UPPER: f64 = 0.975;

/// A fitted model of the energy per day.
#[derive(Debug)]
pub(super) struct BaselineModel {
    pub(super) terms: Vec<Term>,
    pub(super) fit: LeastSquares,
    pub(super) coefficients: Vec<f64>,
    /// Energy per day of the periods that entered, and what the model says of them. (kWh)
    pub(super) measured: Vec<f64>,
    pub(super) predicted: Vec<f64>,
    /// Correlation of a residual with the one before it.
    pub(super) correlation: Option<f64>,
    /// What is doubtful of it.
    pub(super) doubts: Vec<String>,
    /// Largest and smallest value of each term.
    ranges: Vec<(f64, f64)>,
    /// Day types that were seen; all of them where it does not go by kinds.
    kinds: [bool; 3],
    /// Share of days without work, where that is the same throughout.
    idle_share: Option<f64>,
    deviations: f64,
}

/// What is expected of a period. (kWh)
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Expected {
    pub(super) kwh: f64,
    /// Half of the width of the 95 % prediction interval.
    pub(super) half: f64,
}

impl BaselineModel {
    /// Fits the periods of the baseline; those without energy or without a variable are left out.
    pub(super) fn fit(
        periods: &[&ModelPeriod],
        variables: &[&VariableValues],
        request: &BaselineRequest,
    ) -> Result<BaselineModel, Refusal> {
        let usable: Vec<&ModelPeriod> = periods
            .iter()
            .copied()
            .filter(|period| period.kwh.is_some() && period.variables.iter().all(Option::is_some))
            .collect();
        for (index, variable) in variables.iter().enumerate() {
            if periods
                .iter()
                .all(|period| period.variables[index].is_none())
            {
                return Err(Refusal::NoValue {
                    variable: variable.name.clone(),
                    every: request.every,
                });
            }
        }
        let terms = terms_of(&usable, variables, request);
        let need = terms.len() + SPARE_PERIODS;
        let too_few = || Refusal::TooFew {
            have: usable.len(),
            need,
            coefficients: terms.len(),
            terms: names(&terms),
            every: request.every,
        };
        if usable.len() < need {
            return Err(too_few());
        }
        let rows: Option<Vec<Vec<f64>>> = usable.iter().map(|period| row(&terms, period)).collect();
        let rows = rows.ok_or_else(too_few)?;
        let columns: Vec<Vec<f64>> = (0..terms.len())
            .map(|term| rows.iter().map(|row| row[term]).collect())
            .collect();
        let doubts = judge(&terms, &columns)?;
        let measured: Vec<f64> = usable
            .iter()
            .filter_map(|period| period.kwh_per_day())
            .collect();
        let fit = LeastSquares::fit(&columns, &measured).ok_or_else(too_few)?;
        let coefficients: Option<Vec<f64>> = fit.coefficients().iter().copied().collect();
        let coefficients = coefficients.ok_or_else(too_few)?;
        let predicted: Vec<f64> = rows.iter().map(|row| dot(row, &coefficients)).collect();
        let dates: Vec<(NaiveDate, NaiveDate)> = usable
            .iter()
            .map(|period| (period.first, period.after))
            .collect();
        let residuals: Vec<f64> = measured
            .iter()
            .zip(&predicted)
            .map(|(y, p)| y - p)
            .collect();
        let freedom = fit.degrees_of_freedom() as f64;
        Ok(BaselineModel {
            deviations: student_quantile(freedom, UPPER).ok_or_else(too_few)?,
            correlation: correlation(&dates, &residuals),
            ranges: columns.iter().map(|column| range(column)).collect(),
            kinds: kinds_of(&usable, request),
            idle_share: idle_share(&usable, request),
            terms,
            fit,
            coefficients,
            measured,
            predicted,
            doubts,
        })
    }

    /// What a period should have taken; `None` of a day type that the baseline has not seen, or
    /// without a variable's value.
    pub(super) fn expected(&self, period: &ModelPeriod) -> Option<Expected> {
        let kinds = period.days_of.iter().zip(self.kinds);
        if kinds.into_iter().any(|(&days, seen)| days > 0 && !seen) {
            return None;
        }
        let row = row(&self.terms, period)?;
        let spread = self.fit.residual_deviation() * (1.0 + self.fit.leverage(&row)?).sqrt();
        Some(Expected {
            kwh: dot(&row, &self.coefficients) * period.days(),
            half: self.deviations * spread * period.days(),
        })
    }

    /// Half of the width of the 95 % interval of the difference summed over periods: the residuals of each, and
    /// what the coefficients may be wrong by in all of them alike. (kWh)
    pub(super) fn half_of_sum(&self, periods: &[&ModelPeriod]) -> Option<f64> {
        let mut sum = vec![0.0; self.terms.len()];
        let mut squares = 0.0;
        for period in periods {
            let days = period.days();
            for (sum, value) in sum.iter_mut().zip(row(&self.terms, period)?) {
                *sum += days * value;
            }
            squares += days * days;
        }
        let together = self
            .correlation
            .map_or(0.0, |one| one.clamp(0.0, MOST_CORRELATION));
        let widened = (1.0 + together) / (1.0 - together);
        let variance = widened * (squares + self.fit.leverage(&sum)?);
        Some(self.deviations * self.fit.residual_deviation() * variance.sqrt())
    }

    /// Variables whose value in a period is outside what the baseline has seen.
    pub(super) fn outside(&self, period: &ModelPeriod) -> Vec<String> {
        let mut names: Vec<String> = self
            .terms
            .iter()
            .zip(&self.ranges)
            .filter(|(term, (low, high))| {
                let slack = 1e-9 * high.abs().max(low.abs());
                term.is_variable()
                    && term
                        .value(period)
                        .is_some_and(|value| value < low - slack || value > high + slack)
            })
            .map(|(term, _)| term.name())
            .collect();
        let idle = 1.0 - period.share(DayType::WorkingDay);
        if self
            .idle_share
            .is_some_and(|seen| (seen - idle).abs() > 1e-9)
        {
            names.push(Term::NoWorkingDay.name());
        }
        names
    }

    /// 95 % interval of a coefficient.
    pub(super) fn coefficient_interval(&self, term: usize) -> Option<(f64, f64, f64)> {
        let error = self.fit.standard_error(term)?;
        let half = self.deviations * error;
        let value = self.coefficients[term];
        Some((error, value - half, value + half))
    }
}

fn names(terms: &[Term]) -> String {
    let names: Vec<String> = terms.iter().map(Term::name).collect();
    names.join(", ")
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Day types among the periods; of days that go by their kind only those that are there.
fn kinds_of(periods: &[&ModelPeriod], request: &BaselineRequest) -> [bool; 3] {
    if !request.by_day_type || request.every != Every::Day {
        return [true; 3];
    }
    DayType::ALL.map(|kind| {
        periods
            .iter()
            .any(|period| period.days_of[kind as usize] > 0)
    })
}

/// Share of days without work of weeks or months, where the baseline knows only one.
fn idle_share(periods: &[&ModelPeriod], request: &BaselineRequest) -> Option<f64> {
    if !request.by_day_type || request.every == Every::Day {
        return None;
    }
    let idle = |period: &&ModelPeriod| 1.0 - period.share(DayType::WorkingDay);
    let first = idle(periods.first()?);
    periods
        .iter()
        .all(|period| (idle(period) - first).abs() < 1e-9)
        .then_some(first)
}

fn terms_of(
    periods: &[&ModelPeriod],
    variables: &[&VariableValues],
    request: &BaselineRequest,
) -> Vec<Term> {
    let mut terms = vec![Term::Constant];
    if request.by_day_type && request.every == Every::Day {
        let seen = kinds_of(periods, request);
        let kinds = DayType::ALL.into_iter().filter(|kind| seen[*kind as usize]);
        terms.extend(kinds.skip(1).map(Term::OfKind));
    } else if request.by_day_type && idle_share(periods, request).is_none() {
        terms.push(Term::NoWorkingDay);
    }
    terms.extend(variables.iter().enumerate().map(|(index, variable)| {
        let (name, unit) = (variable.name.clone(), variable.unit.clone());
        Term::Variable { index, name, unit }
    }));
    terms
}

/// Correlation of residuals of periods that follow one another.
fn correlation(dates: &[(NaiveDate, NaiveDate)], residuals: &[f64]) -> Option<f64> {
    let squares: f64 = residuals.iter().map(|residual| residual * residual).sum();
    let products = dates.windows(2).zip(residuals.windows(2));
    let products: f64 = products
        .filter(|(dates, _)| dates[0].1 == dates[1].0)
        .map(|(_, pair)| pair[0] * pair[1])
        .sum();
    (squares > 0.0).then(|| products / squares)
}
