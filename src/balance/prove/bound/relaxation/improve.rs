//! Better multipliers, one at a time, with the inverse kept up to date.

use num_complex::Complex64;

use super::{Relaxation, weight};
use crate::prove::bound::cut::Cut;
use crate::prove::bound::scalar::Scalar;

impl<S: Scalar> Relaxation<S> {
    /// One round over all multipliers; μ is the weight of the barrier. [A²]
    ///
    /// Steps that would gain less than `least_gain` are left out. Returns what was gained.
    pub(crate) fn sweep(&mut self, mu: f64, least_gain: f64) -> f64 {
        let before = self.bound;
        self.price_moves();
        // Judging a step takes some hundred multiplications, whether or not it is made.
        self.work += 100 * (self.free.len() + self.cuts.len()) as u64;
        for place in 0..self.free.len() {
            let alpha = self.inverse_at(place, place).re();
            let q = self.tendency[place].norm_sqr();
            let step = best_step(mu, alpha, q, 1.0, f64::NEG_INFINITY);
            if step.gain > least_gain {
                self.diagonal[self.free[place]] += step.t;
                let mut column = vec![S::ZERO; self.free.len()];
                self.add_column(place, S::from_complex(Complex64::ONE), &mut column);
                let miss = self.tendency[place];
                self.update(&column, miss, alpha, q, 1.0, step.t);
            }
        }
        for index in 0..self.cuts.len() {
            let cut = self.cuts[index];
            let (alpha, miss) = self.cut_state(&cut);
            let q = miss.norm_sqr();
            let step = best_step(mu, alpha, q, cut.least, -cut.multiplier);
            if step.gain > least_gain || (step.t <= -cut.multiplier && step.t < 0.0) {
                self.cuts[index].multiplier = (cut.multiplier + step.t).max(0.0);
                let column = self.column(&cut);
                self.update(&column, miss, alpha, q, cut.least, step.t);
            }
        }
        self.bound - before
    }

    /// Sets the price of a move to what makes the bound largest.
    fn price_moves(&mut self) {
        let Some(budget) = &mut self.budget else {
            return;
        };
        let r = self.free.len();
        let pulls: Vec<Complex64> = self.free.iter().map(|&unit| budget.pull(unit)).collect();
        // W g, from the half of W that is kept up to date.
        let mut column = vec![Complex64::ZERO; r];
        for i in 0..r {
            column[i] += self.inverse[i * r + i].to_complex() * pulls[i];
            for j in i + 1..r {
                let w = self.inverse[i * r + j].to_complex();
                column[i] += w * pulls[j];
                column[j] += w.conj() * pulls[i];
            }
        }
        let along = |values: &[Complex64]| -> f64 {
            pulls
                .iter()
                .zip(values)
                .map(|(g, value)| (g.conj() * value).re)
                .sum()
        };
        let curvature = along(&column) / 9.0;
        if curvature.is_nan() || curvature <= 0.0 {
            return;
        }
        let slope = budget.constant(&self.free) + 2.0 / 3.0 * along(&self.tendency);
        let step = (slope / (2.0 * curvature)).max(-budget.multiplier);
        budget.multiplier += step;
        for (u, value) in self.tendency.iter_mut().zip(&column) {
            *u -= value * (step / 3.0);
        }
        self.bound += step * slope - step * step * curvature;
        self.work += (r * r) as u64 * 2;
    }

    /// b^H W b and b^H U − c.
    fn cut_state(&self, cut: &Cut) -> (f64, Complex64) {
        let mut alpha = 0.0;
        let mut miss = -cut.sum.to_complex();
        let terms = cut.terms();
        for (k, &a) in terms.iter().enumerate() {
            let i = self.place_of(a);
            let weight_a = weight::<S>(a).conj();
            alpha += self.inverse_at(i, i).re();
            miss += weight_a.to_complex() * self.tendency[i];
            for &b in &terms[k + 1..] {
                let w = self.inverse_at(i, self.place_of(b));
                alpha += 2.0 * (weight_a * w * weight::<S>(b)).re();
            }
        }
        (alpha, miss)
    }

    /// W b.
    fn column(&self, cut: &Cut) -> Vec<S> {
        let mut column = vec![S::ZERO; self.free.len()];
        for &term in cut.terms() {
            self.add_column(self.place_of(term), weight(term), &mut column);
        }
        column
    }

    /// Adds W e_i times a factor.
    fn add_column(&self, i: usize, factor: S, column: &mut [S]) {
        let r = self.free.len();
        for (k, sum) in column.iter_mut().enumerate().take(i) {
            *sum += self.inverse[k * r + i] * factor;
        }
        for (sum, w) in column[i..]
            .iter_mut()
            .zip(&self.inverse[i * r + i..(i + 1) * r])
        {
            *sum += w.conj() * factor;
        }
    }

    /// The rank-one update that goes with raising a multiplier by t.
    fn update(&mut self, column: &[S], miss: Complex64, alpha: f64, q: f64, least: f64, t: f64) {
        let r = self.free.len();
        let beta = t / (1.0 - t * alpha);
        for (i, row) in self.inverse.chunks_exact_mut(r).enumerate() {
            let factor = column[i].scale(beta);
            for (w, value) in row[i..].iter_mut().zip(&column[i..]) {
                *w += factor * value.conj();
            }
        }
        let pull = miss * beta;
        for (u, value) in self.tendency.iter_mut().zip(column) {
            *u += value.to_complex() * pull;
        }
        self.bound += t * least - beta * q;
        self.work += (r * r) as u64 * S::COST / 2;
    }
}

struct ImprovementStep {
    t: f64,
    gain: f64,
}

/// The change t of one multiplier that gains most in bound plus barrier.
fn best_step(mu: f64, alpha: f64, q: f64, least: f64, lowest: f64) -> ImprovementStep {
    // Rounding can leave nothing to step along.
    if alpha.is_nan() || alpha <= 0.0 || q.is_nan() {
        return ImprovementStep { t: 0.0, gain: 0.0 };
    }
    let y = 2.0 * least / (mu * alpha + (mu * mu * alpha * alpha + 4.0 * q * least).sqrt());
    let t = ((1.0 - 1.0 / y) / alpha).max(lowest);
    let rest = 1.0 - t * alpha;
    ImprovementStep {
        t,
        gain: t * least - t * q / rest + mu * rest.ln(),
    }
}
