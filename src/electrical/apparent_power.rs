//! The three definitions of total apparent power, kept apart: they agree only for balanced loads.

use num_complex::Complex64;

use super::{NotFinite, complex_power, finite::finite_phasors};
use units::VoltAmperes;

/// A total apparent power that cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ApparentPowerError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
}

/// Arithmetic apparent power of three phases (VA).
///
/// Unlike [`vector_apparent_power`], a lagging load on one phase does not hide a leading one on another.
/// The current of the neutral is not included.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_k`, `I_k` | rms voltage to neutral and current of phase `k`, phasors in one frame | V, A | finite |
/// | `S_A` | arithmetic apparent power | VA | |
///
/// # Formula
///
/// ```text
/// S_A = |U_1|·|I_1| + |U_2|·|I_2| + |U_3|·|I_3|
/// ```
///
/// # Source
///
/// IEEE Std 1459-2010, definition of arithmetic apparent power.
///
/// # Errors
///
/// [`ApparentPowerError::NotFinite`].
///
/// # Examples
///
/// A resistor between two phases reaches a power factor of √3/2 by this definition:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use {electrical::{PhasePair, arithmetic_apparent_power, phase_currents_between,
/// #     phase_voltage_phasors}, units::Volts};
/// let u = phase_voltage_phasors(Volts(400.0 / 3.0_f64.sqrt()))?;
/// let i = phase_currents_between(PhasePair::L1L2, Complex64::new(10.0, 0.0));
/// let s = arithmetic_apparent_power(u, i)?;
/// assert_relative_eq!(4000.0 / s.0, 3.0_f64.sqrt() / 2.0, max_relative = 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn arithmetic_apparent_power(
    voltages: [Complex64; 3],
    currents: [Complex64; 3],
) -> Result<VoltAmperes, ApparentPowerError> {
    check(&voltages, &currents)?;
    let sum = pairs(voltages, currents).map(|(u, i)| u.norm() * i.norm());
    Ok(VoltAmperes(sum.iter().sum()))
}

/// Vector apparent power of three phases (VA).
///
/// What a meter of total kWh and total kvarh implies. A lagging load on one phase and a leading one on another
/// cancel in it.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_k`, `I_k` | rms voltage to neutral and current of phase `k`, phasors in one frame | V, A | finite |
/// | `P_k`, `Q_k` | active and reactive power of phase `k` | W, var | |
/// | `S_V` | vector apparent power | VA | |
///
/// # Formula
///
/// ```text
/// S_V = √( (P_1 + P_2 + P_3)² + (Q_1 + Q_2 + Q_3)² )
/// ```
///
/// # Source
///
/// IEEE Std 1459-2010, definition of vector apparent power.
///
/// # Errors
///
/// [`ApparentPowerError::NotFinite`].
///
/// # Examples
///
/// A resistor between two phases has power factor 1 by this definition:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use {electrical::{PhasePair, phase_currents_between, phase_voltage_phasors,
/// #     vector_apparent_power}, units::Volts};
/// let u = phase_voltage_phasors(Volts(400.0 / 3.0_f64.sqrt()))?;
/// let i = phase_currents_between(PhasePair::L1L2, Complex64::new(10.0, 0.0));
/// assert_relative_eq!(vector_apparent_power(u, i)?.0, 4000.0, max_relative = 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn vector_apparent_power(
    voltages: [Complex64; 3],
    currents: [Complex64; 3],
) -> Result<VoltAmperes, ApparentPowerError> {
    check(&voltages, &currents)?;
    let sum: Complex64 = pairs(voltages, currents)
        .iter()
        .map(|(u, i)| complex_power(*u, *i))
        .sum();
    Ok(VoltAmperes(sum.norm()))
}

/// Effective apparent power of a four-wire system (VA).
///
/// The apparent power of the balanced load that would heat the line as much; so it alone counts the
/// neutral's loss. The neutral is taken to have the resistance of a phase conductor (ρ = 1 in the source)
/// and to carry the sum of the phase currents. Fundamental alone.
///
/// With phase voltages that sum to zero `S_e` ≥ `S_A` ≥ `S_V`; with a zero sequence in the voltages only
/// `S_e` ≥ `S_V` is certain.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `U_k`, `I_k` | rms voltage to neutral and current of phase `k`, phasors in one frame | V, A | finite |
/// | `U_jk` | voltage between phases, `U_j` − `U_k` | V | |
/// | `I_N` | neutral current, `I_1` + `I_2` + `I_3` | A | |
/// | `U_e`, `I_e` | effective voltage (to neutral) and current | V, A | |
/// | `S_e` | effective apparent power | VA | |
///
/// # Formula
///
/// ```text
/// U_e = √( ( 3·(|U_1|² + |U_2|² + |U_3|²) + |U_12|² + |U_23|² + |U_31|² ) / 18 )
/// I_e = √( ( |I_1|² + |I_2|² + |I_3|² + |I_N|² ) / 3 )
/// S_e = 3 · U_e · I_e
/// ```
///
/// # Source
///
/// IEEE Std 1459-2010, effective apparent power of four-wire systems.
///
/// # Errors
///
/// [`ApparentPowerError::NotFinite`].
///
/// # Examples
///
/// A resistor on one phase alone has the power factor 1/√6:
///
/// ```
/// # use approx::assert_relative_eq; use num_complex::Complex64;
/// # use {electrical::{Phase, effective_apparent_power, phase_currents_to_neutral,
/// #     phase_voltage_phasors}, units::Volts};
/// let u = phase_voltage_phasors(Volts(230.0))?;
/// let i = phase_currents_to_neutral(Phase::L2, Complex64::new(90.0, 0.0));
/// let s = effective_apparent_power(u, i)?;
/// assert_relative_eq!(230.0 * 90.0 / s.0, 1.0 / 6.0_f64.sqrt(), max_relative = 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn effective_apparent_power(
    voltages: [Complex64; 3],
    currents: [Complex64; 3],
) -> Result<VoltAmperes, ApparentPowerError> {
    check(&voltages, &currents)?;
    let [u_1, u_2, u_3] = voltages;
    let between = squares(&[u_1 - u_2, u_2 - u_3, u_3 - u_1]);
    let u_e = ((3.0 * squares(&voltages) + between) / 18.0).sqrt();
    let i_n: Complex64 = currents.iter().sum();
    let i_e = ((squares(&currents) + i_n.norm_sqr()) / 3.0).sqrt();
    Ok(VoltAmperes(3.0 * u_e * i_e))
}

fn squares(phasors: &[Complex64]) -> f64 {
    phasors.iter().map(Complex64::norm_sqr).sum()
}

fn pairs(voltages: [Complex64; 3], currents: [Complex64; 3]) -> [(Complex64, Complex64); 3] {
    [0, 1, 2].map(|phase| (voltages[phase], currents[phase]))
}

fn check(voltages: &[Complex64], currents: &[Complex64]) -> Result<(), NotFinite> {
    finite_phasors("phase voltage [V]", voltages)?;
    finite_phasors("phase current [A]", currents)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_definition_takes_what_is_no_number() {
        let good = [Complex64::ONE; 3];
        let bad = [Complex64::ONE, Complex64::ONE * f64::NAN, Complex64::ONE];
        for definition in [
            arithmetic_apparent_power,
            vector_apparent_power,
            effective_apparent_power,
        ] {
            assert!(definition(good, good).is_ok());
            assert!(definition(bad, good).is_err());
            assert!(definition(good, bad).is_err());
        }
    }
}
