//! The current that a load draws, as a phasor.

use num_complex::Complex64;

use super::{NotFinite, Phase, PowerFactor, finite::finite};
use units::{Amperes, Vars, Volts, Watts};

/// A load whose current cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LoadCurrentError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// Without voltage no current follows from a power.
    #[error("voltage across a load must be above 0 V, found {0} V")]
    VoltageNotPositive(f64),
    /// A magnitude is not negative.
    #[error("rms current must not be negative, found {0} A")]
    NegativeCurrent(f64),
}

/// Fundamental current of a load from its power, relative to the voltage across it (A).
///
/// For a load between phase and neutral `U` is the phase voltage, between two phases the line
/// voltage; for a balanced three-phase load take a third of its power and the phase voltage.
/// Harmonics are not included.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | active power, positive when drawn | W | finite |
/// | `Q` | reactive power, positive when the current lags | var | finite |
/// | `U` | voltage across the load, angle 0 | V | above 0 |
/// | `I` | rms current phasor; lagging = negative angle | A | |
///
/// # Formula
///
/// ```text
/// I = (P − j·Q) / U          (from S = U · I*, with U real)
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "complex power".
///
/// # Errors
///
/// [`LoadCurrentError::NotFinite`] and [`LoadCurrentError::VoltageNotPositive`].
///
/// # Examples
///
/// 920 W and 690 var lagging at 230 V are 4 A in phase and 3 A behind:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::current_from_power;
/// # use units::{Vars, Volts, Watts};
/// let i = current_from_power(Watts(920.0), Vars(690.0), Volts(230.0))?;
/// assert_relative_eq!(i.re, 4.0, max_relative = 1e-12);
/// assert_relative_eq!(i.im, -3.0, max_relative = 1e-12);
/// # Ok::<(), electrical::LoadCurrentError>(())
/// ```
pub fn current_from_power(p: Watts, q: Vars, u: Volts) -> Result<Complex64, LoadCurrentError> {
    finite("active power [W]", p.0)?;
    finite("reactive power [var]", q.0)?;
    finite("voltage [V]", u.0)?;
    if u.0 <= 0.0 {
        return Err(LoadCurrentError::VoltageNotPositive(u.0));
    }
    Ok(Complex64::new(p.0, -q.0) / u.0)
}

/// Fundamental current of a load from its magnitude and power factor, relative to its voltage (A).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_rms` | magnitude of the fundamental current | A | 0 or above |
/// | `λ`, `φ` | displacement power factor and its angle, positive when the current lags | 1, rad | see [`PowerFactor`] |
/// | `I` | rms current phasor; lagging = negative angle | A | |
///
/// # Formula
///
/// ```text
/// I = I_rms · (cos φ − j·sin φ) = I_rms∠(−φ)
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "phasor", "power factor".
///
/// # Errors
///
/// [`LoadCurrentError::NotFinite`] and [`LoadCurrentError::NegativeCurrent`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, current_from_power_factor};
/// # use units::Amperes;
/// let lag = current_from_power_factor(Amperes(10.0), PowerFactor::lagging(0.6)?)?;
/// assert_relative_eq!(lag.re, 6.0, max_relative = 1e-12);
/// assert_relative_eq!(lag.im, -8.0, max_relative = 1e-12);
/// let lead = current_from_power_factor(Amperes(10.0), PowerFactor::leading(0.6)?)?;
/// assert_relative_eq!(lead.im, 8.0, max_relative = 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn current_from_power_factor(
    rms: Amperes,
    power_factor: PowerFactor,
) -> Result<Complex64, LoadCurrentError> {
    finite("rms current [A]", rms.0)?;
    if rms.0 < 0.0 {
        return Err(LoadCurrentError::NegativeCurrent(rms.0));
    }
    Ok(Complex64::new(power_factor.value(), -power_factor.reactive_factor()) * rms.0)
}

/// A phase current turned from the frame of its own phase voltage into the common frame (A).
///
/// Only currents in the common frame may be added up over the phases.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I` | current phasor, angle from its own phase voltage | A | finite |
/// | `θ` | angle of that voltage: 0°, −120°, +120° on L1, L2, L3 | ° | |
/// | `I'` | the same current, angle from the voltage of L1 | A | |
///
/// # Formula
///
/// ```text
/// I' = I · 1∠θ
/// ```
///
/// # Source
///
/// C. L. Fortescue, "Method of symmetrical co-ordinates applied to the solution of polyphase
/// networks", Trans. AIEE, vol. 37, 1918 (the operator 1∠120°).
///
/// # Examples
///
/// 5 A lagging by 30° on L2 are at −150° in the common frame:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::{Phase, in_common_frame};
/// let own = Complex64::from_polar(5.0, (-30.0_f64).to_radians());
/// let common = in_common_frame(own, Phase::L2);
/// assert_relative_eq!(common.norm(), 5.0, max_relative = 1e-12);
/// assert_relative_eq!(common.arg().to_degrees(), -150.0, max_relative = 1e-12);
/// ```
#[must_use]
pub fn in_common_frame(current: Complex64, phase: Phase) -> Complex64 {
    current * phase.direction()
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn a_generating_load_draws_against_its_voltage() -> Result<(), LoadCurrentError> {
        let i = current_from_power(Watts(-2300.0), Vars(0.0), Volts(230.0))?;
        assert_relative_eq!(i.re, -10.0);
        Ok(())
    }

    #[test]
    fn what_cannot_be_told_is_refused_with_its_value() {
        let no_voltage = current_from_power(Watts(1.0), Vars(0.0), Volts(0.0));
        assert_eq!(no_voltage, Err(LoadCurrentError::VoltageNotPositive(0.0)));
        let negative = current_from_power_factor(Amperes(-2.0), PowerFactor::UNITY);
        assert_eq!(negative, Err(LoadCurrentError::NegativeCurrent(-2.0)));
        assert!(current_from_power(Watts(f64::NAN), Vars(0.0), Volts(1.0)).is_err());
        assert!(current_from_power(Watts(1.0), Vars(f64::NAN), Volts(1.0)).is_err());
        assert!(current_from_power(Watts(1.0), Vars(0.0), Volts(f64::INFINITY)).is_err());
        assert!(current_from_power_factor(Amperes(f64::NAN), PowerFactor::UNITY).is_err());
    }
}
