//! The equations of the phase voltages, with what the phases share taken out.
//!
//! In the frame of each phase, for drops that are small against the voltage,
//!
//! ```text
//! V_k = E + e_k − R_k · Re I_k + X_k · Im I_k − R_N · Re(N/u_k) + X_N · Im(N/u_k)
//! ```
//!
//! with `I_k` against its own voltage (lagging: Im below zero), `N = Σ u_k · I_k` the neutral current and
//! `u_k` the direction of the phase. `E` moves with the load of all users and is the same for the three; two
//! contrasts between the phases do not hold it. `R_k` is what the phases share plus an excess `r_k`
//! with `Σ r_k = 0`; both may grow evenly with time.
//!
//! The source's own unbalance `e_k` wanders and has its habits, and so have the loads; a fit on the levels
//! takes one for the other. Only changes from one reading to the next are used: what is slow drops out. (A filter
//! that weighs levels by their likelihood was tried and is barely sharper, but takes a neighbour who
//! keeps the same hours for a joint.) A meter's noise and last digit make each change undo a part of the one before; a
//! filter that adds so much of the changes before takes that out again, over a few readings, not over hours.
//!
//! Once the impedances are roughly known, two small effects of the second order are corrected: the
//! drops turn the phase voltages against each other by a degree or so, which turns the currents as the neutral
//! sees them, and the part of a drop that is square to the voltage shortens it a little.

use num_complex::Complex64;

use super::readings::PhaseReadings;
use electrical::Phase;

/// Seconds of a week.
pub(super) const WEEK_S: f64 = 7.0 * 86_400.0;
/// Two contrasts of three phases, orthonormal, each with sum zero.
pub(super) fn contrasts() -> [[f64; 3]; 2] {
    let (six, two) = (6.0_f64.sqrt(), 2.0_f64.sqrt());
    [
        [2.0 / six, -1.0 / six, -1.0 / six],
        [0.0, 1.0 / two, -1.0 / two],
    ]
}

/// Impedances between source and meter as a first fit has found them. (Ω)
#[derive(Clone, Copy, Debug)]
pub(super) struct Impedances {
    /// What the three lines share.
    pub(super) line: Complex64,
    pub(super) neutral: Complex64,
    /// Of each phase above the mean of the three: at mid-log, and growth per week.
    pub(super) excess: [(f64, f64); 3],
}

/// Voltage drop of each phase against its own voltage, reading by reading, and the neutral's current.
struct Drops {
    square: [Vec<f64>; 3],
    neutral: [Vec<Complex64>; 3],
}

/// Left and right side of the equations, in changes between neighbouring readings.
#[derive(Clone, Debug)]
pub(super) struct Design {
    /// Which reading each change leads to.
    pub(super) readings: Vec<usize>,
    /// Left side: one series per contrast.
    pub(super) left: [Vec<f64>; 2],
    /// Right side: per column, one series per contrast: what the phases share, the excess reactances,
    /// the excess resistances.
    pub(super) columns: Vec<[Vec<f64>; 2]>,
}

/// Columns of the impedances that the phases share: R, X, R_N, X_N, and the growth of R and of R_N.
pub(super) const SHARED_COLUMNS: usize = 6;
/// Of these, R and R_N.
pub(super) const LINE: usize = 0;
pub(super) const NEUTRAL: usize = 2;
/// And their growth.
pub(super) const LINE_GROWTH: usize = 4;
pub(super) const NEUTRAL_GROWTH: usize = 5;
/// Columns of the excess reactances.
const REACTANCE_COLUMNS: usize = 2;
/// First of the columns of the excess resistances: two at mid-log (Ω), then their growth (Ω per week).
pub(super) const FIRST_EXCESS: usize = SHARED_COLUMNS + REACTANCE_COLUMNS;

impl Design {
    /// Poses the equations. `middle_s` is the moment (Unix seconds) that the excess refers to.
    pub(super) fn new(
        readings: &PhaseReadings,
        middle_s: f64,
        known: Option<&Impedances>,
    ) -> Design {
        let after = readings.neighbours();
        let half = 0.5 * f64::from(readings.interval_s);
        let times: Vec<f64> = readings
            .starts
            .iter()
            .map(|&start| start as f64 + half - middle_s)
            .collect();
        let current = &readings.current_a;
        let weeks = |row: usize| times[row] / WEEK_S;
        let drops = drops(readings, &times, known);
        let contrasts = contrasts();
        // The change of the contrast of a quantity that each phase has.
        let of = |value: &dyn Fn(usize, usize) -> f64| -> [Vec<f64>; 2] {
            contrasts.map(|weights| {
                let level =
                    |row: usize| -> f64 { (0..3).map(|k| weights[k] * value(k, row)).sum() };
                after
                    .iter()
                    .map(|&row| level(row) - level(row - 1))
                    .collect()
            })
        };
        let left = of(&|k, row| {
            readings.voltage_v[k][row]
                + drops.square[k][row].powi(2) / (2.0 * readings.level_v[k][row])
        });
        let mut columns = vec![
            of(&|k, row| -current[k][row].re),
            of(&|k, row| current[k][row].im),
            of(&|k, row| -drops.neutral[k][row].re),
            of(&|k, row| drops.neutral[k][row].im),
            of(&|k, row| -current[k][row].re * weeks(row)),
            of(&|k, row| -drops.neutral[k][row].re * weeks(row)),
        ];
        for weights in contrasts {
            columns.push(of(&|k, row| weights[k] * current[k][row].im));
        }
        for weights in contrasts {
            columns.push(of(&|k, row| -weights[k] * current[k][row].re));
        }
        for weights in contrasts {
            columns.push(of(&|k, row| -weights[k] * current[k][row].re * weeks(row)));
        }
        Design {
            readings: after,
            left,
            columns,
        }
    }
}

impl Design {
    /// Adds to each change so many times the filtered one before it, on both sides; where readings are missing, or the
    /// change before is not used, it begins anew.
    pub(super) fn filter(&mut self, share: f64, unused: &[bool]) {
        let goes_on: Vec<bool> = (0..self.readings.len())
            .map(|row| self.follows(row) && !unused[row - 1])
            .collect();
        for series in std::iter::once(&mut self.left)
            .chain(&mut self.columns)
            .flatten()
        {
            for row in 1..series.len() {
                if goes_on[row] {
                    series[row] += share * series[row - 1];
                }
            }
        }
    }

    /// Does a change begin where the one before it ends?
    pub(super) fn follows(&self, row: usize) -> bool {
        row > 0 && self.readings[row] == self.readings[row - 1] + 1
    }
}

/// The neutral's current in the frame of each phase, and the part of each phase's drop that is square
/// to its voltage.
fn drops(readings: &PhaseReadings, times: &[f64], known: Option<&Impedances>) -> Drops {
    let rows = readings.len();
    let mut square = [0, 1, 2].map(|_| vec![0.0; rows]);
    let mut neutral = [0, 1, 2].map(|_| vec![Complex64::ZERO; rows]);
    let phases = Phase::ALL.map(Phase::direction);
    for row in 0..rows {
        let current = [0, 1, 2].map(|k| readings.current_a[k][row]);
        let mut frames = phases;
        // The drops turn the frames, which turn the neutral's current, which changes the drops.
        for _ in 0..2 {
            let sum: Complex64 = (0..3).map(|k| frames[k] * current[k]).sum();
            for k in 0..3 {
                neutral[k][row] = sum / frames[k];
            }
            let Some(known) = known else { break };
            for k in 0..3 {
                let (excess, growth) = known.excess[k];
                let line = known.line + excess + growth * times[row] / WEEK_S;
                let drop = line * current[k] + known.neutral * neutral[k][row];
                square[k][row] = drop.im;
                frames[k] =
                    phases[k] * Complex64::from_polar(1.0, -drop.im / readings.level_v[k][row]);
            }
        }
    }
    Drops { square, neutral }
}
