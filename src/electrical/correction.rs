//! Capacitors that lift a power factor.

use std::f64::consts::TAU;

use super::{PowerError, PowerFactor, finite::finite, reactive_power_at};
use units::{Vars, Volts, Watts};

/// What goes with every size of capacitor.
pub const CAPACITOR_CAUTION: &str = "Capacitors amplify harmonics near their resonance with the supply. A bank that is too large for the present load over-corrects (leading power factor) and raises the voltage. Measure harmonics first, consider detuned and switched steps, and leave choice and connection to a competent person, within the supplier's terms.";

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
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, correction_power};
/// # use units::Watts;
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

/// Capacitance that takes a reactive power at a voltage, as a capacitance meter shows it (µF).
///
/// Of a bank in delta: a third of the bank's reactive power, at the line voltage, gives the capacitance of each of
/// its three parts.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `Q_c` | reactive power the capacitor supplies | var | ≥ 0 |
/// | `U` | voltage across it, rms | V | > 0 |
/// | `f` | frequency | Hz | > 0 |
/// | `C` | capacitance | µF | |
///
/// # Formula
///
/// ```text
/// C = 10⁶ · Q_c / (2π·f·U²)
/// ```
///
/// # Source
///
/// V. K. Mehta, R. Mehta, *Principles of Power System*, 4th ed., S. Chand, 2005, examples 6.2 and 6.5.
///
/// # Errors
///
/// [`PowerError::NotFinite`]; [`PowerError::NoCapacitor`] for a negative reactive power, and for a voltage or
/// frequency that is not above 0.
///
/// # Examples
///
/// 11.891 A on 400 V and 50 Hz are 94.6 µF (example 6.2):
///
/// ```
/// # use approx::assert_relative_eq; use electrical::capacitance_uf;
/// # use units::{Vars, Volts};
/// assert_relative_eq!(capacitance_uf(Vars(11.891 * 400.0), Volts(400.0), 50.0)?, 94.6, max_relative = 5e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn capacitance_uf(q: Vars, across: Volts, frequency_hz: f64) -> Result<f64, PowerError> {
    let q = finite("reactive power", q.0)?;
    let (u, f) = (
        finite("voltage", across.0)?,
        finite("frequency", frequency_hz)?,
    );
    if q < 0.0 || u <= 0.0 || f <= 0.0 {
        return Err(PowerError::NoCapacitor { q, u, f });
    }
    Ok(1e6 * q / (TAU * f * u * u))
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
    fn a_capacitor_needs_a_voltage_and_supplies_reactive_power() {
        for (q, u, f) in [(-1.0, 400.0, 50.0), (1.0, 0.0, 50.0), (1.0, 400.0, 0.0)] {
            let refused = Err(PowerError::NoCapacitor { q, u, f });
            assert_eq!(capacitance_uf(Vars(q), Volts(u), f), refused);
        }
        let unknown = capacitance_uf(Vars(f64::NAN), Volts(400.0), 50.0);
        assert!(matches!(unknown, Err(PowerError::NotFinite(_))));
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
