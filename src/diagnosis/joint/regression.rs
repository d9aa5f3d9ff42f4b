//! A robust fit of the whitened equations, with errors that do not assume independence.

use super::design::{Design, EXCESS_COLUMNS};
use super::estimate::Figure;
use crate::diagnosis::least_squares::LeastSquares;

/// Residuals beyond this many deviations count as this many (P. J. Huber, "Robust estimation of a
/// location parameter", Annals of Mathematical Statistics, vol. 35, 1964; 2 keeps 97 % of the
/// efficiency where errors are normal).
const HUBER: f64 = 2.0;
const ROUNDS: usize = 4;
/// Deviation over median magnitude, of the normal distribution.
const NORMAL_OVER_MEDIAN: f64 = 1.482_602_218_505_602;
/// Changes of load within this many seconds are one event when independent events are counted.
const EVENT_ROWS: usize = 30;

/// Whitened equations: one series per contrast.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    pub(super) left: [Vec<f64>; 2],
    pub(super) columns: Vec<[Vec<f64>; 2]>,
}

/// The fitted equations.
#[derive(Clone, Debug)]
pub(super) struct Regression {
    weighed: Weighed,
    /// Rows that the fit uses, ascending.
    rows: Vec<usize>,
    fit: LeastSquares,
    coefficients: Vec<f64>,
    /// Robust residual deviation.
    deviation: f64,
}

impl Regression {
    /// Fits the rows; `None` where they do not determine the excess resistances.
    pub(super) fn fit(weighed: Weighed, rows: Vec<usize>) -> Option<Regression> {
        let taken = |pair: &[Vec<f64>; 2]| -> Vec<f64> {
            pair.iter()
                .flat_map(|series| rows.iter().map(|&row| series[row]))
                .collect()
        };
        let left = taken(&weighed.left);
        let columns: Vec<Vec<f64>> = weighed.columns.iter().map(taken).collect();
        let mut fit = LeastSquares::fit(&columns, &left)?;
        let mut coefficients = known(&fit);
        let mut deviation = spread(&residuals(&columns, &left, &coefficients));
        for _ in 0..ROUNDS {
            let weights: Vec<f64> = residuals(&columns, &left, &coefficients)
                .iter()
                .map(|r| {
                    let far = r.abs() / (HUBER * deviation.max(f64::MIN_POSITIVE));
                    if far > 1.0 { far.recip().sqrt() } else { 1.0 }
                })
                .collect();
            let weigh = |series: &[f64]| -> Vec<f64> {
                series.iter().zip(&weights).map(|(v, w)| v * w).collect()
            };
            let weighed: Vec<Vec<f64>> = columns.iter().map(|column| weigh(column)).collect();
            fit = LeastSquares::fit(&weighed, &weigh(&left))?;
            coefficients = known(&fit);
            deviation = spread(&residuals(&columns, &left, &coefficients));
        }
        Some(Regression {
            weighed,
            rows,
            fit,
            coefficients,
            deviation,
        })
    }

    /// Rows of all readings whose surprise is beyond so many deviations.
    pub(super) fn absurd(&self, deviations: f64) -> Vec<bool> {
        let surprises = [0, 1].map(|contrast| self.surprises(contrast));
        let limits = surprises
            .each_ref()
            .map(|series| deviations * spread(series).max(f64::MIN_POSITIVE));
        (0..surprises[0].len())
            .map(|row| (0..2).any(|contrast| surprises[contrast][row].abs() > limits[contrast]))
            .collect()
    }

    fn surprises(&self, contrast: usize) -> Vec<f64> {
        let mut surprises = self.weighed.left[contrast].clone();
        for (pair, coefficient) in self.weighed.columns.iter().zip(&self.coefficients) {
            for (surprise, value) in surprises.iter_mut().zip(&pair[contrast]) {
                *surprise -= coefficient * value;
            }
        }
        surprises
    }

    /// What is left of the voltages of a design: the source's own wandering, about its mean.
    pub(super) fn residuals(&self, design: &Design) -> Vec<Vec<f64>> {
        (0..2)
            .map(|contrast| {
                let mut left = design.left[contrast].clone();
                for (pair, coefficient) in design.columns.iter().zip(&self.coefficients) {
                    for (value, column) in left.iter_mut().zip(&pair[contrast]) {
                        *value -= coefficient * column;
                    }
                }
                let mean = left.iter().sum::<f64>() / left.len() as f64;
                for value in &mut left {
                    *value -= mean;
                }
                left
            })
            .collect()
    }

    /// A combination of the excess resistances with its error; `None` where it is not determined.
    ///
    /// The error is the larger of two: the usual one, which takes the surprises as independent and of
    /// one size, and one that allows for neither (W. K. Newey and K. D. West, "A simple, positive
    /// semi-definite, heteroskedasticity and autocorrelation consistent covariance matrix",
    /// Econometrica, vol. 55, 1987). Degrees of freedom follow F. E. Satterthwaite, "An approximate distribution of
    /// estimates of variance components", Biometrics Bulletin, vol. 2, 1946, over the events that carry the
    /// estimate.
    pub(super) fn figure(&self, weights: &[f64; EXCESS_COLUMNS]) -> Option<Figure> {
        let first = self.coefficients.len() - EXCESS_COLUMNS;
        let mut asked = vec![0.0; self.coefficients.len()];
        asked[first..].copy_from_slice(weights);
        let influence = self.fit.influence(&asked)?;
        let value: f64 = asked
            .iter()
            .zip(&self.coefficients)
            .map(|(a, b)| a * b)
            .sum();
        let surprises = [0, 1].map(|contrast| self.surprises(contrast));
        let limit = HUBER * self.deviation;
        let mut scores = Vec::with_capacity(self.rows.len());
        let mut shares = Vec::with_capacity(self.rows.len());
        for &row in &self.rows {
            let mut score = 0.0;
            let mut share = 0.0;
            for (contrast, series) in surprises.iter().enumerate() {
                let pull: f64 = self
                    .weighed
                    .columns
                    .iter()
                    .zip(&influence)
                    .map(|(pair, weight)| pair[contrast][row] * weight)
                    .sum();
                score += pull * series[row].clamp(-limit, limit);
                share += pull * pull;
            }
            scores.push(score);
            shares.push(share);
        }
        let independent: f64 = self.deviation.powi(2) * shares.iter().sum::<f64>();
        let rows = 2.0 * self.rows.len() as f64;
        let small = rows / (rows - self.coefficients.len() as f64).max(1.0);
        let dependent = small * newey_west(&scores, &self.rows);
        Some(Figure {
            value,
            error: independent.max(dependent).sqrt(),
            freedom: freedom(&shares, &self.rows),
        })
    }
}

fn known(fit: &LeastSquares) -> Vec<f64> {
    fit.coefficients()
        .iter()
        .map(|coefficient| coefficient.unwrap_or(0.0))
        .collect()
}

fn residuals(columns: &[Vec<f64>], left: &[f64], coefficients: &[f64]) -> Vec<f64> {
    let mut residuals = left.to_vec();
    for (column, coefficient) in columns.iter().zip(coefficients) {
        for (residual, value) in residuals.iter_mut().zip(column) {
            *residual -= coefficient * value;
        }
    }
    residuals
}

/// Robust deviation about nought.
fn spread(values: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = values.iter().map(|value| value.abs()).collect();
    if sizes.is_empty() {
        return 0.0;
    }
    let middle = sizes.len() / 2;
    let (_, median, _) = sizes.select_nth_unstable_by(middle, f64::total_cmp);
    NORMAL_OVER_MEDIAN * *median
}

/// Variance of the sum of the scores of these rows, weighing pairs less the further they are apart.
fn newey_west(scores: &[f64], rows: &[usize]) -> f64 {
    let last = rows.last().map_or(0, |last| last + 1);
    // Rule of Newey and West, "Automatic lag selection in covariance matrix estimation", Review of
    // Economic Studies, vol. 61, 1994.
    let lags = (4.0 * (last as f64 / 100.0).powf(2.0 / 9.0)).floor() as usize;
    let mut variance: f64 = scores.iter().map(|score| score * score).sum();
    for (index, (&score, &row)) in scores.iter().zip(rows).enumerate() {
        for (&other, &later) in scores[index + 1..].iter().zip(&rows[index + 1..]) {
            let apart = later - row;
            if apart > lags {
                break;
            }
            variance += 2.0 * (1.0 - apart as f64 / (lags as f64 + 1.0)) * score * other;
        }
    }
    variance.max(0.0)
}

/// Number of equally weighty independent events that the estimate rests on.
fn freedom(shares: &[f64], rows: &[usize]) -> f64 {
    let mut events: Vec<(usize, f64)> = Vec::new();
    for (&share, &row) in shares.iter().zip(rows) {
        let event = row / EVENT_ROWS;
        match events.last_mut() {
            Some((last, sum)) if *last == event => *sum += share,
            _ => events.push((event, share)),
        }
    }
    let sum: f64 = events.iter().map(|(_, share)| share).sum();
    let squares: f64 = events.iter().map(|(_, share)| share * share).sum();
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}
