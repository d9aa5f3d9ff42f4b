//! Three-phase power by two wattmeters.

use super::{NotFinite, PowerError, PowerFactor, finite::finite, reactive_power_at};
use units::{Vars, Watts};

/// Readings from which no power follows.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum WattmeterError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// The readings of a load need its power.
    #[error(transparent)]
    Power(#[from] PowerError),
}

/// Active and reactive power of a balanced three-wire load from two wattmeters (W, var).
///
/// The active power holds for any three-wire load; the reactive power only for a balanced load with
/// sinusoidal currents.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `W_1` | reading of the wattmeter with current L1, voltage L1–L3 | W | finite |
/// | `W_2` | reading of the wattmeter with current L2, voltage L2–L3 | W | finite |
/// | `P`, `Q` | active power; reactive power, positive when lagging, sequence L1–L2–L3 | W, var | |
///
/// # Formula
///
/// ```text
/// P = W_1 + W_2,  Q = √3 · (W_1 − W_2)
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, chapter on
/// three-phase systems (two-wattmeter method); put there as tan φ = √`3·(W_1` − `W_2)/(W_1` + `W_2`).
///
/// # Errors
///
/// [`WattmeterError::NotFinite`].
///
/// # Examples
///
/// Readings of two to one belong to the power factor √3/2:
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::power_of_two_wattmeters, units::Watts};
/// let (p, q) = power_of_two_wattmeters(Watts(8000.0), Watts(4000.0))?;
/// assert_relative_eq!(p.0, 12_000.0, max_relative = 1e-12);
/// assert_relative_eq!(p.0 / p.0.hypot(q.0), 3.0_f64.sqrt() / 2.0, max_relative = 1e-12);
/// assert!(q.0 > 0.0); // lagging
/// # Ok::<(), electrical::WattmeterError>(())
/// ```
pub fn power_of_two_wattmeters(w_1: Watts, w_2: Watts) -> Result<(Watts, Vars), WattmeterError> {
    finite("wattmeter reading [W]", w_1.0)?;
    finite("wattmeter reading [W]", w_2.0)?;
    Ok((w_1 + w_2, Vars(3.0_f64.sqrt() * (w_1.0 - w_2.0))))
}

/// Readings of two wattmeters on a balanced three-wire load (W).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | active power of the load | W | finite |
/// | `Q` | its reactive power, positive when lagging | var | |
/// | `W_1`, `W_2` | readings, connected as in [`power_of_two_wattmeters`] | W | |
///
/// # Formula
///
/// ```text
/// W_1 = (P + Q/√3) / 2,  W_2 = (P − Q/√3) / 2
/// ```
///
/// # Source
///
/// As [`power_of_two_wattmeters`], solved for the readings.
///
/// # Errors
///
/// [`WattmeterError::NotFinite`]; [`WattmeterError::Power`] at power factor 0.
///
/// # Examples
///
/// Below power factor 0.5 the second wattmeter runs backwards:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, two_wattmeter_readings};
/// # use units::Watts;
/// let [w_1, w_2] = two_wattmeter_readings(Watts(12_000.0), PowerFactor::lagging(0.6)?)?;
/// assert_relative_eq!(w_1.kilo(), 10.62, max_relative = 2e-4);
/// assert_relative_eq!(w_2.kilo(), 1.38, max_relative = 1e-3);
/// assert!(two_wattmeter_readings(Watts(12_000.0), PowerFactor::lagging(0.4)?)?[1].0 < 0.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn two_wattmeter_readings(
    total: Watts,
    power_factor: PowerFactor,
) -> Result<[Watts; 2], WattmeterError> {
    let apart = reactive_power_at(total, power_factor)?.0 / 3.0_f64.sqrt();
    Ok([
        Watts(f64::midpoint(total.0, apart)),
        Watts(f64::midpoint(total.0, -apart)),
    ])
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::super::{complex_power, phase_currents_three_phase, phase_voltage_phasors};
    use super::*;
    use units::Volts;

    /// The wattmeters themselves, by their voltages and currents.
    #[test]
    fn readings_are_those_of_the_stated_connection() -> Result<(), Box<dyn std::error::Error>> {
        let [u_1, u_2, u_3] = phase_voltage_phasors(Volts(230.0))?;
        let [i_1, i_2, _] = phase_currents_three_phase(Complex64::new(8.0, -6.0));
        let shown = [complex_power(u_1 - u_3, i_1), complex_power(u_2 - u_3, i_2)];
        let told = two_wattmeter_readings(Watts(3.0 * 230.0 * 8.0), PowerFactor::lagging(0.8)?)?;
        for (shown, told) in shown.iter().zip(told) {
            assert!((shown.re - told.0).abs() < 1e-9);
        }
        Ok(())
    }

    #[test]
    fn readings_that_are_no_numbers_are_refused() {
        assert!(power_of_two_wattmeters(Watts(f64::NAN), Watts(1.0)).is_err());
        assert!(power_of_two_wattmeters(Watts(1.0), Watts(f64::INFINITY)).is_err());
        assert!(two_wattmeter_readings(Watts(f64::NAN), PowerFactor::UNITY).is_err());
    }
}
