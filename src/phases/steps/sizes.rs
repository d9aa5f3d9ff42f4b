//! A step may be larger or smaller than the rating, and a test may be a slip.

/// Standard deviation of the logarithm of a step against the rating. Common practice: ratings within a fifth, and
/// machines seldom fully loaded.
const SIZE_SPREAD: f64 = 0.35;
/// Sizes that are tried on either side of the rating, and the farthest of them in standard deviations.
const SIZES: i32 = 12;
const FARTHEST: f64 = 2.4;
/// Probability that a test is written down with a wrong machine or time. A guess.
const SLIP: f64 = 0.1;

/// Mean likelihood over the sizes that a step may have, with the chance of a slip; all as logarithms.
pub(super) fn over_sizes(density: impl Fn(f64) -> f64) -> f64 {
    let deviations = || (-SIZES..=SIZES).map(|at| FARTHEST * f64::from(at) / f64::from(SIZES));
    let weights: Vec<f64> = deviations()
        .map(|deviation| -0.5 * deviation * deviation)
        .collect();
    let total = log_sum(&weights);
    let logs: Vec<f64> = deviations()
        .zip(&weights)
        .map(|(deviation, weight)| weight - total + density((SIZE_SPREAD * deviation).exp()))
        .collect();
    let right = (1.0 - SLIP).ln() + log_sum(&logs);
    log_sum(&[right, SLIP.ln() + density(0.0)])
}

/// Logarithm of the sum of numbers whose logarithms are given.
pub(super) fn log_sum(logs: &[f64]) -> f64 {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + logs.iter().map(|log| (log - most).exp()).sum::<f64>().ln()
}
