//! How unequal three currents or three voltages are.

use super::{NotFinite, finite::finite};
use units::{Amperes, Volts};

/// An unbalance that cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum UnbalanceError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// Magnitudes are not negative.
    #[error("rms value must not be negative, found {0}")]
    Negative(f64),
    /// Three line voltages close a triangle.
    #[error(
        "line voltages {0}, {1} and {2} V do not close a triangle: one is above the sum of the others, or all are 0 V"
    )]
    NoTriangle(f64, f64, f64),
}

/// Current unbalance: largest deviation from the mean, as a share of the mean (%).
///
/// From magnitudes alone; angles, and so the neutral current, do not follow from it. `None` where
/// nothing flows.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_k` | rms current of phase `k` | A | 0 or above |
/// | `I_mean` | (`I_1` + `I_2` + `I_3`) / 3 | A | |
///
/// # Formula
///
/// ```text
/// unbalance = 100 · max|I_k − I_mean| / I_mean
/// ```
///
/// # Source
///
/// The definition that NEMA MG 1, 14.36 (clause from memory), gives for voltages, applied to currents.
///
/// # Errors
///
/// [`UnbalanceError::NotFinite`] and [`UnbalanceError::Negative`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::current_unbalance, units::Amperes};
/// let pct = current_unbalance([Amperes(12.0), Amperes(10.0), Amperes(5.0)])?;
/// assert_relative_eq!(pct.expect("current flows"), 400.0 / 9.0, max_relative = 1e-12);
/// assert_eq!(current_unbalance([Amperes(0.0); 3])?, None);
/// # Ok::<(), electrical::UnbalanceError>(())
/// ```
pub fn current_unbalance(phases: [Amperes; 3]) -> Result<Option<f64>, UnbalanceError> {
    deviation_from_mean("phase current [A]", phases.map(|current| current.0))
}

/// Voltage unbalance: largest deviation of a line voltage from the mean, as a share of the mean (%).
///
/// A rule of thumb from three voltmeter readings between lines; while small, the negative-sequence
/// ratio can be up to 2/√3 times as large: see [`negative_sequence_ratio`]. `None` where there is no voltage.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_k` | rms voltage between lines | V | 0 or above |
/// | `U_mean` | (`U_12` + `U_23` + `U_31`) / 3 | V | |
///
/// # Formula
///
/// ```text
/// unbalance = 100 · max|U_k − U_mean| / U_mean
/// ```
///
/// # Source
///
/// NEMA MG 1, Motors and Generators, 14.36 (clause from memory).
///
/// # Errors
///
/// [`UnbalanceError::NotFinite`] and [`UnbalanceError::Negative`].
///
/// # Examples
///
/// The source's own readings, 460, 467 and 450 V, give 9/459:
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::voltage_unbalance, units::Volts};
/// let pct = voltage_unbalance([Volts(460.0), Volts(467.0), Volts(450.0)])?;
/// assert_relative_eq!(pct.expect("there is voltage"), 100.0 * 9.0 / 459.0, max_relative = 1e-12);
/// # Ok::<(), electrical::UnbalanceError>(())
/// ```
pub fn voltage_unbalance(lines: [Volts; 3]) -> Result<Option<f64>, UnbalanceError> {
    deviation_from_mean("line voltage [V]", lines.map(|voltage| voltage.0))
}

/// Negative-sequence voltage unbalance from three line voltages (%).
///
/// Ratio of negative to positive sequence; magnitudes suffice because the three close a triangle.
/// Zero sequence does not show between lines. Fundamental voltages are meant; distortion adds an error.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_12`, `U_23`, `U_31` | rms voltages between lines | V | 0 or above, closing a triangle |
/// | `β` | ratio of sums, 1/3 when balanced, 1/2 for a flat triangle | 1 | 1/3 to 1/2 |
/// | `u_2` | negative over positive sequence | % | 0 to 100 |
///
/// # Formula
///
/// ```text
/// β   = (U_12⁴ + U_23⁴ + U_31⁴) / (U_12² + U_23² + U_31²)²
/// u_2 = 100 · √( (1 − √(3 − 6β)) / (1 + √(3 − 6β)) )
/// ```
///
/// Computed in an equal form that does not subtract nearly equal numbers: with
/// δ = 6β − 2 = `2·Σ(U_i²` − `U_j²)²` / (ΣU²)², summed over the three pairs,
/// `u_2` = 100 · √δ / (1 + √(1 − δ)).
///
/// # Source
///
/// IEC 61000-4-30:2015, 5.7.1 (formula from memory; it agrees with the
/// sequence components of the closed triangle).
///
/// # Errors
///
/// [`UnbalanceError::NoTriangle`] where one voltage is above the sum of the two others, or all are zero;
/// [`UnbalanceError::NotFinite`] and [`UnbalanceError::Negative`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::negative_sequence_ratio, units::Volts};
/// let u2 = negative_sequence_ratio([Volts(410.0), Volts(400.0), Volts(390.0)])?;
/// assert_relative_eq!(u2, 2.8880, max_relative = 1e-4);
/// # Ok::<(), electrical::UnbalanceError>(())
/// ```
pub fn negative_sequence_ratio(lines: [Volts; 3]) -> Result<f64, UnbalanceError> {
    let volts = lines.map(|voltage| voltage.0);
    all_not_negative("line voltage [V]", volts)?;
    // Scaled so that squares of squares neither overflow nor vanish.
    let largest = volts.iter().copied().fold(0.0, f64::max);
    let no_triangle = UnbalanceError::NoTriangle(volts[0], volts[1], volts[2]);
    if largest <= 0.0 {
        return Err(no_triangle);
    }
    let [x, y, z] = volts.map(|voltage| (voltage / largest).powi(2));
    let differences = (x - y).powi(2) + (y - z).powi(2) + (z - x).powi(2);
    let delta = 2.0 * differences / (x + y + z).powi(2);
    if delta > 1.0 + FLAT_TRIANGLE_ROUNDING {
        return Err(no_triangle);
    }
    Ok(100.0 * delta.min(1.0).sqrt() / (1.0 + (1.0 - delta).max(0.0).sqrt()))
}

/// A triangle that is flat but for rounding still closes.
const FLAT_TRIANGLE_ROUNDING: f64 = 1e-12;

fn deviation_from_mean(
    quantity: &'static str,
    values: [f64; 3],
) -> Result<Option<f64>, UnbalanceError> {
    all_not_negative(quantity, values)?;
    // Thirds first: the sum of three finite numbers may overflow.
    let mean: f64 = values.iter().map(|value| value / 3.0).sum();
    if mean <= 0.0 {
        return Ok(None);
    }
    let largest = values
        .iter()
        .map(|value| (value - mean).abs())
        .fold(0.0, f64::max);
    Ok(Some(100.0 * (largest / mean)))
}

fn all_not_negative(quantity: &'static str, values: [f64; 3]) -> Result<(), UnbalanceError> {
    for value in values {
        finite(quantity, value)?;
        if value < 0.0 {
            return Err(UnbalanceError::Negative(value));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn one_phase_alone_is_200_percent_of_the_mean_away() -> Result<(), UnbalanceError> {
        let pct = current_unbalance([Amperes(90.0), Amperes(0.0), Amperes(0.0)])?;
        assert_relative_eq!(pct.unwrap_or(f64::NAN), 200.0, max_relative = 1e-12);
        Ok(())
    }

    #[test]
    fn a_triangle_flat_within_rounding_closes_and_beyond_it_does_not() -> Result<(), UnbalanceError>
    {
        let flat = negative_sequence_ratio([Volts(0.1), Volts(0.2), Volts(0.1 + 0.2)])?;
        assert_relative_eq!(flat, 100.0, max_relative = 1e-6);
        let open = negative_sequence_ratio([Volts(100.0), Volts(200.0), Volts(301.0)]);
        assert_eq!(open, Err(UnbalanceError::NoTriangle(100.0, 200.0, 301.0)));
        assert!(negative_sequence_ratio([Volts(0.0); 3]).is_err());
        Ok(())
    }

    #[test]
    fn equal_voltages_are_balanced_exactly() -> Result<(), UnbalanceError> {
        for volts in [1e-3, 0.1, 399.7, 400.0, 1e200] {
            assert_relative_eq!(negative_sequence_ratio([Volts(volts); 3])?, 0.0);
        }
        Ok(())
    }

    #[test]
    fn negative_and_missing_readings_are_refused() {
        assert_eq!(
            current_unbalance([Amperes(1.0), Amperes(-1.0), Amperes(1.0)]),
            Err(UnbalanceError::Negative(-1.0))
        );
        assert!(voltage_unbalance([Volts(f64::NAN); 3]).is_err());
        assert!(negative_sequence_ratio([Volts(400.0), Volts(-400.0), Volts(400.0)]).is_err());
    }
}
