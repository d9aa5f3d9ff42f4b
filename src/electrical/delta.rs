//! Loads in delta: three branches between the phases, equal or not.

use num_complex::Complex64;

use super::{NotFinite, finite::finite_phasors};

/// A delta whose currents cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum DeltaError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A branch of 0 Ω is a short circuit.
    #[error("impedance of branch {branch} must not be 0 Ω")]
    ShortCircuit {
        /// `L1-L2`, `L2-L3` or `L3-L1`.
        branch: &'static str,
    },
}

/// Branch currents of a delta from line voltages and impedances (A).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_12`, `U_23`, `U_31` | line voltages, phasors in one frame | V | finite |
/// | `Z_12`, `Z_23`, `Z_31` | impedances between the phases, R + jX, inductive X positive | Ω | finite, not 0 |
/// | `I_12`, `I_23`, `I_31` | branch currents, in the frame of the voltages | A | |
///
/// # Formula
///
/// ```text
/// I_12 = U_12 / Z_12,  I_23 = U_23 / Z_23,  I_31 = U_31 / Z_31
/// ```
///
/// # Source
///
/// Ohm's law; used so in M. Nahvi, J. Edminister, *Electric Circuits* (Schaum's Outlines), chapter
/// on polyphase circuits.
///
/// # Errors
///
/// [`DeltaError::NotFinite`] and [`DeltaError::ShortCircuit`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::delta_currents;
/// let polar = |size: f64, deg: f64| Complex64::from_polar(size, deg.to_radians());
/// let u = [polar(400.0, 30.0), polar(400.0, -90.0), polar(400.0, 150.0)];
/// let i = delta_currents(u, [polar(20.0, 60.0), polar(20.0, 0.0), polar(40.0, 0.0)])?;
/// assert_relative_eq!(i[0].norm(), 20.0, max_relative = 1e-12);
/// assert_relative_eq!(i[0].arg().to_degrees(), -30.0, max_relative = 1e-12); // inductive: behind
/// assert_relative_eq!(i[2].norm(), 10.0, max_relative = 1e-12);
/// # Ok::<(), electrical::DeltaError>(())
/// ```
pub fn delta_currents(
    line_voltages: [Complex64; 3],
    impedances: [Complex64; 3],
) -> Result<[Complex64; 3], DeltaError> {
    finite_phasors("line voltage [V]", &line_voltages)?;
    finite_phasors("impedance [Ω]", &impedances)?;
    for (z, branch) in impedances.iter().zip(["L1-L2", "L2-L3", "L3-L1"]) {
        if z.norm() <= 0.0 {
            return Err(DeltaError::ShortCircuit { branch });
        }
    }
    Ok([0, 1, 2].map(|branch| line_voltages[branch] / impedances[branch]))
}

/// Line currents of a delta from its branch currents (A).
///
/// They sum to zero: a delta has no neutral.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_12`, `I_23`, `I_31` | branch currents from the first to the second phase | A | finite |
/// | `I_L1`, `I_L2`, `I_L3` | line currents towards the delta, same frame | A | |
///
/// # Formula
///
/// ```text
/// I_L1 = I_12 − I_31,  I_L2 = I_23 − I_12,  I_L3 = I_31 − I_23
/// ```
///
/// # Source
///
/// Kirchhoff's current law at each corner; used so in M. Nahvi, J. Edminister, *Electric Circuits*
/// (Schaum's Outlines), chapter on polyphase circuits.
///
/// # Examples
///
/// Equal branches give √3 times their current, 30° behind:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::line_currents_of_delta;
/// let amps = |deg: f64| Complex64::from_polar(10.0, deg.to_radians());
/// let [l1, l2, l3] = line_currents_of_delta([amps(0.0), amps(-120.0), amps(120.0)]);
/// assert_relative_eq!(l1.norm(), 17.320_508_08, max_relative = 1e-9);
/// assert_relative_eq!(l1.arg().to_degrees(), -30.0, max_relative = 1e-12);
/// assert!((l1 + l2 + l3).norm() < 1e-12);
/// ```
#[must_use]
pub fn line_currents_of_delta(branches: [Complex64; 3]) -> [Complex64; 3] {
    let [i_12, i_23, i_31] = branches;
    [i_12 - i_31, i_23 - i_12, i_31 - i_23]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_circuit_is_named() {
        let one = Complex64::ONE;
        assert_eq!(
            delta_currents([one; 3], [one, Complex64::ZERO, one]),
            Err(DeltaError::ShortCircuit { branch: "L2-L3" })
        );
        assert!(delta_currents([one; 3], [one, one, one * f64::NAN]).is_err());
    }
}
