//! Active, reactive and apparent power of one phase or of a balanced load.

use num_complex::Complex64;

use super::{NotFinite, PowerFactor, finite::finite};
use units::{Vars, VoltAmperes, Watts};

/// A power that cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PowerError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// At power factor 0 nothing follows from an active power.
    #[error("power factor 0 draws no active power: {0} W cannot be drawn at it")]
    PowerFactorZero(f64),
    /// A magnitude is not negative.
    #[error("apparent power must not be negative, found {0} VA")]
    NegativeApparentPower(f64),
    /// No capacitor takes this.
    #[error("no capacitor supplies {q} var at {u} V and {f} Hz")]
    NoCapacitor {
        /// Reactive power. (var)
        q: f64,
        /// Voltage across it. (V)
        u: f64,
        /// Frequency. (Hz)
        f: f64,
    },
}

/// Complex power of a phase from its voltage and current (W + j·var).
///
/// Each wattmeter shows the real part for the voltage across and the current through it.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U`, `I` | rms voltage and current phasors in one frame; lagging = negative angle to the voltage | V, A | finite |
/// | `P` | active power, real part, positive when drawn | W | |
/// | `Q` | reactive power, imaginary part, positive when the current lags | var | |
///
/// # Formula
///
/// ```text
/// P + j·Q = U · I*          (I* is the conjugate of I)
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "complex power".
///
/// # Examples
///
/// 10 A lagging by 60° on 230 V at +120°:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::complex_power;
/// let polar = |size: f64, deg: f64| Complex64::from_polar(size, deg.to_radians());
/// let s = complex_power(polar(230.0, 120.0), polar(10.0, 60.0));
/// assert_relative_eq!(s.re, 1150.0, max_relative = 1e-12);
/// assert_relative_eq!(s.im, 1991.858_428_7, max_relative = 1e-9);
/// ```
#[must_use]
pub fn complex_power(voltage: Complex64, current: Complex64) -> Complex64 {
    voltage * current.conj()
}

/// Apparent power of one phase, or of a balanced load, from active and reactive power (VA).
///
/// Not for unbalanced phases, where the definitions part: see [`vector_apparent_power`](super::vector_apparent_power).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | active power | W | finite |
/// | `Q` | reactive power of the fundamental | var | finite |
/// | `S` | apparent power | VA | |
///
/// # Formula
///
/// ```text
/// S = √( P² + Q² )
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "apparent power", sinusoidal conditions.
///
/// # Errors
///
/// [`PowerError::NotFinite`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::apparent_power;
/// # use units::{Vars, Watts};
/// assert_relative_eq!(apparent_power(Watts(8.0), Vars(-6.0))?.0, 10.0, max_relative = 1e-12);
/// # Ok::<(), electrical::PowerError>(())
/// ```
pub fn apparent_power(p: Watts, q: Vars) -> Result<VoltAmperes, PowerError> {
    both_finite(p, q)?;
    Ok(VoltAmperes(p.0.hypot(q.0)))
}

/// Apparent power of a load from its active power and power factor (VA).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | active power, either sign | W | finite |
/// | `λ` | displacement power factor | 1 | above 0, up to 1 |
/// | `S` | apparent power | VA | |
///
/// # Formula
///
/// ```text
/// S = |P| / λ
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "power factor".
///
/// # Errors
///
/// [`PowerError::NotFinite`], [`PowerError::PowerFactorZero`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, apparent_power_at};
/// # use units::Watts;
/// let s = apparent_power_at(Watts(4000.0), PowerFactor::lagging(0.8)?)?;
/// assert_relative_eq!(s.0, 5000.0, max_relative = 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn apparent_power_at(p: Watts, power_factor: PowerFactor) -> Result<VoltAmperes, PowerError> {
    let lambda = above_zero(p, power_factor)?;
    Ok(VoltAmperes(p.0.abs() / lambda))
}

/// Reactive power of a load from its active power and power factor (var).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | active power, either sign | W | finite |
/// | `φ` | angle of the power factor, positive when lagging | rad | below π/2 |
/// | `Q` | reactive power, positive when the current lags | var | |
///
/// # Formula
///
/// ```text
/// Q = |P| · tan φ
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "reactive power".
///
/// # Errors
///
/// [`PowerError::NotFinite`], [`PowerError::PowerFactorZero`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, reactive_power_at};
/// # use units::Watts;
/// let q = reactive_power_at(Watts(4000.0), PowerFactor::lagging(0.8)?)?;
/// assert_relative_eq!(q.0, 3000.0, max_relative = 1e-12);
/// let q = reactive_power_at(Watts(4000.0), PowerFactor::leading(0.8)?)?;
/// assert_relative_eq!(q.0, -3000.0, max_relative = 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn reactive_power_at(p: Watts, power_factor: PowerFactor) -> Result<Vars, PowerError> {
    let lambda = above_zero(p, power_factor)?;
    Ok(Vars(p.0.abs() * power_factor.reactive_factor() / lambda))
}

/// Active and reactive power of a load from its apparent power and power factor (W, var).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `S` | apparent power | VA | 0 or above |
/// | `φ` | angle of the power factor, positive when lagging | rad | −π/2 to π/2 |
/// | `P`, `Q` | active power drawn; reactive power, positive when lagging | W, var | |
///
/// # Formula
///
/// ```text
/// P = S · cos φ,  Q = S · sin φ
/// ```
///
/// # Source
///
/// IEC 60050-131, International Electrotechnical Vocabulary, Circuit theory: "active power", "reactive power".
///
/// # Errors
///
/// [`PowerError::NotFinite`], [`PowerError::NegativeApparentPower`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, power_of_apparent};
/// # use units::VoltAmperes;
/// let (p, q) = power_of_apparent(VoltAmperes(5000.0), PowerFactor::leading(0.8)?)?;
/// assert_relative_eq!(p.0, 4000.0, max_relative = 1e-12);
/// assert_relative_eq!(q.0, -3000.0, max_relative = 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn power_of_apparent(
    s: VoltAmperes,
    power_factor: PowerFactor,
) -> Result<(Watts, Vars), PowerError> {
    finite("apparent power [VA]", s.0)?;
    if s.0 < 0.0 {
        return Err(PowerError::NegativeApparentPower(s.0));
    }
    Ok((
        Watts(s.0 * power_factor.value()),
        Vars(s.0 * power_factor.reactive_factor()),
    ))
}

fn both_finite(p: Watts, q: Vars) -> Result<(), NotFinite> {
    finite("active power [W]", p.0)?;
    finite("reactive power [var]", q.0)?;
    Ok(())
}

fn above_zero(p: Watts, power_factor: PowerFactor) -> Result<f64, PowerError> {
    finite("active power [W]", p.0)?;
    if power_factor.value() > 0.0 {
        Ok(power_factor.value())
    } else {
        Err(PowerError::PowerFactorZero(p.0))
    }
}

#[cfg(test)]
mod tests {
    use super::super::PowerFactorError;
    use super::*;

    #[test]
    fn nothing_follows_from_active_power_at_power_factor_zero() -> Result<(), PowerFactorError> {
        let zero = PowerFactor::lagging(0.0)?;
        let refused = PowerError::PowerFactorZero(100.0);
        assert_eq!(apparent_power_at(Watts(100.0), zero), Err(refused));
        assert_eq!(reactive_power_at(Watts(100.0), zero), Err(refused));
        Ok(())
    }

    #[test]
    fn negative_and_missing_powers_are_refused() {
        assert_eq!(
            power_of_apparent(VoltAmperes(-1.0), PowerFactor::UNITY),
            Err(PowerError::NegativeApparentPower(-1.0))
        );
        assert!(power_of_apparent(VoltAmperes(f64::NAN), PowerFactor::UNITY).is_err());
        assert!(apparent_power(Watts(f64::NAN), Vars(0.0)).is_err());
        assert!(apparent_power(Watts(0.0), Vars(f64::INFINITY)).is_err());
        assert!(apparent_power_at(Watts(f64::NAN), PowerFactor::UNITY).is_err());
    }
}
