//! A limited number of moves as one more multiplier of the bound.

use num_complex::Complex64;

use crate::form::quadratic::turn_factors;

/// Moves that are left for the undecided units.
///
/// For cube roots of unity, "a differs from k" is (2 − 2 Re k* a)/3, which is linear in a. So
/// ν·(moves − allowed) ≤ 0 adds a constant and a linear term to the bound.
#[derive(Clone, Debug)]
pub(crate) struct Budget {
    /// ν ≥ 0.
    pub(crate) multiplier: f64,
    /// Moves left.
    pub(crate) left: usize,
    /// Turn of now and cost of leaving it, by unit; `None` where any turn is free.
    prices: Vec<Option<(usize, usize)>>,
}

impl Budget {
    pub(crate) fn new(left: usize, prices: Vec<Option<(usize, usize)>>) -> Self {
        Self {
            multiplier: 0.0,
            left,
            prices,
        }
    }

    /// Moves that a turn of a unit costs.
    pub(crate) fn cost(&self, unit: usize, turn: usize) -> usize {
        self.prices[unit].map_or(0, |(now, cost)| if now == turn { 0 } else { cost })
    }

    /// One unit is decided.
    pub(crate) fn decide(&mut self, unit: usize, turn: usize) {
        self.left = self.left.saturating_sub(self.cost(unit, turn));
    }

    /// The unit's part of g: B loses ν g/3.
    pub(crate) fn pull(&self, unit: usize) -> Complex64 {
        self.prices[unit].map_or(Complex64::ZERO, |(now, cost)| {
            turn_factors()[now] * cost as f64
        })
    }

    /// What ν = 1 adds to the bound's constant.
    pub(crate) fn constant(&self, free: &[usize]) -> f64 {
        let costs: usize = free
            .iter()
            .filter_map(|&unit| self.prices[unit])
            .map(|(_, cost)| cost)
            .sum();
        2.0 / 3.0 * costs as f64 - self.left as f64
    }
}
