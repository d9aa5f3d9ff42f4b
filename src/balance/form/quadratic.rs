//! Time folded away: the mean square of the neutral as a quadratic form in the turns.
//!
//! A unit's turn c multiplies its neutral current by a = 1∠(−120°·c). The neutral is
//! f + Σ aᵢ nᵢ, f being the fixed loads, and its mean square over time
//!
//! ```text
//! J = C + 2 Re Σ aᵢ* lᵢ + Σ Σ aᵢ* Q_ij aⱼ,   Q_ij = mean(nᵢ* nⱼ),  lᵢ = mean(nᵢ* f),
//! C = mean(|f|² + beyond²)
//! ```
//!
//! After one pass over the intervals their number no longer matters.

use num_complex::Complex64;
use rayon::prelude::*;

use crate::problem::currents::Currents;
use crate::problem::problem::Problem;
use electrical::Phase;

/// Intervals whose phasors are laid out side by side before they are multiplied.
const BLOCK: usize = 256;

/// The three factors a turn can put on a neutral current: 1, 1∠−120°, 1∠+120°.
pub(crate) fn turn_factors() -> [Complex64; 3] {
    Phase::ALL.map(Phase::direction)
}

/// Mean square of the neutral as a function of the turns.
#[derive(Clone, Debug)]
pub(crate) struct Quadratic {
    size: usize,
    entries: Vec<Complex64>,
    /// Product of each unit with the fixed loads.
    pub(crate) linear: Vec<Complex64>,
    /// Mean square when no unit runs.
    pub(crate) constant: f64,
}

impl Quadratic {
    /// One pass over the intervals of a problem.
    pub(crate) fn fold(problem: &Problem) -> Self {
        let mut rows: Vec<&Currents> = problem.units().iter().map(|unit| &unit.currents).collect();
        rows.push(&problem.supply().fixed);
        let beyond = problem.supply().beyond_square_sum(problem.intervals());
        Self::of_rows(&rows, problem.intervals(), beyond, Currents::neutral_at)
    }

    /// One pass over the rows of the units and, last, the fixed loads; `more` is a sum of squares that adds to
    /// whatever is decided.
    pub(crate) fn of_rows(
        rows: &[&Currents],
        intervals: usize,
        more: f64,
        value: impl Fn(&Currents, usize) -> Complex64 + Sync,
    ) -> Self {
        // The cut into chunks depends on the number of intervals only, so that the order of
        // summation, and with it the last digit, does not depend on the number of threads.
        let chunk = intervals.div_ceil(64).max(4 * BLOCK);
        let starts: Vec<usize> = (0..intervals).step_by(chunk).collect();
        let parts: Vec<Vec<Complex64>> = starts
            .par_iter()
            .map(|&start| products(rows, start, (start + chunk).min(intervals), &value))
            .collect();
        let mut sums = vec![Complex64::ZERO; rows.len() * rows.len()];
        for part in parts {
            for (sum, value) in sums.iter_mut().zip(part) {
                *sum += value;
            }
        }
        Self::from_sums(&sums, rows.len() - 1, more, intervals as f64)
    }

    /// More than the form can be.
    pub(crate) fn largest(&self) -> f64 {
        let units: f64 = (0..self.size).map(|i| self.own(i).max(0.0).sqrt()).sum();
        (units + self.constant.max(0.0).sqrt()).powi(2)
    }

    /// Multiplies the whole form.
    pub(crate) fn scale(&mut self, factor: f64) {
        for entry in self.entries.iter_mut().chain(&mut self.linear) {
            *entry *= factor;
        }
        self.constant *= factor;
    }

    /// Adds a form of as many units.
    pub(crate) fn add(&mut self, other: &Quadratic) {
        let others = other.entries.iter().chain(&other.linear);
        for (entry, more) in self.entries.iter_mut().chain(&mut self.linear).zip(others) {
            *entry += more;
        }
        self.constant += other.constant;
    }

    /// The form of more units, of which this one's are the given ones and the others have no part in it.
    pub(crate) fn spread(&self, size: usize, units: &[usize]) -> Self {
        let mut spread = Self {
            size,
            entries: vec![Complex64::ZERO; size * size],
            linear: vec![Complex64::ZERO; size],
            constant: self.constant,
        };
        for (i, &at) in units.iter().enumerate() {
            spread.linear[at] = self.linear[i];
            for (entry, &other) in self.row(i).iter().zip(units) {
                spread.entries[at * size + other] = *entry;
            }
        }
        spread
    }

    fn from_sums(sums: &[Complex64], size: usize, beyond: f64, intervals: f64) -> Self {
        let width = size + 1;
        let at = |i: usize, j: usize| {
            if i <= j {
                sums[i * width + j] / intervals
            } else {
                sums[j * width + i].conj() / intervals
            }
        };
        let entries = (0..size)
            .flat_map(|i| (0..size).map(move |j| (i, j)))
            .map(|(i, j)| at(i, j))
            .collect();
        Self {
            size,
            entries,
            linear: (0..size).map(|i| at(i, size)).collect(),
            constant: at(size, size).re + beyond / intervals,
        }
    }

    /// Number of units.
    pub(crate) fn size(&self) -> usize {
        self.size
    }

    /// Row of one unit.
    pub(crate) fn row(&self, i: usize) -> &[Complex64] {
        &self.entries[i * self.size..(i + 1) * self.size]
    }

    /// Mean square of the neutral current of one unit alone. (A²)
    pub(crate) fn own(&self, i: usize) -> f64 {
        self.entries[i * self.size + i].re
    }

    /// J for given turns. (A²)
    pub(crate) fn value(&self, turns: &[usize]) -> f64 {
        let factors = turn_factors();
        let mut sum = self.constant;
        for (i, &turn) in turns.iter().enumerate() {
            let inner: Complex64 = self
                .row(i)
                .iter()
                .zip(turns)
                .map(|(entry, &other)| entry * factors[other])
                .sum();
            sum += (factors[turn].conj() * (inner + 2.0 * self.linear[i])).re;
        }
        sum
    }

    /// The form left when only `free` units may still turn, in that order; the others have `turns`.
    pub(crate) fn restrict(&self, free: &[usize], turns: &[usize]) -> Self {
        let factors = turn_factors();
        let mut is_free = vec![false; self.size];
        for &unit in free {
            is_free[unit] = true;
        }
        let settled = |i: usize| -> Complex64 {
            (0..self.size)
                .filter(|&j| !is_free[j])
                .map(|j| self.row(i)[j] * factors[turns[j]])
                .sum()
        };
        let mut constant = self.constant;
        for j in (0..self.size).filter(|&j| !is_free[j]) {
            constant += (factors[turns[j]].conj() * (settled(j) + 2.0 * self.linear[j])).re;
        }
        Self {
            size: free.len(),
            entries: free
                .iter()
                .flat_map(|&i| free.iter().map(move |&j| self.row(i)[j]))
                .collect(),
            linear: free.iter().map(|&i| self.linear[i] + settled(i)).collect(),
            constant,
        }
    }
}

impl Quadratic {
    /// True when nothing fixed meets the units: then turning all of them alike changes nothing.
    pub(crate) fn is_turn_invariant(&self) -> bool {
        (0..self.size).all(|i| {
            let size = (self.own(i) * self.constant).max(0.0).sqrt();
            self.linear[i].norm() <= 1e-12 * size
        })
    }

    /// True when all power factors are equal, so that mirror images are equal too.
    pub(crate) fn is_real(&self) -> bool {
        (0..self.size).all(|i| {
            (0..i).all(|j| {
                let size = (self.own(i) * self.own(j)).max(0.0).sqrt();
                self.row(i)[j].im.abs() <= 1e-12 * size
            })
        })
    }
}

/// Sums over some intervals of nᵢ* nⱼ, upper triangle.
fn products(
    rows: &[&Currents],
    start: usize,
    end: usize,
    neutral: &impl Fn(&Currents, usize) -> Complex64,
) -> Vec<Complex64> {
    let width = rows.len();
    let mut sums = vec![Complex64::ZERO; width * width];
    let mut real = vec![0.0; width * BLOCK];
    let mut imaginary = vec![0.0; width * BLOCK];
    for block in (start..end).step_by(BLOCK) {
        let length = BLOCK.min(end - block);
        for (i, currents) in rows.iter().enumerate() {
            for t in 0..BLOCK {
                let value = if t < length {
                    neutral(currents, block + t)
                } else {
                    Complex64::ZERO
                };
                real[i * BLOCK + t] = value.re;
                imaginary[i * BLOCK + t] = value.im;
            }
        }
        for i in 0..width {
            for j in i..width {
                sums[i * width + j] += conjugate_product(
                    (
                        &real[i * BLOCK..(i + 1) * BLOCK],
                        &imaginary[i * BLOCK..(i + 1) * BLOCK],
                    ),
                    (
                        &real[j * BLOCK..(j + 1) * BLOCK],
                        &imaginary[j * BLOCK..(j + 1) * BLOCK],
                    ),
                );
            }
        }
    }
    sums
}

/// Σ a* b over one block, in four lanes.
fn conjugate_product(a: (&[f64], &[f64]), b: (&[f64], &[f64])) -> Complex64 {
    let mut real = [0.0; 4];
    let mut imaginary = [0.0; 4];
    let left = a.0.chunks_exact(4).zip(a.1.chunks_exact(4));
    let right = b.0.chunks_exact(4).zip(b.1.chunks_exact(4));
    for ((ar, ai), (br, bi)) in left.zip(right) {
        for lane in 0..4 {
            real[lane] += ar[lane] * br[lane] + ai[lane] * bi[lane];
            imaginary[lane] += ar[lane] * bi[lane] - ai[lane] * br[lane];
        }
    }
    Complex64::new(real.iter().sum(), imaginary.iter().sum())
}
