//! When a current is above its limit.

/// Share of the limit that sums of phasors may lose or gain by rounding. (1)
const ROUNDING: f64 = 1e-9;

/// Is a current (A) above a limit (A), by more than the rounding of sums?
///
/// A current that is read as exactly the limit and comes back from its phasor as 100.000 000 000 000 01 A is at the
/// limit, not above it. For currents and limits of at least 0; false where one of them is NaN.
///
/// # Example
///
/// ```
/// use num_complex::Complex64;
/// use electrical::is_above_limit;
///
/// let back = Complex64::from_polar(100.0, -0.4) + Complex64::from_polar(1e-12, 1.0);
/// assert!(!is_above_limit(back.norm(), 100.0));
/// assert!(is_above_limit(100.1, 100.0));
/// assert!(!is_above_limit(99.9, 100.0));
/// ```
#[must_use]
pub fn is_above_limit(current_a: f64, limit_a: f64) -> bool {
    current_a > limit_a * (1.0 + ROUNDING)
}
