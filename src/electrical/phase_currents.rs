//! What one load puts on the three phases, in the common frame, ordered L1, L2, L3.

use num_complex::Complex64;

use super::{Phase, PhasePair, in_common_frame};

/// Phase currents of a load between one phase and neutral (A).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I` | load current, angle from its own phase voltage, lagging negative | A | finite |
/// | `θ_k` | angle of the voltage of the phase `k` it is on | ° | |
/// | `I_k` | current of phase `k` in the common frame, positive towards the load | A | |
///
/// # Formula
///
/// ```text
/// I_k = I · 1∠θ_k;  0 on the two other phases
/// ```
///
/// # Source
///
/// Kirchhoff's current law.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::{Phase, phase_currents_to_neutral};
/// let [l1, l2, l3] = phase_currents_to_neutral(Phase::L3, Complex64::new(5.0, 0.0));
/// assert_relative_eq!(l3.arg().to_degrees(), 120.0, max_relative = 1e-12);
/// assert_relative_eq!(l3.norm(), 5.0, max_relative = 1e-12);
/// assert!(l1.norm() == 0.0 && l2.norm() == 0.0);
/// ```
#[must_use]
pub fn phase_currents_to_neutral(phase: Phase, current: Complex64) -> [Complex64; 3] {
    let mut phases = [Complex64::ZERO; 3];
    phases[phase.index()] = in_common_frame(current, phase);
    phases
}

/// Phase currents of a load between two phases (A).
///
/// The current leaves on the first phase of the pair and returns on the second; the neutral carries
/// none of it.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I` | load current, angle from the voltage between its phases, lagging negative | A | finite |
/// | `U_ab` | voltage from the first phase `a` to the second `b` of the pair | V | |
/// | `I_a`, `I_b` | currents of the two phases in the common frame, positive towards the load | A | |
///
/// # Formula
///
/// ```text
/// I_a = I · U_ab/|U_ab|;  I_b = −I_a;  0 on the third phase
/// (with I = S*/|U_ab| this is I_a = S*/U_ab*)
/// ```
///
/// # Source
///
/// Kirchhoff's laws on a symmetrical supply, sequence L1–L2–L3.
///
/// # Examples
///
/// A resistor between L1 and L2 draws a current 30° ahead of the voltage of L1:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use electrical::{PhasePair, phase_currents_between};
/// let [l1, l2, l3] = phase_currents_between(PhasePair::L1L2, Complex64::new(10.0, 0.0));
/// assert_relative_eq!(l1.norm(), 10.0, max_relative = 1e-12);
/// assert_relative_eq!(l1.arg().to_degrees(), 30.0, max_relative = 1e-12);
/// assert!((l1 + l2).norm() < 1e-12 && l3.norm() == 0.0);
/// ```
#[must_use]
pub fn phase_currents_between(pair: PhasePair, current: Complex64) -> [Complex64; 3] {
    let (first, second) = pair.phases();
    let direction = (first.direction() - second.direction()) / 3.0_f64.sqrt();
    let mut phases = [Complex64::ZERO; 3];
    phases[first.index()] = current * direction;
    phases[second.index()] = -current * direction;
    phases
}

/// Phase currents of a balanced three-phase load (A).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `I` | line current, angle from the phase voltage, lagging negative | A | finite |
/// | `I_k` | current of phase `k` in the common frame | A | |
///
/// # Formula
///
/// ```text
/// I_L1 = I;  I_L2 = I · 1∠−120°;  I_L3 = I · 1∠+120°
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, chapter on three-phase systems.
///
/// # Examples
///
/// ```
/// # use num_complex::Complex64; use electrical::phase_currents_three_phase;
/// let phases = phase_currents_three_phase(Complex64::new(8.0, -6.0));
/// assert!(phases.iter().all(|i| (i.norm() - 10.0).abs() < 1e-12));
/// assert!(phases.iter().sum::<Complex64>().norm() < 1e-12);
/// assert!((phases[1] / phases[0]).arg() < -2.0); // L2 follows L1
/// ```
#[must_use]
pub fn phase_currents_three_phase(current: Complex64) -> [Complex64; 3] {
    Phase::ALL.map(|phase| in_common_frame(current, phase))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_equal_loads_between_phases_are_a_balanced_delta() {
        let own = Complex64::from_polar(10.0, -0.4);
        let mut sum = [Complex64::ZERO; 3];
        for pair in PhasePair::ALL {
            for (total, part) in sum.iter_mut().zip(phase_currents_between(pair, own)) {
                *total += part;
            }
        }
        let expected = phase_currents_three_phase(own * 3.0_f64.sqrt());
        for (total, line) in sum.iter().zip(expected) {
            assert!((total - line).norm() < 1e-12);
        }
    }
}
