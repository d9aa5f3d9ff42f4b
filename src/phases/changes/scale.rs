//! Long tails: the scale of each interval, given how unusual what is left in it is.

use statistics::Random;

/// Degrees of freedom of the unmetered part's innovations: switching loads leave long tails.
const TAILS: f64 = 4.0;

/// Weight of an interval at a squared distance from the mean, in units of the covariance: expected
/// (K. L. Lange, R. J. A. Little and J. M. G. Taylor, 1989).
pub(super) fn expected_scale(distance: f64, channels: usize) -> f64 {
    (TAILS + channels as f64) / (TAILS + distance)
}

/// The same, drawn.
pub(super) fn drawn_scale(distance: f64, channels: usize, random: &mut Random) -> f64 {
    random.gamma(0.5 * (TAILS + channels as f64)) / (0.5 * (TAILS + distance))
}
