//! Capacitors that lift a power factor.

use super::{PowerError, PowerFactor, reactive_power_at};
use crate::units::{Vars, Watts};

/// Reactive power of a capacitor that lifts a power factor (var).
///
/// Steady load; harmonics, which a capacitor may amplify, are not included. Negative where the
/// load is already beyond the wanted power factor.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | active power, either sign | W | finite |
/// | `φ_1`, `φ_2` | angles of the power factor now and wanted, positive when lagging | rad | below π/2 |
/// | `Q_c` | reactive power the capacitor supplies | var | |
///
/// # Formula
///
/// ```text
/// Q_c = |P| · (tan φ_1 − tan φ_2)
/// ```
///
/// # Source
///
/// V. K. Mehta, R. Mehta, *Principles of Power System*, 4th ed., S. Chand, 2005, chapter 6.
///
/// # Errors
///
/// [`PowerError::NotFinite`], [`PowerError::PowerFactorZero`].
///
/// # Examples
///
/// A 5 kW motor from 0.75 to 0.90 lagging:
///
/// ```
/// # use approx::assert_relative_eq; use tapoff::electrical::{PowerFactor, correction_power};
/// # use tapoff::units::Watts;
/// let (now, wanted) = (PowerFactor::lagging(0.75)?, PowerFactor::lagging(0.90)?);
/// assert_relative_eq!(correction_power(Watts(5000.0), now, wanted)?.kilo(), 1.99, max_relative = 2e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn correction_power(
    p: Watts,
    now: PowerFactor,
    wanted: PowerFactor,
) -> Result<Vars, PowerError> {
    Ok(reactive_power_at(p, now)? - reactive_power_at(p, wanted)?)
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn a_load_beyond_the_wanted_power_factor_needs_less_than_none()
    -> Result<(), Box<dyn std::error::Error>> {
        let leading = PowerFactor::leading(0.8)?;
        let surplus = correction_power(Watts(4000.0), leading, PowerFactor::UNITY)?;
        assert_relative_eq!(surplus.0, -3000.0, max_relative = 1e-12);
        Ok(())
    }

    #[test]
    fn power_factor_zero_can_neither_be_left_nor_reached()
    -> Result<(), super::super::PowerFactorError> {
        let zero = PowerFactor::lagging(0.0)?;
        let refused = Err(PowerError::PowerFactorZero(100.0));
        assert_eq!(
            correction_power(Watts(100.0), zero, PowerFactor::UNITY),
            refused
        );
        assert_eq!(
            correction_power(Watts(100.0), PowerFactor::UNITY, zero),
            refused
        );
        Ok(())
    }
}
