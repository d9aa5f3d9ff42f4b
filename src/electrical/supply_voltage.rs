//! Voltages of a symmetrical three-phase supply.

use num_complex::Complex64;

use super::{NotFinite, Phase, finite::finite};
use units::Volts;

/// A voltage that no supply has.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SupplyVoltageError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A supply's voltage is above zero.
    #[error("supply voltage must be above 0 V, found {0} V")]
    NotPositive(f64),
}

/// Phase voltage of a symmetrical supply from its line voltage (V).
///
/// The exact ratio, not the pair of nominal values: 400 V between lines is 230.9 V, although the
/// pair is called 230/400 V. Unbalanced supplies have no single ratio.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U` | voltage between two phases | V | above 0 |
/// | `U_0` | voltage between phase and neutral | V | |
///
/// # Formula
///
/// ```text
/// U_0 = U / √3
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, chapter on three-phase systems.
///
/// # Errors
///
/// [`SupplyVoltageError`] if the voltage is not finite or not above zero.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::phase_voltage, units::Volts};
/// assert_relative_eq!(phase_voltage(Volts(415.0))?.0, 239.600_361_7, max_relative = 1e-9);
/// # Ok::<(), electrical::SupplyVoltageError>(())
/// ```
pub fn phase_voltage(line: Volts) -> Result<Volts, SupplyVoltageError> {
    Ok(Volts(positive(line)?.0 / 3.0_f64.sqrt()))
}

/// Phase voltages of a symmetrical supply as phasors in the common frame (V).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_0` | voltage between phase and neutral | V | above 0 |
/// | `U_L1`, `U_L2`, `U_L3` | its phasors, sequence L1–L2–L3 | V | |
///
/// # Formula
///
/// ```text
/// U_L1 = U_0∠0°,  U_L2 = U_0∠−120°,  U_L3 = U_0∠+120°
/// ```
///
/// # Source
///
/// IEC 60050-141, International Electrotechnical Vocabulary, Polyphase systems and circuits: symmetrical
/// three-phase system, positive phase sequence.
///
/// # Errors
///
/// [`SupplyVoltageError`] if the voltage is not finite or not above zero.
///
/// # Examples
///
/// The difference of two phase voltages is √3 times as long and 30° ahead of the first:
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::phase_voltage_phasors, units::Volts};
/// let [u1, u2, _] = phase_voltage_phasors(Volts(230.0))?;
/// assert_relative_eq!((u1 - u2).norm(), 398.371_685_7, max_relative = 1e-9);
/// assert_relative_eq!((u1 - u2).arg().to_degrees(), 30.0, max_relative = 1e-12);
/// # Ok::<(), electrical::SupplyVoltageError>(())
/// ```
pub fn phase_voltage_phasors(phase: Volts) -> Result<[Complex64; 3], SupplyVoltageError> {
    let u_0 = positive(phase)?.0;
    Ok(Phase::ALL.map(|phase| phase.direction() * u_0))
}

fn positive(voltage: Volts) -> Result<Volts, SupplyVoltageError> {
    finite("supply voltage [V]", voltage.0)?;
    if voltage.0 > 0.0 {
        Ok(voltage)
    } else {
        Err(SupplyVoltageError::NotPositive(voltage.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_supply_without_voltage_is_refused() {
        for volts in [0.0, -230.0, f64::NAN] {
            assert!(phase_voltage(Volts(volts)).is_err());
            assert!(phase_voltage_phasors(Volts(volts)).is_err());
        }
    }
}
