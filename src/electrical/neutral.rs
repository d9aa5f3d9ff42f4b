//! Current in the neutral conductor, without and with the third harmonic.

use num_complex::Complex64;

use super::{NotFinite, finite::finite, finite::finite_phasors};
use units::Amperes;

/// A neutral current that cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NeutralCurrentError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A magnitude is not negative.
    #[error("rms current must not be negative, found {0} A")]
    NegativeCurrent(f64),
    /// A share is not negative.
    #[error("third harmonic must not be a negative share of the fundamental, found {0}")]
    NegativeThirdHarmonic(f64),
}

/// Fundamental current in the neutral of a four-wire star system (A).
///
/// Phasor sum of the three phase currents at the star point: nothing for a balanced load. Third
/// harmonics, which add up in the neutral even when the fundamental is balanced, are **not**
/// included: see [`neutral_with_third_harmonic`]. The magnitude-only shortcut
/// √(a² + b² + c² − ab − bc − ca) holds only for equal power factors and is not used.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_L1`, `I_L2`, `I_L3` | rms phase currents, phasors in the common frame, positive towards the load | A | finite |
/// | `I_N` | neutral current, positive from the star point towards the source | A | |
///
/// # Formula
///
/// ```text
/// I_N = I_L1 + I_L2 + I_L3          (= 3 · I_0, three times the zero-sequence current)
/// ```
///
/// # Source
///
/// Kirchhoff's current law; the zero-sequence form is from C. L. Fortescue, "Method of symmetrical
/// co-ordinates applied to the solution of polyphase networks", Trans. AIEE, vol. 37, 1918.
///
/// # Errors
///
/// [`NeutralCurrentError::NotFinite`].
///
/// # Examples
///
/// 100, 75 and 50 A in phase with their voltages leave 25·√3 A:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::neutral_current;
/// let amps = |size: f64, deg: f64| Complex64::from_polar(size, deg.to_radians());
/// let i_n = neutral_current([amps(100.0, 0.0), amps(75.0, -120.0), amps(50.0, 120.0)])?;
/// assert_relative_eq!(i_n.norm(), 25.0 * 3.0_f64.sqrt(), max_relative = 1e-12);
/// assert_relative_eq!(i_n.arg().to_degrees(), -30.0, max_relative = 1e-12);
/// # Ok::<(), electrical::NeutralCurrentError>(())
/// ```
pub fn neutral_current(phases: [Complex64; 3]) -> Result<Complex64, NeutralCurrentError> {
    finite_phasors("phase current [A]", &phases)?;
    Ok(phases.iter().sum())
}

/// Neutral current with the third harmonic, an upper bound (A).
///
/// The third harmonics of the three phases are in phase with each other where the loads are alike,
/// and add up in the neutral. Their angles are taken as equal here; where they differ the true current is
/// smaller. Other harmonics are not included.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_N1` | fundamental neutral current | A | finite |
/// | `h_j` | third harmonic of load `j` as a share of its fundamental | 1 | 0 or above |
/// | `I_1j` | fundamental rms current of load `j`, of those between phase and neutral | A | 0 or above |
/// | `I_3` | Σ (`h_j` · `I_1j`) over those loads | A | 0 or above |
/// | `I_N` | rms neutral current | A | |
///
/// # Formula
///
/// ```text
/// I_N = √( |I_N1|² + I_3² )
/// ```
///
/// # Source
///
/// IEC 60364-5-52, Annex E (third harmonics of the line conductors add up in the neutral);
/// components of different frequency add by their squares: see [`rms_of_harmonics`](super::rms_of_harmonics).
///
/// # Errors
///
/// [`NeutralCurrentError`] if an input is not finite or `I_3` is negative.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use {electrical::neutral_with_third_harmonic, units::Amperes};
/// let i_n = neutral_with_third_harmonic(Complex64::new(0.0, -9.0), Amperes(12.0))?;
/// assert_relative_eq!(i_n.0, 15.0, max_relative = 1e-12);
/// # Ok::<(), electrical::NeutralCurrentError>(())
/// ```
pub fn neutral_with_third_harmonic(
    fundamental: Complex64,
    third_harmonic_sum: Amperes,
) -> Result<Amperes, NeutralCurrentError> {
    finite_phasors("neutral current [A]", &[fundamental])?;
    let i_3 = not_negative(third_harmonic_sum)?;
    Ok(Amperes(fundamental.norm().hypot(i_3)))
}

/// Fundamental and third harmonic in an rms rating (A).
///
/// A rating in amperes is the rms of both; other harmonics are not included.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I` | rms current | A | 0 or above |
/// | `h` | third harmonic as a share of the fundamental | 1 | 0 or above |
/// | `I_1`, `I_3` | rms of the fundamental and of the third harmonic | A | |
///
/// # Formula
///
/// ```text
/// I_1 = I / √(1 + h²),  I_3 = h · I_1          (from I² = I_1² + I_3²)
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, chapter 36 (rms
/// value of a complex wave).
///
/// # Errors
///
/// [`NeutralCurrentError`] if an input is not finite or negative.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::split_third_harmonic, units::Amperes};
/// let (first, third) = split_third_harmonic(Amperes(13.0), 5.0 / 12.0)?;
/// assert_relative_eq!(first.0, 12.0, max_relative = 1e-12);
/// assert_relative_eq!(third.0, 5.0, max_relative = 1e-12);
/// # Ok::<(), electrical::NeutralCurrentError>(())
/// ```
pub fn split_third_harmonic(
    rms: Amperes,
    share: f64,
) -> Result<(Amperes, Amperes), NeutralCurrentError> {
    let i = not_negative(rms)?;
    let h = share_of_fundamental(share)?;
    let i_1 = i / h.hypot(1.0);
    Ok((Amperes(i_1), Amperes(h * i_1)))
}

/// Neutral current of a balanced load with third harmonic, per rms phase current (ratio).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `h` | third harmonic as a share of the fundamental | 1 | 0 or above |
/// | `I`, `I_N` | rms phase current, with its harmonic, and neutral current | A | |
///
/// # Formula
///
/// ```text
/// I_N / I = 3·h / √(1 + h²)
/// ```
///
/// # Source
///
/// IEC 60364-5-52, Annex E (`I_N` = `3·I_3` for a balanced load), put here on the rms phase current
/// instead of the fundamental.
///
/// # Errors
///
/// [`NeutralCurrentError`] if the share is not finite or negative.
///
/// # Examples
///
/// A third harmonic of 70 % loads the neutral with 172 % of the phase current:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::balanced_third_harmonic_ratio;
/// assert_relative_eq!(balanced_third_harmonic_ratio(0.7)?, 1.720_4, max_relative = 1e-4);
/// # Ok::<(), electrical::NeutralCurrentError>(())
/// ```
pub fn balanced_third_harmonic_ratio(share: f64) -> Result<f64, NeutralCurrentError> {
    let h = share_of_fundamental(share)?;
    Ok(3.0 * h / h.hypot(1.0))
}

fn not_negative(current: Amperes) -> Result<f64, NeutralCurrentError> {
    finite("rms current [A]", current.0)?;
    if current.0 < 0.0 {
        return Err(NeutralCurrentError::NegativeCurrent(current.0));
    }
    Ok(current.0)
}

fn share_of_fundamental(share: f64) -> Result<f64, NeutralCurrentError> {
    finite("third harmonic as a share of the fundamental", share)?;
    if share < 0.0 {
        return Err(NeutralCurrentError::NegativeThirdHarmonic(share));
    }
    Ok(share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn negative_and_missing_numbers_are_refused() {
        let zero = Complex64::ZERO;
        assert_eq!(
            neutral_with_third_harmonic(zero, Amperes(-1.0)),
            Err(NeutralCurrentError::NegativeCurrent(-1.0))
        );
        assert_eq!(
            split_third_harmonic(Amperes(1.0), -0.1),
            Err(NeutralCurrentError::NegativeThirdHarmonic(-0.1))
        );
        assert!(balanced_third_harmonic_ratio(f64::NAN).is_err());
        assert!(neutral_current([zero, zero, Complex64::new(0.0, f64::NAN)]).is_err());
    }
}
