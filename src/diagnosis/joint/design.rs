//! The equations of the phase voltages, with what the phases share taken out.
//!
//! In the frame of each phase, for drops that are small against the voltage,
//!
//! ```text
//! V_k = E + e_k − R_k · Re I_k + X_k · Im I_k − R_N · Re(N/u_k) + X_N · Im(N/u_k)
//! ```
//!
//! with `I_k` against its own voltage (lagging: Im below nought), `N = Σ u_k · I_k` the neutral current and
//! `u_k` the direction of the phase. `E` moves with everybody's load and is the same for the three; two
//! contrasts between the phases do not hold it. `R_k` is what the phases share plus an excess `r_k`
//! with `Σ r_k = 0` that may grow evenly with time.

use num_complex::Complex64;

use super::readings::PhaseReadings;
use crate::electrical::Phase;

/// Seconds of a week.
pub(super) const WEEK_S: f64 = 7.0 * 86_400.0;
/// Daily pattern of the source's unbalance: this many harmonics of the day.
const DAY_HARMONICS: usize = 3;
/// A daily pattern is told apart from chance only over some days. (s)
const DAYS_FOR_PATTERN_S: i64 = 2 * 86_400;

/// Two contrasts of three phases, orthonormal, each with sum nought.
pub(super) fn contrasts() -> [[f64; 3]; 2] {
    let (six, two) = (6.0_f64.sqrt(), 2.0_f64.sqrt());
    [
        [2.0 / six, -1.0 / six, -1.0 / six],
        [0.0, 1.0 / two, -1.0 / two],
    ]
}

/// Left and right side of the equations, contrast by contrast.
#[derive(Clone, Debug)]
pub(super) struct Design {
    /// Times from the middle of the log. (s)
    pub(super) times: Vec<f64>,
    /// Left side: one series per contrast.
    pub(super) left: [Vec<f64>; 2],
    /// Right side: per column, one series per contrast. The last four are the excess resistances:
    /// two at mid-log (Ω), then their growth (Ω per week).
    pub(super) columns: Vec<[Vec<f64>; 2]>,
}

/// Number of columns of the excess resistances.
pub(super) const EXCESS_COLUMNS: usize = 4;

impl Design {
    /// Poses the equations. `middle_s` is the moment (Unix seconds) that the excess refers to.
    pub(super) fn new(readings: &PhaseReadings, middle_s: f64) -> Design {
        let rows = readings.len();
        let half = 0.5 * f64::from(readings.interval_s);
        let times: Vec<f64> = readings
            .starts
            .iter()
            .map(|&start| start as f64 + half - middle_s)
            .collect();
        let neutral: Vec<Complex64> = (0..rows)
            .map(|row| {
                Phase::ALL
                    .iter()
                    .map(|phase| phase.direction() * readings.current_a[phase.index()][row])
                    .sum()
            })
            .collect();
        let contrasts = contrasts();
        // The contrast of a quantity that each phase has.
        let of = |value: &dyn Fn(usize, usize) -> f64| -> [Vec<f64>; 2] {
            contrasts.map(|weights| {
                (0..rows)
                    .map(|row| (0..3).map(|k| weights[k] * value(k, row)).sum())
                    .collect()
            })
        };
        let left = of(&|k, row| readings.voltage_v[k][row]);
        let current = &readings.current_a;
        let in_frame = |k: usize, row: usize| neutral[row] / Phase::ALL[k].direction();
        let mut columns = level_columns(&times, readings.span_s(), middle_s);
        columns.push(of(&|k, row| -current[k][row].re));
        columns.push(of(&|k, row| current[k][row].im));
        columns.push(of(&|k, row| -in_frame(k, row).re));
        columns.push(of(&|k, row| in_frame(k, row).im));
        for weights in contrasts {
            columns.push(of(&|k, row| weights[k] * current[k][row].im));
        }
        for weights in contrasts {
            columns.push(of(&|k, row| -weights[k] * current[k][row].re));
        }
        for weights in contrasts {
            columns.push(of(&|k, row| {
                -weights[k] * current[k][row].re * times[row] / WEEK_S
            }));
        }
        Design {
            times,
            left,
            columns,
        }
    }
}

/// The source's own unbalance: a level per contrast and a pattern over the day.
fn level_columns(times: &[f64], span_s: i64, middle_s: f64) -> Vec<[Vec<f64>; 2]> {
    let mut shapes: Vec<Vec<f64>> = vec![vec![1.0; times.len()]];
    if span_s >= DAYS_FOR_PATTERN_S {
        for harmonic in 1..=DAY_HARMONICS {
            let angle = |time: &f64| {
                std::f64::consts::TAU * harmonic as f64 * (time + middle_s).rem_euclid(86_400.0)
                    / 86_400.0
            };
            shapes.push(times.iter().map(|time| angle(time).cos()).collect());
            shapes.push(times.iter().map(|time| angle(time).sin()).collect());
        }
    }
    let none = vec![0.0; times.len()];
    shapes
        .into_iter()
        .flat_map(|shape| [[shape.clone(), none.clone()], [none.clone(), shape]])
        .collect()
}
