//! Power that each of two phases supplies to a load between them.

use num_complex::Complex64;

/// Shares of the complex power of a load between two phases that the two phases supply, in the order of the voltage
/// across the load (1).
///
/// A meter with one element per phase shows these shares of P + j·Q of the load, whatever its power factor.
///
/// # Symbols
///
/// | symbol | meaning | unit |
/// |---|---|---|
/// | `S` | complex power P + j·Q of the load between L1 and L2 | VA |
/// | `S_1`, `S_2` | complex power supplied by L1 and by L2 | VA |
/// | `U_1`, `U_2`, `U_12` | phase voltages and the voltage between them, phasors: U_12 = U_1 − U_2 = √3·U_1∠30° | V |
///
/// # Formula
///
/// ```text
/// S_1/S = U_1/U_12 = (1/√3)·∠−30° = 1/2 − j/(2·√3)
/// S_2/S = −U_2/U_12 = (1/√3)·∠+30° = 1/2 + j/(2·√3)
/// ```
///
/// for symmetrical voltages of the sequence L1–L2–L3; L2–L3 and L3–L1 alike.
///
/// # Source
///
/// S = U·I* of each phase, with the current of the load leaving by the first phase and returning by the second.
///
/// # Examples
///
/// The two add up to the load; a load of unity power factor draws lagging power from the second phase and leading power
/// from the first:
///
/// ```
/// let [first, second] = electrical::share_of_pair();
/// assert!((first + second - 1.0).norm() < 1e-12);
/// assert!((first.norm() - 3.0_f64.sqrt().recip()).abs() < 1e-12);
/// assert!(first.im < 0.0 && second.im > 0.0);
/// ```
#[must_use]
pub fn share_of_pair() -> [Complex64; 2] {
    let quadrature = 0.5 / 3.0_f64.sqrt();
    [
        Complex64::new(0.5, -quadrature),
        Complex64::new(0.5, quadrature),
    ]
}
