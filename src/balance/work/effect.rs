//! The effect of each move on the neutral: alone, last, and together with others.

use num_complex::Complex64;

use crate::problem::problem::Problem;
use electrical::Phase;

/// Intervals whose phasors are copied into one block before they are multiplied.
const BLOCK: usize = 512;

/// A unit that changes its turn, or is connected for the first time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PlannedChange {
    pub(crate) unit: usize,
    /// `None`: not connected yet.
    pub(crate) from: Option<usize>,
    pub(crate) to: usize,
}

/// The changes between now and a plan, in the order of the units.
pub(crate) fn changes(problem: &Problem, turns: &[usize]) -> Vec<PlannedChange> {
    problem
        .units()
        .iter()
        .zip(turns)
        .enumerate()
        .filter(|(_, (unit, turn))| unit.current != Some(**turn))
        .map(|(index, (unit, &to))| PlannedChange {
            unit: index,
            from: unit.current,
            to,
        })
        .collect()
}

/// Mean square of the supply's neutral as a function of which changes are made. (A²)
///
/// With x_i = 1 where change i is made and d_i what it adds to the present neutral n,
/// J(x) = mean|n + Σ x_i d_i|² + mean(beyond²) + the mean square that the intervals do not resolve.
#[derive(Clone, Debug)]
pub(crate) struct Effects {
    now: f64,
    /// mean Re(n* d_i)
    linear: Vec<f64>,
    /// mean Re(d_i* d_j)
    products: Vec<Vec<f64>>,
}

impl Effects {
    pub(crate) fn new(problem: &Problem, changes: &[PlannedChange]) -> Effects {
        let now: Vec<Option<usize>> = problem.units().iter().map(|unit| unit.current).collect();
        Effects::from(problem, &now, changes)
    }

    /// The same where the changes begin at other turns than those of now.
    pub(crate) fn from(
        problem: &Problem,
        turns: &[Option<usize>],
        changes: &[PlannedChange],
    ) -> Effects {
        let intervals = problem.intervals();
        let size = changes.len();
        let mut effects = Effects {
            now: 0.0,
            linear: vec![0.0; size],
            products: vec![vec![0.0; size]; size],
        };
        let supply = problem.supply();
        for start in (0..intervals).step_by(BLOCK) {
            let block = start..(start + BLOCK).min(intervals);
            let mut neutral: Vec<Complex64> = block
                .clone()
                .map(|interval| supply.fixed.neutral_at(interval))
                .collect();
            for (unit, turn) in problem.units().iter().zip(turns) {
                let Some(turn) = *turn else { continue };
                let factor = Phase::ALL[turn].direction();
                for (sum, interval) in neutral.iter_mut().zip(block.clone()) {
                    *sum += factor * unit.currents.neutral_at(interval);
                }
            }
            let differences: Vec<Vec<Complex64>> = changes
                .iter()
                .map(|change| {
                    let from = change
                        .from
                        .map_or(Complex64::ZERO, |turn| Phase::ALL[turn].direction());
                    let factor = Phase::ALL[change.to].direction() - from;
                    let currents = &problem.units()[change.unit].currents;
                    block
                        .clone()
                        .map(|interval| factor * currents.neutral_at(interval))
                        .collect()
                })
                .collect();
            effects.now += product(&neutral, &neutral);
            for (i, one) in differences.iter().enumerate() {
                effects.linear[i] += product(&neutral, one);
                for (j, other) in differences[..=i].iter().enumerate() {
                    effects.products[i][j] += product(one, other);
                }
            }
        }
        effects.finish(supply.beyond_square_sum(intervals), intervals as f64);
        effects
    }

    fn finish(&mut self, beyond: f64, intervals: f64) {
        self.now = (self.now + beyond) / intervals;
        for i in 0..self.linear.len() {
            self.linear[i] /= intervals;
            for j in 0..=i {
                self.products[i][j] /= intervals;
                self.products[j][i] = self.products[i][j];
            }
        }
    }

    /// With these changes made.
    pub(crate) fn mean_square(&self, made: &[bool]) -> f64 {
        let on = || (0..made.len()).filter(|&i| made[i]);
        let mut sum = self.now;
        for i in on() {
            sum += 2.0 * self.linear[i];
            sum += on().map(|j| self.products[i][j]).sum::<f64>();
        }
        sum.max(0.0)
    }

    /// Increase of the mean square by one more change. (A²)
    pub(crate) fn added(&self, made: &[bool], change: usize) -> f64 {
        let products = &self.products[change];
        let with_others: f64 = (0..made.len())
            .filter(|&i| made[i])
            .map(|i| products[i])
            .sum();
        2.0 * (self.linear[change] + with_others) + products[change]
    }

    /// With these changes made. (A)
    pub(crate) fn rms(&self, made: &[bool]) -> f64 {
        self.mean_square(made).sqrt()
    }

    /// Reduction of the neutral rms when a change is the only one; negative where it increases. (A)
    pub(crate) fn gain_alone(&self, change: usize) -> f64 {
        let mut made = vec![false; self.linear.len()];
        let before = self.rms(&made);
        made[change] = true;
        before - self.rms(&made)
    }

    /// Increase of the neutral rms when one change is left out of the plan. (A)
    pub(crate) fn loss_without(&self, change: usize) -> f64 {
        let mut made = vec![true; self.linear.len()];
        let after = self.rms(&made);
        made[change] = false;
        self.rms(&made) - after
    }
}

fn product(one: &[Complex64], other: &[Complex64]) -> f64 {
    one.iter()
        .zip(other)
        .map(|(a, b)| a.re * b.re + a.im * b.im)
        .sum()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::samples::{Kind, config, random_problem};

    proptest! {
        #![proptest_config(config(40))]

        /// The same as computing each state from its series.
        #[test]
        fn agrees_with_the_series(seed: u64, units in 1..7_usize, mask: u8) {
            let mut problem = random_problem(seed, Kind { units, intervals: 9, plain: false, limits: false });
            if problem.current().is_none() {
                problem = random_problem(seed, Kind { units, intervals: 9, plain: true, limits: false });
            }
            let now = problem.current().expect("plain problems are connected");
            let plan: Vec<usize> = now.iter().enumerate().map(|(i, turn)| (turn + i) % 3).collect();
            let changes = changes(&problem, &plan);
            let effects = Effects::new(&problem, &changes);
            let made: Vec<bool> = (0..changes.len()).map(|i| mask & (1 << i) != 0).collect();
            let mut turns = now;
            for (change, _) in changes.iter().zip(&made).filter(|(_, made)| **made) {
                turns[change.unit] = change.to;
            }
            let expected = problem.evaluate(&turns).mean_square;
            prop_assert!((effects.mean_square(&made) - expected).abs() <= 1e-9 * (1.0 + expected));
        }
    }
}
