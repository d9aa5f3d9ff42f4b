//! Sums of cube roots of unity: the integers p + qζ with ζ = 1∠−120°.

use num_complex::Complex64;

use crate::form::quadratic::turn_factors;

/// Most undecided units in one cut.
pub(crate) const MOST_FREE: usize = 8;

/// Largest |p| and |q| that a sum in a cut can have.
const REACH: i8 = 9;
const SIDE: usize = 2 * REACH as usize + 1;

/// p + qζ.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Eisenstein {
    p: i8,
    q: i8,
}

impl Eisenstein {
    /// The six units: ζ⁰, ζ¹, ζ², −ζ⁰, −ζ¹, −ζ².
    pub(crate) const UNITS: [Eisenstein; 6] = [
        Eisenstein { p: 1, q: 0 },
        Eisenstein { p: 0, q: 1 },
        Eisenstein { p: -1, q: -1 },
        Eisenstein { p: -1, q: 0 },
        Eisenstein { p: 0, q: -1 },
        Eisenstein { p: 1, q: 1 },
    ];

    pub(crate) fn plus(self, other: Eisenstein) -> Self {
        Self {
            p: self.p + other.p,
            q: self.q + other.q,
        }
    }

    pub(crate) fn minus(self, other: Eisenstein) -> Self {
        Self {
            p: self.p - other.p,
            q: self.q - other.q,
        }
    }

    /// p² − pq + q².
    pub(crate) fn norm(self) -> f64 {
        let (p, q) = (i32::from(self.p), i32::from(self.q));
        f64::from(p * p - p * q + q * q)
    }

    pub(crate) fn to_complex(self) -> Complex64 {
        f64::from(self.p) + f64::from(self.q) * turn_factors()[1]
    }

    /// p and q.
    pub(crate) fn parts(self) -> [i8; 2] {
        [self.p, self.q]
    }

    fn index(self) -> usize {
        (self.p + REACH) as usize * SIDE + (self.q + REACH) as usize
    }
}

/// A table of the least |c + Σ ±a|² over all cube roots of unity a.
#[derive(Debug)]
pub(crate) struct LeastNorms {
    table: Vec<u8>,
}

impl LeastNorms {
    pub(crate) fn new() -> Self {
        let mut table = vec![0; (MOST_FREE + 1) * (MOST_FREE + 1) * SIDE * SIDE];
        for plus in 0..=MOST_FREE {
            for minus in 0..=MOST_FREE - plus {
                let sums = sums(plus, minus);
                for p in -REACH..=REACH {
                    for q in -REACH..=REACH {
                        let c = Eisenstein { p, q };
                        let least = sums
                            .iter()
                            .map(|sum| c.plus(*sum).norm())
                            .fold(f64::MAX, f64::min);
                        table[Self::place(plus, minus, c)] = least.min(255.0) as u8;
                    }
                }
            }
        }
        Self { table }
    }

    /// Least |c + Σ|² when `plus` terms are a and `minus` terms are −a, each a free.
    pub(crate) fn least(&self, c: Eisenstein, plus: usize, minus: usize) -> f64 {
        f64::from(self.table[Self::place(plus, minus, c)])
    }

    fn place(plus: usize, minus: usize, c: Eisenstein) -> usize {
        (plus * (MOST_FREE + 1) + minus) * SIDE * SIDE + c.index()
    }
}

/// All values of a sum of `plus` cube roots of unity less `minus` others.
fn sums(plus: usize, minus: usize) -> Vec<Eisenstein> {
    let mut sums = vec![Eisenstein::default()];
    for term in 0..plus + minus {
        let units = if term < plus {
            &Eisenstein::UNITS[..3]
        } else {
            &Eisenstein::UNITS[3..]
        };
        sums = sums
            .iter()
            .flat_map(|sum| units.iter().map(|unit| sum.plus(*unit)))
            .collect();
        sums.sort_unstable();
        sums.dedup();
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weights whose sum is not divisible by 3 leave at least 1, all others can reach 0: the
    /// argument modulo 1 − ζ in the Eisenstein integers, here checked for every table entry.
    #[test]
    fn a_sum_is_at_least_one_unless_its_weights_are_divisible_by_three() {
        let norms = LeastNorms::new();
        for plus in 0..=MOST_FREE {
            for minus in 0..=MOST_FREE - plus {
                let least = norms.least(Eisenstein::default(), plus, minus);
                let sum = plus as i32 - minus as i32;
                let expected = if sum % 3 == 0 { 0.0 } else { 1.0 };
                assert!((least - expected).abs() < 0.5, "{plus} plus, {minus} minus");
            }
        }
    }

    #[test]
    fn norms_are_squared_magnitudes() {
        for unit in Eisenstein::UNITS {
            let double = unit.plus(unit).plus(Eisenstein::UNITS[1]);
            assert!((double.to_complex().norm_sqr() - double.norm()).abs() < 1e-12);
        }
    }
}
