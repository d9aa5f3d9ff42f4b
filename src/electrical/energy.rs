//! Power factor, apparent power and energy index from registered energies.

use super::{NotFinite, finite::finite};
use units::{KilovarHours, KilowattHours, VoltAmperes};

/// Energies from which nothing follows.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum EnergyError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A block of time has a length.
    #[error("length of a demand block must be above 0 h, found {0} h")]
    BlockLengthNotPositive(f64),
}

/// Mean power factor over the time in which two energies were registered (ratio).
///
/// Weighted by energy, and the one that bills use; not the mean of momentary power factors. Harmonics are not included.
/// Negative where energy was exported net. `None` where neither register has moved.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `W` | active energy, import less export | kWh | finite |
/// | `W_q` | reactive energy, imported (lagging) less exported | kvarh | finite |
/// | `λ_m` | mean power factor | 1 | −1 to 1 |
///
/// # Formula
///
/// ```text
/// λ_m = W / √( W² + W_q² )
/// ```
///
/// # Source
///
/// V. K. Mehta, R. Mehta, *Principles of Power System*, 4th ed., S. Chand, 2005, chapter 5 (power factor tariffs).
///
/// # Errors
///
/// [`EnergyError::NotFinite`].
///
/// # Examples
///
/// 36 000 kWh with 23 400 kvarh:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::mean_power_factor;
/// # use units::{KilovarHours, KilowattHours};
/// let factor = mean_power_factor(KilowattHours(36_000.0), KilovarHours(23_400.0))?;
/// assert_relative_eq!(factor.expect("energy was used"), 0.838_44, max_relative = 1e-5);
/// assert_eq!(mean_power_factor(KilowattHours(0.0), KilovarHours(0.0))?, None);
/// # Ok::<(), electrical::EnergyError>(())
/// ```
pub fn mean_power_factor(
    active: KilowattHours,
    reactive: KilovarHours,
) -> Result<Option<f64>, EnergyError> {
    let apparent = hypotenuse(active, reactive)?;
    Ok((apparent > 0.0).then(|| active.0 / apparent))
}

/// Mean apparent power of a demand period (VA).
///
/// From the block's total energies, so the vector definition: phases that lag and phases that lead cancel.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `W`, `W_q` | active and reactive energy of the block | kWh, kvarh | finite |
/// | `T` | length of the block | h | above 0 |
/// | `S` | mean apparent power | VA | |
///
/// # Formula
///
/// ```text
/// S = 1000 · √( W² + W_q² ) / T
/// ```
///
/// # Source
///
/// IEEE Std 1459-2010, definition of vector apparent power, with both powers as means over the block.
///
/// # Errors
///
/// [`EnergyError::NotFinite`], [`EnergyError::BlockLengthNotPositive`].
///
/// # Examples
///
/// 4 kWh and 3 kvarh in half an hour are 10 kVA:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::block_apparent_power;
/// # use units::{KilovarHours, KilowattHours};
/// let s = block_apparent_power(KilowattHours(4.0), KilovarHours(3.0), 0.5)?;
/// assert_relative_eq!(s.kilo(), 10.0, max_relative = 1e-12);
/// # Ok::<(), electrical::EnergyError>(())
/// ```
pub fn block_apparent_power(
    active: KilowattHours,
    reactive: KilovarHours,
    length_h: f64,
) -> Result<VoltAmperes, EnergyError> {
    finite("length of a demand block [h]", length_h)?;
    if length_h <= 0.0 {
        return Err(EnergyError::BlockLengthNotPositive(length_h));
    }
    Ok(VoltAmperes::from_kilo(
        hypotenuse(active, reactive)? / length_h,
    ))
}

/// Energy index, or specific energy: energy per unit of a variable (kWh per unit).
///
/// Of the whole energy: a part that does not depend on the variable is spread over its units, so that the index falls as
/// the variable grows, and two periods compare only at about the same variable. `None` where the variable has not come to
/// anything above 0, such as degree-days in summer.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `W` | active energy of the period, import less export | kWh | finite |
/// | `D` | sum of the variable over the period: tonnes, degree-days, pieces | its own | finite |
/// | `e` | energy index | kWh per unit of the variable | |
///
/// # Formula
///
/// ```text
/// e = W / D
/// ```
///
/// # Source
///
/// W. R. Murphy, G. McKay, *Energy Management*, 2nd ed., Butterworth-Heinemann, example 1.10.
///
/// # Errors
///
/// [`EnergyError::NotFinite`].
///
/// # Examples
///
/// 67.0 MWh in 260 degree-days are 2.58·10⁵ Wh a degree-day:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::energy_index;
/// # use units::KilowattHours;
/// let index = energy_index(KilowattHours(67_000.0), 260.0)?;
/// assert_relative_eq!(index.expect("it was cold"), 257.692_3, max_relative = 1e-6);
/// assert_eq!(energy_index(KilowattHours(67_000.0), 0.0)?, None);
/// # Ok::<(), electrical::EnergyError>(())
/// ```
pub fn energy_index(active: KilowattHours, variable: f64) -> Result<Option<f64>, EnergyError> {
    finite("active energy [kWh]", active.0)?;
    finite("variable of the energy", variable)?;
    Ok((variable > 0.0).then(|| active.0 / variable))
}

fn hypotenuse(active: KilowattHours, reactive: KilovarHours) -> Result<f64, NotFinite> {
    finite("active energy [kWh]", active.0)?;
    finite("reactive energy [kvarh]", reactive.0)?;
    Ok(active.0.hypot(reactive.0))
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn energy_returned_on_balance_has_a_negative_factor() -> Result<(), EnergyError> {
        let factor = mean_power_factor(KilowattHours(-4.0), KilovarHours(3.0))?;
        assert_relative_eq!(factor.unwrap_or(f64::NAN), -0.8, max_relative = 1e-12);
        Ok(())
    }

    #[test]
    fn what_has_no_answer_is_refused() {
        let (kwh, kvarh) = (KilowattHours(1.0), KilovarHours(1.0));
        let empty = block_apparent_power(kwh, kvarh, 0.0);
        assert_eq!(empty, Err(EnergyError::BlockLengthNotPositive(0.0)));
        assert!(block_apparent_power(kwh, kvarh, f64::NAN).is_err());
        assert!(mean_power_factor(KilowattHours(f64::NAN), kvarh).is_err());
        assert!(mean_power_factor(kwh, KilovarHours(f64::INFINITY)).is_err());
        assert!(energy_index(KilowattHours(f64::NAN), 1.0).is_err());
        assert!(energy_index(kwh, f64::INFINITY).is_err());
        assert_eq!(energy_index(kwh, -3.0), Ok(None));
    }
}
