//! The bound at one node of the tree, with the multipliers it rests on.

mod improve;

use num_complex::Complex64;

use super::budget::Budget;
use super::cut::{Cut, CutTerm};
use super::eisenstein::{Eisenstein, LeastNorms};
use super::scalar::Scalar;
use crate::form::quadratic::{Quadratic, turn_factors};

const DECIDED: usize = usize::MAX;

/// A form with some units decided, and the best bound known for the rest.
#[derive(Clone, Debug)]
pub(crate) struct Relaxation<S> {
    /// Undecided units.
    pub(crate) free: Vec<usize>,
    /// Position of each unit among the undecided.
    place: Vec<usize>,
    /// Turns of the decided units.
    pub(crate) turns: Vec<usize>,
    /// Turns that a limit rules out, by unit.
    ruled_out: Vec<[bool; 3]>,
    /// D, by unit.
    diagonal: Vec<f64>,
    pub(crate) cuts: Vec<Cut>,
    /// A limited number of moves, if it is limited.
    pub(crate) budget: Option<Budget>,
    /// J_F: the form's value with the decided units alone. [A²]
    decided_value: f64,
    /// What the decided units mean for each of the others: Q_RF a_F, by unit.
    field: Vec<Complex64>,
    /// W = S⁻¹, by row; only the diagonal and the entries right of it are kept up to date.
    inverse: Vec<S>,
    /// U = W B; −U is where the undecided units tend to.
    pub(crate) tendency: Vec<Complex64>,
    /// No allocation below this node has a smaller mean square. [A²]
    pub(crate) bound: f64,
    /// Multiplications so far.
    pub(crate) work: u64,
}

impl<S: Scalar> Relaxation<S> {
    /// Nothing decided, no cuts.
    pub(crate) fn new(form: &Quadratic, budget: Option<Budget>) -> Self {
        let size = form.size();
        let mut relaxation = Self {
            free: (0..size).collect(),
            place: (0..size).collect(),
            turns: vec![0; size],
            ruled_out: vec![[false; 3]; size],
            diagonal: first_diagonal(form),
            cuts: Vec::new(),
            budget,
            decided_value: form.constant,
            field: form.linear.clone(),
            inverse: Vec::new(),
            tendency: Vec::new(),
            bound: 0.0,
            work: 0,
        };
        relaxation.refactor(form);
        relaxation
    }

    /// D_ii. [A²]
    pub(crate) fn diagonal(&self, unit: usize) -> f64 {
        self.diagonal[unit]
    }

    /// W_ij.
    pub(crate) fn inverse_at(&self, i: usize, j: usize) -> S {
        let r = self.free.len();
        if i <= j {
            self.inverse[i * r + j]
        } else {
            self.inverse[j * r + i].conj()
        }
    }

    /// True unless a limit or the number of moves rules a turn out.
    pub(crate) fn may_turn(&self, unit: usize, turn: usize) -> bool {
        let budget = self.budget.as_ref();
        !self.ruled_out[unit][turn]
            && budget.is_none_or(|budget| budget.cost(unit, turn) <= budget.left)
    }

    /// Rules a turn out here and below.
    pub(crate) fn rule_out(&mut self, unit: usize, turn: usize) {
        self.ruled_out[unit][turn] = true;
    }

    /// Position of a unit among the undecided.
    pub(crate) fn place_of(&self, term: CutTerm) -> usize {
        self.place[usize::from(term.unit)]
    }

    /// Computes inverse, tendency and bound afresh from the multipliers.
    ///
    /// Should rounding have made S indefinite, the diagonal gives way: the bound stays valid.
    pub(crate) fn refactor(&mut self, form: &Quadratic) {
        let first = first_diagonal(form);
        let mut shift = 0.0;
        loop {
            if let Some(inverse) = invert(self.slack(form, &first, shift), self.free.len()) {
                for &i in &self.free {
                    self.diagonal[i] += shift * first[i];
                }
                self.inverse = inverse;
                break;
            }
            shift = if shift == 0.0 { 1e-9 } else { shift * 10.0 };
            if shift > 1.0 {
                self.start_again(form);
                shift = 0.0;
            }
        }
        let r = self.free.len();
        self.work += (r * r * r) as u64 * S::COST;
        let mut right: Vec<Complex64> = self.free.iter().map(|&i| self.field[i]).collect();
        let mut constant =
            self.decided_value + self.free.iter().map(|&i| self.diagonal[i]).sum::<f64>();
        for cut in &self.cuts {
            constant += cut.multiplier * (cut.least - cut.sum.norm());
            let sum = cut.sum.to_complex() * cut.multiplier;
            for &term in cut.terms() {
                right[self.place_of(term)] -= weight::<S>(term).to_complex() * sum;
            }
        }
        if let Some(budget) = &self.budget {
            constant += budget.multiplier * budget.constant(&self.free);
            for (right, &unit) in right.iter_mut().zip(&self.free) {
                *right -= budget.pull(unit) * (budget.multiplier / 3.0);
            }
        }
        self.tendency = (0..r)
            .map(|i| {
                let row = self.inverse[i * r..(i + 1) * r].iter().zip(&right);
                row.map(|(w, b)| w.to_complex() * b).sum()
            })
            .collect();
        let drop: f64 = right
            .iter()
            .zip(&self.tendency)
            .map(|(b, u)| (b.conj() * u).re)
            .sum();
        self.bound = constant - drop;
    }

    /// Multipliers for which S is positive definite whatever the form.
    fn start_again(&mut self, form: &Quadratic) {
        self.cuts.clear();
        self.diagonal = first_diagonal(form);
    }

    /// S = Q − D − Σ λ b b^H for the undecided units, with a share of the first diagonal added.
    fn slack(&self, form: &Quadratic, first: &[f64], shift: f64) -> Vec<S> {
        let r = self.free.len();
        let mut slack = Vec::with_capacity(r * r);
        for &i in &self.free {
            let row = form.row(i);
            slack.extend(self.free.iter().map(|&j| S::from_complex(row[j])));
        }
        for (place, &i) in self.free.iter().enumerate() {
            let more = -shift * first[i] - self.diagonal[i];
            slack[place * r + place] += S::from_complex(Complex64::new(more, 0.0));
        }
        for cut in &self.cuts {
            for &a in cut.terms() {
                for &b in cut.terms() {
                    let product = weight::<S>(a) * weight::<S>(b).conj();
                    slack[self.place_of(a) * r + self.place_of(b)] -= product.scale(cut.multiplier);
                }
            }
        }
        slack
    }

    /// Drops cuts with a multiplier of zero.
    pub(crate) fn drop_idle(&mut self, least: f64) {
        self.cuts
            .retain(|cut| cut.multiplier > least && !cut.terms().is_empty());
    }

    /// For each undecided unit and turn, how much the bound rises when it is decided so.
    pub(crate) fn gains(&self, norms: &LeastNorms) -> Vec<[f64; 3]> {
        let factors = turn_factors();
        let mut gains: Vec<[f64; 3]> = (0..self.free.len())
            .map(|place| {
                let alpha = self.inverse_at(place, place).re();
                factors.map(|a| (a + self.tendency[place]).norm_sqr() / alpha)
            })
            .collect();
        for cut in &self.cuts {
            for &term in cut.terms() {
                for (turn, gain) in gains[self.place_of(term)].iter_mut().enumerate() {
                    *gain += cut.multiplier * cut.growth(term, turn, norms);
                }
            }
        }
        gains
    }

    /// Decides one unit. Call [`Relaxation::refactor`] before relying on anything but the bound.
    pub(crate) fn decide(
        &mut self,
        form: &Quadratic,
        unit: usize,
        turn: usize,
        norms: &LeastNorms,
    ) {
        let a = turn_factors()[turn];
        self.decided_value += form.own(unit) + 2.0 * (a.conj() * self.field[unit]).re;
        let place = self.place[unit];
        self.free.remove(place);
        self.place[unit] = DECIDED;
        for (place, &i) in self.free.iter().enumerate() {
            self.place[i] = place;
            self.field[i] += form.row(i)[unit] * a;
        }
        self.turns[unit] = turn;
        if let Some(budget) = &mut self.budget {
            budget.decide(unit, turn);
        }
        for cut in &mut self.cuts {
            cut.decide(unit, turn, norms);
        }
        self.cuts.retain(|cut| !cut.terms().is_empty());
    }

    /// The nearest allocation to where the undecided units tend.
    pub(crate) fn rounded(&self) -> Vec<usize> {
        let factors = turn_factors();
        let mut turns = self.turns.clone();
        for (&i, u) in self.free.iter().zip(&self.tendency) {
            let toward = |turn: usize| -(factors[turn].conj() * u).re;
            turns[i] = (0..3)
                .max_by(|&a, &b| toward(a).total_cmp(&toward(b)))
                .unwrap_or(0);
        }
        turns
    }

    /// Adds a cut unless it is there.
    pub(crate) fn add_cut(
        &mut self,
        terms: &[CutTerm],
        sum: Eisenstein,
        norms: &LeastNorms,
    ) -> bool {
        let cut = Cut::new(terms, sum, norms);
        let is_new = !self.cuts.iter().any(|other| other.key() == cut.key());
        if is_new {
            self.cuts.push(cut);
        }
        is_new
    }
}

fn first_diagonal(form: &Quadratic) -> Vec<f64> {
    let size = form.size();
    let sum: f64 = (0..size).map(|i| form.own(i)).sum();
    let mean = if sum > 0.0 { sum / size as f64 } else { 1.0 };
    (0..size)
        .map(|i| -0.1 * form.own(i) - 1e-3 * mean)
        .collect()
}

/// A term's weight as a number.
pub(crate) fn weight<S: Scalar>(term: CutTerm) -> S {
    let factor = turn_factors()[usize::from(term.weight % 3)];
    S::from_complex(if term.weight < 3 { factor } else { -factor })
}

/// Inverse of a positive definite matrix; `None` when it is not positive definite.
fn invert<S: Scalar>(mut matrix: Vec<S>, size: usize) -> Option<Vec<S>> {
    let largest = (0..size)
        .map(|k| matrix[k * size + k].re())
        .fold(0.0, f64::max);
    let floor = 1e-13 * largest;
    let mut pivot_row = vec![S::ZERO; size];
    for k in 0..size {
        let pivot = matrix[k * size + k];
        if pivot.re().is_nan() || pivot.re() <= floor {
            return None;
        }
        let inverse = pivot.reciprocal();
        let row = &mut matrix[k * size..(k + 1) * size];
        row[k] = S::from_complex(Complex64::new(1.0, 0.0));
        for value in row.iter_mut() {
            *value = *value * inverse;
        }
        pivot_row.copy_from_slice(row);
        for (i, row) in matrix.chunks_exact_mut(size).enumerate() {
            if i == k {
                continue;
            }
            let factor = row[k];
            row[k] = S::ZERO;
            for (value, pivot) in row.iter_mut().zip(&pivot_row) {
                *value -= factor * *pivot;
            }
        }
    }
    Some(matrix)
}
