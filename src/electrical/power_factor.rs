//! Displacement power factor, lagging or leading.

use std::fmt;

/// A power factor outside its range.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PowerFactorError {
    /// Cosines of angles between −90° and +90° are 0 to 1.
    #[error("power factor {0} is outside 0 to 1")]
    OutOfRange(f64),
}

/// Displacement power factor: cosine of the angle between voltage and fundamental current, and the
/// side on which the current is.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `λ` | power factor | 1 | 0 to 1 |
/// | `φ` | angle of the voltage minus angle of the current; positive when the current lags | rad | −π/2 to π/2 |
///
/// # Formula
///
/// ```text
/// λ = cos φ
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "power factor", "active factor".
///
/// # Examples
///
/// The sides of a 3-4-5 triangle:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, PowerFactorError};
/// let lagging = PowerFactor::lagging(0.8)?;
/// assert_relative_eq!(lagging.reactive_factor(), 0.6, max_relative = 1e-12);
/// assert_relative_eq!(PowerFactor::leading(0.8)?.reactive_factor(), -0.6, max_relative = 1e-12);
/// # Ok::<(), PowerFactorError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerFactor {
    value: f64,
    leading: bool,
}

impl PowerFactor {
    /// Current in phase with its voltage.
    pub const UNITY: PowerFactor = PowerFactor {
        value: 1.0,
        leading: false,
    };

    /// The current follows its voltage: motors, chokes, welding transformers.
    ///
    /// # Errors
    ///
    /// [`PowerFactorError::OutOfRange`] unless 0 ≤ `value` ≤ 1.
    pub fn lagging(value: f64) -> Result<Self, PowerFactorError> {
        Self::new(value, false)
    }

    /// The current runs ahead of its voltage: capacitors, many electronic supplies at part load.
    ///
    /// # Errors
    ///
    /// [`PowerFactorError::OutOfRange`] unless 0 ≤ `value` ≤ 1.
    pub fn leading(value: f64) -> Result<Self, PowerFactorError> {
        Self::new(value, true)
    }

    fn new(value: f64, leading: bool) -> Result<Self, PowerFactorError> {
        if (0.0..=1.0).contains(&value) {
            Ok(Self { value, leading })
        } else {
            Err(PowerFactorError::OutOfRange(value))
        }
    }

    /// cos φ, 0 to 1.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.value
    }

    /// sin φ: positive when lagging, negative when leading.
    #[must_use]
    pub fn reactive_factor(self) -> f64 {
        // (1 − λ)(1 + λ) keeps its digits near λ = 1, where 1 − λ² loses them.
        let sine = ((1.0 - self.value) * (1.0 + self.value)).sqrt();
        if self.leading { -sine } else { sine }
    }
}

impl fmt::Display for PowerFactor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = if self.leading { " lead" } else { "" };
        write!(f, "{}{side}", self.value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rejects_power_factor_above_one_below_zero_or_none() {
        for value in [1.000_001, -0.01, f64::NAN, f64::INFINITY] {
            assert!(PowerFactor::lagging(value).is_err());
            assert!(PowerFactor::leading(value).is_err());
        }
    }

    #[test]
    fn reads_as_it_is_written_in_a_machine_list() -> Result<(), PowerFactorError> {
        assert_eq!(PowerFactor::lagging(0.85)?.to_string(), "0.85");
        assert_eq!(PowerFactor::leading(0.85)?.to_string(), "0.85 lead");
        Ok(())
    }
}
