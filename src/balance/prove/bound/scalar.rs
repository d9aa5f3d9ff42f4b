//! Entries of the form: real where all power factors are equal, complex otherwise.

use std::fmt::Debug;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use num_complex::Complex64;

/// A real or complex number.
pub(crate) trait Scalar:
    Copy
    + Debug
    + Add<Output = Self>
    + AddAssign
    + Sub<Output = Self>
    + SubAssign
    + Mul<Output = Self>
    + Neg<Output = Self>
{
    const ZERO: Self;
    /// Rotations that weights of cuts may have besides their sign.
    const ROTATIONS: usize;
    /// Real multiplications in one multiplication.
    const COST: u64;
    fn from_complex(value: Complex64) -> Self;
    fn to_complex(self) -> Complex64;
    fn conj(self) -> Self;
    fn re(self) -> f64;
    fn scale(self, factor: f64) -> Self;
    fn reciprocal(self) -> Self;
}

impl Scalar for f64 {
    const ZERO: Self = 0.0;
    const ROTATIONS: usize = 1;
    const COST: u64 = 1;
    fn from_complex(value: Complex64) -> Self {
        value.re
    }
    fn to_complex(self) -> Complex64 {
        Complex64::new(self, 0.0)
    }
    fn conj(self) -> Self {
        self
    }
    fn re(self) -> f64 {
        self
    }
    fn scale(self, factor: f64) -> Self {
        self * factor
    }
    fn reciprocal(self) -> Self {
        1.0 / self
    }
}

impl Scalar for Complex64 {
    const ZERO: Self = Complex64::ZERO;
    const ROTATIONS: usize = 3;
    const COST: u64 = 4;
    fn from_complex(value: Complex64) -> Self {
        value
    }
    fn to_complex(self) -> Complex64 {
        self
    }
    fn conj(self) -> Self {
        Complex64::conj(&self)
    }
    fn re(self) -> f64 {
        self.re
    }
    fn scale(self, factor: f64) -> Self {
        Complex64::new(self.re * factor, self.im * factor)
    }
    fn reciprocal(self) -> Self {
        self.inv()
    }
}
