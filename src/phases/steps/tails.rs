//! How other loads scatter: a distribution with long tails in several dimensions.

use crate::changes::matrix::{inverse, log_determinant, quadratic};

/// Degrees of freedom: now and then another load switches in the same minutes.
const FREEDOM: f64 = 3.0;
/// A step that a load does again differs by so many of the least deviations.
const WIDTH: f64 = 2.0;
/// Beyond so many widths nothing is counted.
const FARTHEST: f64 = 5.0;
/// Rounds of weighting.
const ROUNDS: usize = 12;

/// Student's t about zero.
#[derive(Clone, Debug)]
pub(super) struct LongTails {
    precision: Vec<f64>,
    log_determinant: f64,
    size: usize,
    /// What was seen, which other loads may do again.
    seen: Vec<Vec<f64>>,
    /// Within what. (the unit of what was seen)
    width: f64,
}

impl LongTails {
    /// Fitted to what was seen, with a least deviation in each dimension; `None` with too little to see.
    pub(super) fn fit(seen: &[Vec<f64>], least: &[f64]) -> Option<LongTails> {
        let size = least.len();
        if seen.len() < 4 * size {
            return None;
        }
        let mut scatter = vec![0.0; size * size];
        let mut weights = vec![1.0; seen.len()];
        let mut precision = Vec::new();
        for _ in 0..ROUNDS {
            scatter.fill(0.0);
            for (one, weight) in seen.iter().zip(&weights) {
                for row in 0..size {
                    for column in 0..size {
                        scatter[row * size + column] +=
                            weight * one[row] * one[column] / seen.len() as f64;
                    }
                }
            }
            for (k, least) in least.iter().enumerate() {
                scatter[k * size + k] += least * least;
            }
            precision = inverse(&scatter, size)?;
            for (weight, one) in weights.iter_mut().zip(seen) {
                *weight = (FREEDOM + size as f64) / (FREEDOM + quadratic(&precision, one));
            }
        }
        Some(LongTails {
            log_determinant: log_determinant(&precision, size)?,
            precision,
            size,
            seen: seen.to_vec(),
            width: WIDTH * least.iter().copied().fold(0.0, f64::max),
        })
    }

    /// Logarithm of the density: half of it smooth, half of it what was seen, each time again within the width of a step
    /// (a kernel estimate).
    pub(super) fn log_density(&self, at: &[f64]) -> f64 {
        let size = self.size as f64;
        let constant = ln_gamma(0.5 * (FREEDOM + size))
            - ln_gamma(0.5 * FREEDOM)
            - 0.5 * size * (FREEDOM * std::f64::consts::PI).ln();
        let smooth = constant + 0.5 * self.log_determinant
            - 0.5 * (FREEDOM + size) * (quadratic(&self.precision, at) / FREEDOM).ln_1p();
        let kernel = |seen: &Vec<f64>| {
            let square: f64 = seen
                .iter()
                .zip(at)
                .map(|(seen, at)| (seen - at).powi(2))
                .sum();
            let distance = square / self.width.powi(2);
            if distance > FARTHEST * FARTHEST {
                0.0
            } else {
                (-0.5 * distance).exp()
            }
        };
        let again = self.seen.iter().map(kernel).sum::<f64>() / self.seen.len() as f64;
        let again = again / (self.width * std::f64::consts::TAU.sqrt()).powi(self.size as i32);
        (0.5 * smooth.exp() + 0.5 * again).ln()
    }
}

/// Logarithm of the gamma function at halves of whole numbers.
fn ln_gamma(at: f64) -> f64 {
    let (mut below, mut sum) = (at, 0.0);
    while below > 1.0 {
        below -= 1.0;
        sum += below.ln();
    }
    // Γ(1/2) = √π, Γ(1) = 1.
    if below < 0.75 {
        sum + 0.5 * std::f64::consts::PI.ln()
    } else {
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 9 of 10 within a unit, the tenth at 100: the tails hardly widen the middle.
    #[test]
    fn single_large_values_do_not_widen_the_middle() {
        let seen: Vec<Vec<f64>> = (0..100)
            .map(|at| {
                vec![if at % 10 == 9 {
                    100.0
                } else {
                    f64::from(at % 9) / 4.0 - 1.0
                }]
            })
            .collect();
        let tails = LongTails::fit(&seen, &[0.01]).expect("enough");
        let fall = tails.log_density(&[0.0]) - tails.log_density(&[20.0]);
        assert!(fall > 8.0, "{fall}");
        // What was seen once in ten may happen again.
        assert!(tails.log_density(&[100.0]) > tails.log_density(&[60.0]) + 3.0);
        assert!((ln_gamma(2.5) - (0.75 * std::f64::consts::PI.sqrt()).ln()).abs() < 1e-12);
        assert!(LongTails::fit(&seen[..3], &[0.01]).is_none());
    }
}
