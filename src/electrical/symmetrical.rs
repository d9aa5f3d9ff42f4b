//! Symmetrical components of three phasors.

use num_complex::Complex64;

use super::{NotFinite, Phase, finite::finite_phasors};

/// Zero, positive and negative sequence of three phasors (unit of the phasors).
///
/// Currents or voltages alike, to neutral or between lines; all in the common frame.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `X_1`, `X_2`, `X_3` | phasors of L1, L2, L3 | A or V | finite |
/// | `a` | 1∠120° | 1 | |
/// | `X_(0)`, `X_(1)`, `X_(2)` | zero, positive, negative sequence, referred to L1 | A or V | |
///
/// # Formula
///
/// ```text
/// X_(0) = (X_1 + X_2 + X_3) / 3
/// X_(1) = (X_1 + a·X_2 + a²·X_3) / 3
/// X_(2) = (X_1 + a²·X_2 + a·X_3) / 3
/// ```
///
/// # Source
///
/// C. L. Fortescue, "Method of symmetrical co-ordinates applied to the solution of polyphase
/// networks", Trans. AIEE, vol. 37, 1918.
///
/// # Examples
///
/// A load between L1 and L2 has no zero sequence, and as much negative as positive sequence:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::SymmetricalComponents;
/// let i = Complex64::new(10.0, 0.0);
/// let parts = SymmetricalComponents::of([i, -i, Complex64::ZERO])?;
/// assert!(parts.zero.norm() < 1e-12);
/// assert_relative_eq!(parts.positive.norm(), 10.0 / 3.0_f64.sqrt(), max_relative = 1e-12);
/// assert_relative_eq!(parts.positive.arg().to_degrees(), -30.0, max_relative = 1e-12);
/// assert_relative_eq!(parts.negative.arg().to_degrees(), 30.0, max_relative = 1e-12);
/// # Ok::<(), electrical::SymmetricalError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SymmetricalComponents {
    /// Equal in size and direction on all three phases; flows through the neutral.
    pub zero: Complex64,
    /// The sequence L1–L2–L3 of the supply.
    pub positive: Complex64,
    /// The opposite sequence, which brakes and heats motors.
    pub negative: Complex64,
}

/// Phasors without symmetrical components.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SymmetricalError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
}

impl SymmetricalComponents {
    /// Components of the phasors of L1, L2, L3.
    ///
    /// # Errors
    ///
    /// [`SymmetricalError::NotFinite`].
    pub fn of(phasors: [Complex64; 3]) -> Result<Self, SymmetricalError> {
        finite_phasors("phasor", &phasors)?;
        let [x_1, x_2, x_3] = phasors;
        let (a, a2) = operators();
        Ok(Self {
            zero: (x_1 + x_2 + x_3) / 3.0,
            positive: (x_1 + a * x_2 + a2 * x_3) / 3.0,
            negative: (x_1 + a2 * x_2 + a * x_3) / 3.0,
        })
    }

    /// The phasors of L1, L2, L3 that have these components.
    ///
    /// ```text
    /// X_1 = X_(0) + X_(1) + X_(2)
    /// X_2 = X_(0) + a²·X_(1) + a·X_(2)
    /// X_3 = X_(0) + a·X_(1) + a²·X_(2)
    /// ```
    #[must_use]
    pub fn phasors(&self) -> [Complex64; 3] {
        let (a, a2) = operators();
        [
            self.zero + self.positive + self.negative,
            self.zero + a2 * self.positive + a * self.negative,
            self.zero + a * self.positive + a2 * self.negative,
        ]
    }
}

/// a = 1∠120° and a² = 1∠−120°: the directions of L3 and L2.
fn operators() -> (Complex64, Complex64) {
    (Phase::L3.direction(), Phase::L2.direction())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_supply_itself_is_all_positive_sequence() -> Result<(), SymmetricalError> {
        let parts = SymmetricalComponents::of(Phase::ALL.map(Phase::direction))?;
        assert!((parts.positive - 1.0).norm() < 1e-15);
        assert!(parts.zero.norm() < 1e-15 && parts.negative.norm() < 1e-15);
        Ok(())
    }

    #[test]
    fn phasors_that_are_no_numbers_are_refused() {
        let bad = Complex64::new(f64::NAN, 0.0);
        assert!(SymmetricalComponents::of([bad; 3]).is_err());
    }
}
