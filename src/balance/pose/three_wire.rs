//! Loads without a neutral conductor.

use num_complex::Complex64;

use electrical::Phase;

/// The currents of a three-wire load: less the third of their sum that would flow in a neutral.
pub(crate) fn without_neutral(currents: [Option<Complex64>; 3]) -> [Option<Complex64>; 3] {
    let [Some(l1), Some(l2), Some(l3)] = currents else {
        return currents;
    };
    let sum: Complex64 = Phase::ALL
        .into_iter()
        .zip([l1, l2, l3])
        .map(|(phase, current)| phase.direction() * current)
        .sum();
    let left =
        |phase: Phase, current: Complex64| Some(current - sum / 3.0 * phase.direction().conj());
    [
        left(Phase::L1, l1),
        left(Phase::L2, l2),
        left(Phase::L3, l3),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 12, 6 and 6 A in phase with their voltages leave 6 A in a neutral; without one they sum to nothing.
    #[test]
    fn nothing_is_left_for_a_neutral() {
        let amps = [12.0, 6.0, 6.0].map(|amps| Some(Complex64::new(amps, 0.0)));
        let [l1, l2, l3] = without_neutral(amps).map(Option::unwrap_or_default);
        let sum: Complex64 = Phase::ALL
            .into_iter()
            .zip([l1, l2, l3])
            .map(|(phase, current)| phase.direction() * current)
            .sum();
        assert!(sum.norm() < 1e-12);
        assert!((l1.re - 10.0).abs() < 1e-12);
    }
}
