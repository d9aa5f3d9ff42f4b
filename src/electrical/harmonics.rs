//! Rms values and power of distorted voltages and currents.

use num_complex::Complex64;

use super::{NotFinite, complex_power, finite::finite, finite::finite_phasors};
use units::{Amperes, VoltAmperes, Volts, Watts};

/// Harmonics from which nothing follows.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum HarmonicsError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A distortion is a share of something.
    #[error("distortion is a share of the fundamental, which must be above 0, found {0}")]
    NoFundamental(f64),
}

/// Rms value of a sum of components of different frequency (unit of the components).
///
/// Also of currents that never flow at the same time. Components of one frequency are added as phasors first.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `X_h` | rms value of the component of order `h` (peak value / √2) | A or V | finite |
/// | `X` | rms value of the whole | A or V | |
///
/// # Formula
///
/// ```text
/// X = √( Σ X_h² )
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, chapter 36 (complex waveforms).
///
/// # Errors
///
/// [`HarmonicsError::NotFinite`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::rms_of_harmonics;
/// assert_relative_eq!(rms_of_harmonics(&[12.0, 4.0, 3.0])?, 13.0, max_relative = 1e-12);
/// # Ok::<(), electrical::HarmonicsError>(())
/// ```
pub fn rms_of_harmonics(components: &[f64]) -> Result<f64, HarmonicsError> {
    let mut rms: f64 = 0.0;
    for component in components {
        rms = rms.hypot(finite("rms of a component", *component)?);
    }
    Ok(rms)
}

/// Total harmonic distortion, as a share of the fundamental (%).
///
/// Not of the whole: that other definition never exceeds 100 %.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `X_1` | rms value of the fundamental | A or V | above 0 |
/// | `X_h` | rms values of the harmonics, order 2 and up | A or V | finite |
///
/// # Formula
///
/// ```text
/// THD = 100 · √( Σ X_h² ) / X_1
/// ```
///
/// # Source
///
/// IEC 60050-551, International Electrotechnical Vocabulary: "total harmonic ratio"; IEEE Std 1459-2010, total harmonic distortion.
///
/// # Errors
///
/// [`HarmonicsError::NotFinite`], [`HarmonicsError::NoFundamental`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::total_harmonic_distortion;
/// assert_relative_eq!(total_harmonic_distortion(10.0, &[4.0, 3.0])?, 50.0, max_relative = 1e-12);
/// # Ok::<(), electrical::HarmonicsError>(())
/// ```
pub fn total_harmonic_distortion(
    fundamental: f64,
    harmonics: &[f64],
) -> Result<f64, HarmonicsError> {
    finite("rms of the fundamental", fundamental)?;
    if fundamental <= 0.0 {
        return Err(HarmonicsError::NoFundamental(fundamental));
    }
    Ok(100.0 * rms_of_harmonics(harmonics)? / fundamental)
}

/// Voltage and current of one order. Orders with a voltage alone or a current alone count towards
/// apparent power only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harmonic {
    /// Rms voltage phasor (V).
    pub voltage: Complex64,
    /// Rms current phasor in the frame of the same order (A).
    pub current: Complex64,
}

/// Rms values and power of distorted voltage and current.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_h`, `I_h` | rms voltage and current phasors of order `h`, angles within the order | V, A | finite |
/// | `U`, `I` | rms values of the whole | V, A | |
/// | `P`, `S`, `λ` | active power, apparent power, total power factor | W, VA, 1 | |
///
/// # Formula
///
/// ```text
/// P = Σ Re(U_h · I_h*)
/// U = √( Σ |U_h|² ),  I = √( Σ |I_h|² )
/// S = U · I,  λ = P / S
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, chapter 36 (power
/// associated with complex waves).
///
/// # Examples
///
/// A current harmonic without its voltage carries no power but lowers the power factor:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::{DistortedPower, Harmonic};
/// let first = Harmonic { voltage: Complex64::new(230.0, 0.0), current: Complex64::new(4.0, 0.0) };
/// let third = Harmonic { voltage: Complex64::ZERO, current: Complex64::new(0.0, 3.0) };
/// let power = DistortedPower::of(&[first, third])?;
/// assert_relative_eq!(power.active.0, 920.0, max_relative = 1e-12);
/// assert_relative_eq!(power.apparent.0, 1150.0, max_relative = 1e-12);
/// assert_relative_eq!(power.power_factor().expect("it flows"), 0.8, max_relative = 1e-12);
/// # Ok::<(), electrical::HarmonicsError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DistortedPower {
    /// Rms voltage.
    pub voltage: Volts,
    /// Rms current.
    pub current: Amperes,
    /// Active power of all orders.
    pub active: Watts,
    /// Apparent power.
    pub apparent: VoltAmperes,
}

impl DistortedPower {
    /// From the orders present, each once, the fundamental among them.
    ///
    /// # Errors
    ///
    /// [`HarmonicsError::NotFinite`].
    pub fn of(orders: &[Harmonic]) -> Result<Self, HarmonicsError> {
        for order in orders {
            finite_phasors("harmonic voltage [V]", &[order.voltage])?;
            finite_phasors("harmonic current [A]", &[order.current])?;
        }
        let sizes = |of: fn(&Harmonic) -> Complex64| -> Vec<f64> {
            orders.iter().map(|order| of(order).norm()).collect()
        };
        let voltage = rms_of_harmonics(&sizes(|order| order.voltage))?;
        let current = rms_of_harmonics(&sizes(|order| order.current))?;
        let active = orders
            .iter()
            .map(|order| complex_power(order.voltage, order.current).re)
            .sum();
        Ok(Self {
            voltage: Volts(voltage),
            current: Amperes(current),
            active: Watts(active),
            apparent: VoltAmperes(voltage * current),
        })
    }

    /// Total power factor, P / S; `None` where nothing flows.
    #[must_use]
    pub fn power_factor(&self) -> Option<f64> {
        (self.apparent.0 > 0.0).then(|| self.active.0 / self.apparent.0)
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn no_harmonics_are_no_distortion_and_nothing_has_no_factor() -> Result<(), HarmonicsError> {
        assert_relative_eq!(total_harmonic_distortion(10.0, &[])?, 0.0);
        assert_eq!(DistortedPower::of(&[])?.power_factor(), None);
        Ok(())
    }

    #[test]
    fn what_has_no_answer_is_refused() {
        assert_eq!(
            total_harmonic_distortion(0.0, &[1.0]),
            Err(HarmonicsError::NoFundamental(0.0))
        );
        assert!(rms_of_harmonics(&[1.0, f64::NAN]).is_err());
        let bad = Harmonic {
            voltage: Complex64::ONE,
            current: Complex64::ONE * f64::INFINITY,
        };
        assert!(DistortedPower::of(&[bad]).is_err());
    }
}
