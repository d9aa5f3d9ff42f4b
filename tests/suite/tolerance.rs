//! How close is close enough, by name.

/// Values worked out from the same inputs elsewhere and written with ten digits.
pub(crate) const RECOMPUTED_RELATIVE: f64 = 1e-6;

/// Identities that hold but for rounding in f64.
pub(crate) const IDENTITY_RELATIVE: f64 = 1e-9;

/// Square roots of differences that nearly cancel keep half of their digits.
pub(crate) const ROOT_OF_DIFFERENCE: f64 = 1e-4;

/// What counts as nothing, in the unit of the figure; stands in for a relative tolerance at zero.
pub(crate) const NOTHING: f64 = 1e-9;

/// Half a unit of the last digit printed: what rounding hides.
pub(crate) fn half_last_digit(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, after)| after.len());
    // A whisker more, for a value that lies on the edge itself.
    0.500_001 * 10.0_f64.powi(-(decimals as i32))
}

/// Equal within a relative tolerance, or both nothing.
pub(crate) fn close(left: f64, right: f64, relative: f64) -> bool {
    (left - right).abs() <= (relative * left.abs().max(right.abs())).max(NOTHING)
}

/// Smallest turn between two angles in degrees.
pub(crate) fn turn_deg(left: f64, right: f64) -> f64 {
    let turn = (left - right).rem_euclid(360.0);
    turn.min(360.0 - turn)
}

#[test]
fn printed_digits_set_the_tolerance() {
    assert!(close(half_last_digit("43.3"), 0.05, 1e-5));
    assert!(close(half_last_digit("8489"), 0.5, 1e-5));
    assert!(close(half_last_digit("-1.85"), 0.005, 1e-5));
    assert!(close(turn_deg(270.0, -90.0), 0.0, 0.0));
    assert!(close(turn_deg(179.0, -179.0), 2.0, IDENTITY_RELATIVE));
}
