//! A robust fit of the equations, with errors that do not assume independence.

use num_complex::Complex64;

use super::design::{
    Design, FIRST_EXCESS, Impedances, LINE, LINE_GROWTH, NEUTRAL, SHARED_COLUMNS, contrasts,
};
use super::figure::EstimatedFigure;
use statistics::{LeastSquares, NORMAL_OVER_MEDIAN};

/// Residuals beyond this many deviations count as this many (P. J. Huber, "Robust estimation of a
/// location parameter", Annals of Mathematical Statistics, vol. 35, 1964; 2 keeps 97 % of the
/// efficiency where errors are normal).
const HUBER: f64 = 2.0;
const ROUNDS: usize = 5;
/// How much the reactances of the three lines may differ: a joint adds resistance only, and the lines of
/// one cable are alike; the middle line of 50 to 100 m of open conductors in one plane has about 1 mΩ less
/// (common practice). As a deviation, evenly spread up to there: 1 mΩ/√3 (JCGM 100:2008, 4.3.7). (Ω)
const REACTANCE_OHM: f64 = 0.000_577;
/// Size of what the lines and the neutral have in an ordinary low-voltage supply (common practice). Where all
/// loads have one power factor, line and neutral do the same to the voltages: then neither is reported large
/// with the other below zero. (Ω)
const SHARED_OHM: f64 = 0.1;
/// Changes of load within this many seconds are one event when independent events are counted.
const EVENT_ROWS: usize = 30;

/// With more of the change before, what is slow would no longer drop out.
const LARGEST_SHARE: f64 = 0.7;

/// No supply that is in use has more, per conductor. (Ω)
const LARGEST_OHM: f64 = 0.5;

/// A column, and its weight in a combination.
pub(super) type Weight = (usize, f64);

/// The fitted equations.
#[derive(Clone, Debug)]
pub(super) struct Regression {
    design: Design,
    /// Rows that the fit uses, ascending.
    rows: Vec<usize>,
    fit: LeastSquares,
    coefficients: Vec<f64>,
    /// Robust residual deviation.
    deviation: f64,
    /// Huber's weights over the share of rows that still pull: what the weighted fit makes too small.
    correction: f64,
}

impl Regression {
    /// Fits these of the changes; `None` where they do not determine the excess resistances.
    pub(super) fn fit(design: Design, rows: Vec<usize>) -> Option<Regression> {
        let taken = |pair: &[Vec<f64>; 2]| -> Vec<f64> {
            pair.iter()
                .flat_map(|series| rows.iter().map(|&row| series[row]))
                .collect()
        };
        let left = taken(&design.left);
        let columns: Vec<Vec<f64>> = design.columns.iter().map(taken).collect();
        let mut deviation = spread(&left);
        let mut weights = vec![1.0; left.len()];
        let mut fitted = None;
        for _ in 0..ROUNDS {
            let fit = weighted_fit(&columns, &left, &weights, deviation)?;
            let coefficients: Vec<f64> = fit
                .coefficients()
                .iter()
                .map(|coefficient| coefficient.unwrap_or(0.0))
                .collect();
            let misfits = residuals(&columns, &left, &coefficients);
            deviation = spread(&misfits).max(f64::MIN_POSITIVE);
            weights = misfits
                .iter()
                .map(|misfit| (HUBER * deviation / misfit.abs()).min(1.0).sqrt())
                .collect();
            fitted = Some((fit, coefficients));
        }
        let (fit, coefficients) = fitted?;
        let pulling = weights.iter().filter(|&&weight| weight >= 1.0).count();
        let weight: f64 = weights.iter().map(|weight| weight * weight).sum();
        Some(Regression {
            design,
            rows,
            fit,
            coefficients,
            deviation,
            correction: weight / pulling.max(1) as f64,
        })
    }

    /// Rows of all readings whose surprise is beyond so many deviations.
    pub(super) fn absurd(&self, deviations: f64) -> Vec<bool> {
        let surprises = [0, 1].map(|contrast| self.surprises(contrast));
        let limits = surprises
            .each_ref()
            // Where the load rests, a coarse meter shows no change at all, which says nothing about those that moved.
            .map(|series| deviations * spread(series).max(self.deviation));
        (0..surprises[0].len())
            .map(|row| (0..2).any(|contrast| surprises[contrast][row].abs() > limits[contrast]))
            .collect()
    }

    /// How much of the change before is to be added to each, so that what is left of both does not depend on the other: θ
    /// of a moving average of first order, whose neighbours have the correlation −θ/(1 + θ²) (G. E. P. Box and G. M.
    /// Jenkins, "Time Series Analysis", 1970, 3.3).
    pub(super) fn filter_share(&self, unused: &[bool]) -> f64 {
        let (mut products, mut squares) = (0.0, 0.0);
        for contrast in 0..2 {
            let mut series = self.surprises(contrast);
            let limit = HUBER * spread(&series).max(self.deviation);
            for value in &mut series {
                *value = value.clamp(-limit, limit);
            }
            for row in 1..series.len() {
                if self.design.follows(row) && !unused[row] && !unused[row - 1] {
                    products += series[row] * series[row - 1];
                    squares += 0.5 * (series[row].powi(2) + series[row - 1].powi(2));
                }
            }
        }
        let correlation: f64 = if squares > 0.0 {
            products / squares
        } else {
            0.0
        };
        if correlation >= 0.0 {
            return 0.0;
        }
        let root = (1.0 - 4.0 * correlation * correlation).max(0.0).sqrt();
        ((1.0 - root) / (-2.0 * correlation)).min(LARGEST_SHARE)
    }

    fn surprises(&self, contrast: usize) -> Vec<f64> {
        let mut surprises = self.design.left[contrast].clone();
        for (pair, coefficient) in self.design.columns.iter().zip(&self.coefficients) {
            for (surprise, value) in surprises.iter_mut().zip(&pair[contrast]) {
                *surprise -= coefficient * value;
            }
        }
        surprises
    }

    /// The impedances of the fit, within what a low-voltage supply can have.
    pub(super) fn impedances(&self) -> Impedances {
        let ohm = |column: usize| self.coefficients[column].clamp(0.0, LARGEST_OHM);
        let of_phase = |k: usize, first: usize| -> f64 {
            let sum: f64 = (0..2)
                .map(|j| contrasts()[j][k] * self.coefficients[first + j])
                .sum();
            sum.clamp(-LARGEST_OHM, LARGEST_OHM)
        };
        Impedances {
            line: Complex64::new(ohm(LINE), ohm(LINE + 1)),
            neutral: Complex64::new(ohm(NEUTRAL), ohm(NEUTRAL + 1)),
            excess: [0, 1, 2].map(|k| (of_phase(k, FIRST_EXCESS), of_phase(k, FIRST_EXCESS + 2))),
        }
    }

    /// A combination of the columns with its error; `None` where it is not determined.
    ///
    /// The error is the larger of two: the usual one, which takes the surprises as independent and of
    /// one size, and one that allows for neither (W. K. Newey and K. D. West, "A simple, positive
    /// semi-definite, heteroskedasticity and autocorrelation consistent covariance matrix",
    /// Econometrica, vol. 55, 1987). Degrees of freedom follow F. E. Satterthwaite, "An approximate distribution of
    /// estimates of variance components", Biometrics Bulletin, vol. 2, 1946, over the events that carry the
    /// estimate.
    pub(super) fn figure(&self, weights: &[Weight]) -> Option<EstimatedFigure> {
        let (value, influence) = self.combination(weights)?;
        let surprises = [0, 1].map(|contrast| self.surprises(contrast));
        let limit = HUBER * self.deviation;
        // What pulls is the limited surprise, whose mean square is smaller than that of all.
        let mut pulled = 0.0;
        let mut scores = Vec::with_capacity(self.rows.len());
        let mut shares = Vec::with_capacity(self.rows.len());
        for &row in &self.rows {
            let mut score = 0.0;
            let mut share = 0.0;
            for (contrast, series) in surprises.iter().enumerate() {
                let pull = self.pull(&influence, contrast, row);
                let limited = series[row].clamp(-limit, limit);
                pulled += limited * limited;
                score += pull * limited;
                share += pull * pull;
            }
            scores.push(score);
            shares.push(share);
        }
        let assumed: f64 = influence
            .iter()
            .enumerate()
            .filter_map(|(column, weight)| Some((weight, expected_ohm(column)?)))
            .map(|(weight, ohm)| (weight * self.deviation.powi(2) / ohm).powi(2))
            .sum();
        let readings: Vec<usize> = self
            .rows
            .iter()
            .map(|&row| self.design.readings[row])
            .collect();
        let rows = 2.0 * self.rows.len() as f64;
        let small = rows / (rows - self.coefficients.len() as f64).max(1.0);
        let independent: f64 = small * pulled / rows * shares.iter().sum::<f64>();
        let dependent = small * newey_west(&scores, &readings);
        Some(EstimatedFigure {
            value,
            error: self.correction * (independent.max(dependent) + assumed).sqrt(),
            freedom: freedom(&shares, &readings),
        })
    }
}

impl Regression {
    /// The value of a combination of the columns, and what the columns of a row are multiplied by to have its weight
    /// in it.
    fn combination(&self, weights: &[Weight]) -> Option<(f64, Vec<f64>)> {
        let mut asked = vec![0.0; self.coefficients.len()];
        for &(column, weight) in weights {
            asked[column] = weight;
        }
        let influence = self.fit.influence(&asked)?;
        let terms = asked.iter().zip(&self.coefficients);
        Some((terms.map(|(a, b)| a * b).sum(), influence))
    }

    /// The weight of a row in a combination.
    fn pull(&self, influence: &[f64], contrast: usize, row: usize) -> f64 {
        let columns = self.design.columns.iter().zip(influence);
        columns
            .map(|(pair, weight)| pair[contrast][row] * weight)
            .sum()
    }

    /// A combination's own regressor and the left side, both with all else taken out, in the sense of what was lost:
    /// their slope through zero is the combination. (R. Frisch and F. V. Waugh, "Partial time regressions as
    /// compared with individual trends", Econometrica, vol. 1, 1933.)
    pub(super) fn added_variable(&self, weights: &[Weight]) -> Option<Vec<(f64, f64)>> {
        let (value, influence) = self.combination(weights)?;
        let mut points = Vec::with_capacity(2 * self.rows.len());
        let mut squares = 0.0;
        for contrast in 0..2 {
            let surprises = self.surprises(contrast);
            for &row in &self.rows {
                let pull = self.pull(&influence, contrast, row);
                squares += pull * pull;
                points.push((pull, surprises[row]));
            }
        }
        (squares > 0.0).then(|| {
            points
                .into_iter()
                .map(|(pull, surprise)| {
                    let own = pull / squares;
                    (-own, -(surprise + value * own))
                })
                .collect()
        })
    }
}

/// How large the impedance of a column may be by itself; the excess resistances and the growth of the lines are
/// free. (Ω, and Ω per week)
fn expected_ohm(column: usize) -> Option<f64> {
    match column {
        LINE_GROWTH => None,
        column if column < SHARED_COLUMNS => Some(SHARED_OHM),
        column if column < FIRST_EXCESS => Some(REACTANCE_OHM),
        _ => None,
    }
}

/// Least squares of weighted rows, with one more row per impedance of which it is known how large it may be.
fn weighted_fit(
    columns: &[Vec<f64>],
    left: &[f64],
    weights: &[f64],
    deviation: f64,
) -> Option<LeastSquares> {
    let weigh =
        |series: &[f64]| -> Vec<f64> { series.iter().zip(weights).map(|(v, w)| v * w).collect() };
    let expected: Vec<(usize, f64)> = (0..columns.len())
        .filter_map(|column| Some((column, expected_ohm(column)?)))
        .collect();
    let weighed: Vec<Vec<f64>> =
        columns
            .iter()
            .enumerate()
            .map(|(index, column)| {
                let mut column = weigh(column);
                column.extend(expected.iter().map(|&(own, ohm)| {
                    if own == index { deviation / ohm } else { 0.0 }
                }));
                column
            })
            .collect();
    let mut left = weigh(left);
    left.resize(left.len() + expected.len(), 0.0);
    LeastSquares::fit(&weighed, &left)
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

/// Robust deviation about zero.
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
    if squares > 0.0 {
        sum * sum / squares
    } else {
        0.0
    }
}
