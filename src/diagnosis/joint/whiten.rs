//! The wandering level of a source, followed and taken out.

/// How the level of one phase against the others behaves: it wanders about its mean with a deviation
/// and a time constant, and each reading carries an error of its own (rounding, switching).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Noise {
    /// Variance of the wandering, in units of the variance of a reading's own error.
    pub(super) ratio: f64,
    /// Time constant of the wandering. (s)
    pub(super) time_constant_s: f64,
}

impl Noise {
    /// So much wandering that only the change from the reading before counts.
    pub(super) fn differences(interval_s: f64) -> Noise {
        Noise {
            ratio: 1e9,
            time_constant_s: 1e4 * interval_s,
        }
    }
}

/// A filter that turns a series of readings with a wandering level into independent surprises: what
/// each reading adds to what the earlier ones foretold. It is linear, so that the same filter may be
/// run over the two sides of an equation.
///
/// R. E. Kalman, "A new approach to linear filtering and prediction problems", Trans. ASME Journal of
/// Basic Engineering, vol. 82, 1960, for a level that is a first-order autoregression in
/// continuous time, so that gaps of any length are right.
#[derive(Clone, Debug)]
pub(super) struct Whitener {
    /// Per reading: what is left of the level since the reading before.
    keep: Vec<f64>,
    gain: Vec<f64>,
    /// Per reading: deviation of the surprise.
    deviation: Vec<f64>,
}

impl Whitener {
    /// For readings at these times (s), ascending.
    pub(super) fn new(times: &[f64], noise: Noise) -> Whitener {
        let mut keep = Vec::with_capacity(times.len());
        let mut gain = Vec::with_capacity(times.len());
        let mut deviation = Vec::with_capacity(times.len());
        let mut uncertain = noise.ratio;
        let mut before = None;
        for &time in times {
            let kept = before.map_or(0.0, |before: f64| {
                (-(time - before) / noise.time_constant_s).exp()
            });
            let foretold = kept * kept * uncertain + noise.ratio * (1.0 - kept * kept);
            let variance = foretold + 1.0;
            keep.push(kept);
            gain.push(foretold / variance);
            deviation.push(variance.sqrt());
            uncertain = foretold / variance;
            before = Some(time);
        }
        Whitener {
            keep,
            gain,
            deviation,
        }
    }

    /// The surprises of a series, each over its deviation.
    pub(super) fn apply(&self, series: &[f64]) -> Vec<f64> {
        let mut level = 0.0;
        series
            .iter()
            .enumerate()
            .map(|(row, &value)| {
                let foretold = self.keep[row] * level;
                let surprise = value - foretold;
                level = foretold + self.gain[row] * surprise;
                surprise / self.deviation[row]
            })
            .collect()
    }

    /// Σ ln of the deviations' squares, for the likelihood.
    fn log_determinant(&self) -> f64 {
        self.deviation.iter().map(|d| 2.0 * d.ln()).sum()
    }
}

/// The noise that explains series of residuals best: greatest likelihood over the two settings, by a
/// search that halves its step. All series share one noise.
pub(super) fn likeliest(times: &[f64], residuals: &[Vec<f64>], interval_s: f64) -> Noise {
    let mut best = Noise {
        ratio: 10.0,
        time_constant_s: 7200.0_f64.max(4.0 * interval_s),
    };
    let mut best_cost = cost(times, residuals, best);
    let mut step = 3.0_f64;
    while step > 0.3 {
        let moves = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step), (step, step), (-step, -step)];
        let mut improved = false;
        for (ratio, time) in moves {
            let trial = bounded(
                Noise {
                    ratio: best.ratio * ratio.exp(),
                    time_constant_s: best.time_constant_s * time.exp(),
                },
                interval_s,
            );
            let trial_cost = cost(times, residuals, trial);
            if trial_cost < best_cost - 1e-6 {
                (best, best_cost, improved) = (trial, trial_cost, true);
            }
        }
        if !improved {
            step /= 2.0;
        }
    }
    bounded(best, interval_s)
}

/// Longest time over which a level is remembered: what changes more slowly, such as the habits of the
/// neighbours, must not be taken for an effect of one's own load. (s)
const LONGEST_MEMORY_S: f64 = 3600.0;

/// Keeps the settings where the filter forgets the level soon enough.
fn bounded(noise: Noise, interval_s: f64) -> Noise {
    let time_constant_s = noise.time_constant_s.clamp(2.0 * interval_s, 7.0 * 86_400.0);
    // A level that moves by a variance w per reading is averaged over about 1/√w readings.
    let memory = (LONGEST_MEMORY_S / interval_s).max(8.0);
    let slowest = time_constant_s / (2.0 * interval_s * memory * memory);
    Noise {
        ratio: noise.ratio.clamp(slowest, 1e6),
        time_constant_s,
    }
}

/// Minus twice the log likelihood, but for a constant.
fn cost(times: &[f64], residuals: &[Vec<f64>], noise: Noise) -> f64 {
    let whitener = Whitener::new(times, noise);
    let mut squares = 0.0;
    let mut count = 0.0;
    for series in residuals {
        squares += whitener.apply(series).iter().map(|z| z * z).sum::<f64>();
        count += series.len() as f64;
    }
    residuals.len() as f64 * whitener.log_determinant() + count * (squares / count).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn much_wandering_leaves_the_change_between_readings() {
        let times: Vec<f64> = (0..5).map(|row| 60.0 * f64::from(row)).collect();
        let whitener = Whitener::new(&times, Noise::differences(60.0));
        let series = [3.0, 5.0, 4.0, 4.0, 9.0];
        let surprises = whitener.apply(&series);
        let scale = surprises[1] / 2.0;
        for row in 1..5 {
            let change = series[row] - series[row - 1];
            assert!((surprises[row] / scale - change).abs() < 0.02, "row {row}");
        }
    }

    #[test]
    fn no_wandering_leaves_the_readings() {
        let times = [0.0, 60.0, 120.0];
        let none = Noise {
            ratio: 0.0,
            time_constant_s: 60.0,
        };
        assert_eq!(Whitener::new(&times, none).apply(&[1.0, -2.0, 3.0]), [1.0, -2.0, 3.0]);
    }

    #[test]
    fn a_long_gap_starts_the_level_afresh() {
        let noise = Noise {
            ratio: 4.0,
            time_constant_s: 600.0,
        };
        let whitener = Whitener::new(&[0.0, 60.0, 1e6], noise);
        let surprises = whitener.apply(&[10.0, 10.0, 2.0]);
        // Variance of a first reading: 4 + 1.
        assert!((surprises[2] - 2.0 / 5.0_f64.sqrt()).abs() < 1e-9);
    }
}
