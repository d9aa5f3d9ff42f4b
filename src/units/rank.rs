//! How figures that come from sums are put in order.

/// A figure without what the rounding of binary sums leaves in it, far below its last digit: figures that are
/// equal but for that compare as equal, so that "the earliest" among them does not depend on the order of adding.
///
/// ```
/// use units::rank;
///
/// assert_ne!(0.1 + 0.2, 0.3);
/// assert_eq!(rank(0.1 + 0.2), rank(0.3));
/// assert!(rank(0.300_001) > rank(0.3));
/// ```
#[must_use]
pub fn rank(value: f64) -> f64 {
    // Adding zero makes one zero of the two.
    (value * 1e9).round() + 0.0
}
