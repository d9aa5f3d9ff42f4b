//! What third harmonics take from a four-core cable.

use super::{NotFinite, finite::finite};
use units::Amperes;

/// A cable size that cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CableCapacityError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// Currents and shares are not negative.
    #[error("{0} must not be negative, found {1}")]
    Negative(&'static str, f64),
}

/// Which conductor decides the size of a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecidedBy {
    /// The phase conductors.
    Phase,
    /// The neutral.
    Neutral,
}

/// What a four-core cable with third harmonics must be able to carry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HarmonicSizing {
    /// Reduction factor of the table.
    pub factor: f64,
    /// The conductor that decides.
    pub decided_by: DecidedBy,
    /// Current of that conductor. (A)
    pub current: Amperes,
    /// Tabulated capacity needed: current / factor. (A)
    pub needed: Amperes,
}

/// Capacity that a four- or five-core cable needs when its phases carry third harmonics (A).
///
/// For three-phase circuits whose neutral is of the phases' material and cross-sectional area. A single-phase
/// circuit has no such factor: its neutral carries what its phase carries.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I_B` | design current of a phase | A | 0 or above |
/// | `h` | third harmonic as a share of the phase current | 1 | 0 or above |
/// | `I_N` | neutral current | A | |
/// | `f` | reduction factor | 1 | |
/// | `I_t` | tabulated capacity needed | A | |
///
/// # Formula
///
/// ```text
/// h ≤ 0.15:         I_t = I_B
/// 0.15 < h ≤ 0.33:  I_t = I_B / 0.86
/// 0.33 < h ≤ 0.45:  I_t = I_N / 0.86,  I_N = 3 · h · I_B
/// h > 0.45:         I_t = I_N
/// ```
///
/// # Source
///
/// IEC 60364-5-52, annex E, table E.52.1.
///
/// # Errors
///
/// [`CableCapacityError`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::capacity_with_third_harmonic;
/// # use units::Amperes;
/// let needed = capacity_with_third_harmonic(Amperes(39.0), 0.2)?.needed;
/// assert_relative_eq!(needed.0, 39.0 / 0.86, max_relative = 1e-12);
/// let by_neutral = capacity_with_third_harmonic(Amperes(39.0), 0.5)?.needed;
/// assert_relative_eq!(by_neutral.0, 58.5, max_relative = 1e-12);
/// # Ok::<(), electrical::CableCapacityError>(())
/// ```
pub fn capacity_with_third_harmonic(
    design: Amperes,
    share: f64,
) -> Result<HarmonicSizing, CableCapacityError> {
    for (quantity, value) in [
        ("design current [A]", design.0),
        ("third-harmonic share", share),
    ] {
        finite(quantity, value)?;
        if value < 0.0 {
            return Err(CableCapacityError::Negative(quantity, value));
        }
    }
    let neutral = design * (3.0 * share);
    let (factor, decided_by, current) = match share {
        h if h <= 0.15 => (1.0, DecidedBy::Phase, design),
        h if h <= 0.33 => (0.86, DecidedBy::Phase, design),
        h if h <= 0.45 => (0.86, DecidedBy::Neutral, neutral),
        _ => (1.0, DecidedBy::Neutral, neutral),
    };
    Ok(HarmonicSizing {
        factor,
        decided_by,
        current,
        needed: Amperes(current.0 / factor),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn negative_and_unknown_are_refused() {
        assert!(capacity_with_third_harmonic(Amperes(-1.0), 0.1).is_err());
        assert!(capacity_with_third_harmonic(Amperes(1.0), -0.1).is_err());
        assert!(capacity_with_third_harmonic(Amperes(1.0), f64::NAN).is_err());
    }
}
