//! How the demands of loads add up: demand, diversity, coincidence and load factor.

use super::{NotFinite, finite::finite};
use units::Watts;

/// Demand factor of an installation (ratio).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P_max` | maximum demand | W | finite |
/// | `P_c` | connected load: sum of the ratings | W | above 0 |
/// | `f_d` | demand factor | 1 | as a rule 0 to 1 |
///
/// `None` where nothing is connected.
///
/// # Formula
///
/// ```text
/// f_d = P_max / P_c
/// ```
///
/// # Source
///
/// V. K. Mehta, R. Mehta, *Principles of Power System*, 4th ed., S. Chand, 2005, chapter 3.
///
/// # Errors
///
/// [`NotFinite`].
///
/// # Examples
///
/// 20 MW of 43 MW connected (the same book, example 3.2):
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::demand_factor, units::Watts};
/// let factor = demand_factor(Watts(20e6), Watts(43e6))?.expect("something is connected");
/// assert_relative_eq!(factor, 0.465, epsilon = 5e-4);
/// # Ok::<(), electrical::NotFinite>(())
/// ```
pub fn demand_factor(maximum: Watts, connected: Watts) -> Result<Option<f64>, NotFinite> {
    finite("maximum demand [W]", maximum.0)?;
    finite("connected load [W]", connected.0)?;
    Ok((connected.0 > 0.0).then(|| maximum.0 / connected.0))
}

/// Diversity factor of a group (ratio).
///
/// At least 1: the loads of a group never draw more together than one after the other.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P_j` | maximum demand of each load, whenever it occurred | W | finite |
/// | `P_g` | maximum demand of all of them together | W | above 0 |
/// | `f_div` | diversity factor | 1 | 1 and above |
///
/// `None` where the group draws nothing.
///
/// # Formula
///
/// ```text
/// f_div = ( Σ P_j ) / P_g
/// ```
///
/// # Source
///
/// T. Gönen, *Electric Power Distribution System Engineering*, 1st ed., McGraw-Hill, 1986, chapter 2.
///
/// # Errors
///
/// [`NotFinite`].
///
/// # Examples
///
/// Two loads of 2000 kW that together reach 3000 kW (the same book, example 2.5):
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::diversity_factor, units::Watts};
/// let each = [2e6, 2e6].map(Watts);
/// let factor = diversity_factor(&each, Watts(3e6))?.expect("the group draws");
/// assert_relative_eq!(factor, 1.333, epsilon = 5e-4);
/// # Ok::<(), electrical::NotFinite>(())
/// ```
pub fn diversity_factor(maxima: &[Watts], together: Watts) -> Result<Option<f64>, NotFinite> {
    let sum = sum_of(maxima)?;
    finite("maximum demand of the group [W]", together.0)?;
    Ok((together.0 > 0.0).then(|| sum / together.0))
}

/// Coincidence factor of a group (ratio): the inverse of its diversity factor.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P_j` | maximum demand of each load, whenever it occurred | W | finite |
/// | `P_g` | maximum demand of all of them together | W | finite |
/// | `f_c` | coincidence factor | 1 | 0 to 1 |
///
/// `None` where the loads draw nothing.
///
/// # Formula
///
/// ```text
/// f_c = P_g / ( Σ P_j )
/// ```
///
/// # Source
///
/// T. Gönen, *Electric Power Distribution System Engineering*, 1st ed., McGraw-Hill, 1986, chapter 2.
///
/// # Errors
///
/// [`NotFinite`].
///
/// # Examples
///
/// The loads of [`diversity_factor`]:
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::coincidence_factor, units::Watts};
/// let each = [2e6, 2e6].map(Watts);
/// let factor = coincidence_factor(&each, Watts(3e6))?.expect("the loads draw");
/// assert_relative_eq!(factor, 0.75, epsilon = 5e-3);
/// # Ok::<(), electrical::NotFinite>(())
/// ```
pub fn coincidence_factor(maxima: &[Watts], together: Watts) -> Result<Option<f64>, NotFinite> {
    let sum = sum_of(maxima)?;
    finite("maximum demand of the group [W]", together.0)?;
    Ok((sum > 0.0).then(|| together.0 / sum))
}

/// Load factor (ratio).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P_mean` | mean power over the time looked at | W | finite |
/// | `P_max` | maximum demand in that time | W | above 0 |
/// | `F` | load factor | 1 | 0 to 1 |
///
/// `None` where nothing is drawn.
///
/// # Formula
///
/// ```text
/// F = P_mean / P_max
/// ```
///
/// # Source
///
/// V. K. Mehta, R. Mehta, *Principles of Power System*, 4th ed., S. Chand, 2005, chapter 3.
///
/// # Errors
///
/// [`NotFinite`].
///
/// # Examples
///
/// 10⁷ kWh in a year of 8760 h with 3500 kW (T. Gönen, *Electric Power Distribution System Engineering*, 1st ed.,
/// McGraw-Hill, 1986, example 2.7):
///
/// ```
/// # use approx::assert_relative_eq; use {electrical::load_factor, units::Watts};
/// let factor = load_factor(Watts(1e10 / 8760.0), Watts(3.5e6))?.expect("something is drawn");
/// assert_relative_eq!(factor, 0.326, epsilon = 5e-4);
/// # Ok::<(), electrical::NotFinite>(())
/// ```
pub fn load_factor(mean: Watts, maximum: Watts) -> Result<Option<f64>, NotFinite> {
    finite("mean power [W]", mean.0)?;
    finite("maximum demand [W]", maximum.0)?;
    Ok((maximum.0 > 0.0).then(|| mean.0 / maximum.0))
}

/// Loss factor estimated from a load factor (ratio): mean losses over the losses at maximum demand.
///
/// An empirical rule for distribution feeders; where the load is logged, the mean of its square says it exactly.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `F` | load factor | 1 | 0 to 1 |
/// | `F_ls` | loss factor | 1 | F² to F |
///
/// # Formula
///
/// ```text
/// F_ls = 0.3 · F + 0.7 · F²
/// ```
///
/// # Source
///
/// T. Gönen, *Electric Power Distribution System Engineering*, 1st ed., McGraw-Hill, 1986, chapter 2.
///
/// # Errors
///
/// [`NotFinite`].
///
/// # Examples
///
/// 5.61 GWh in a year with 2000 kW (the same book, example 2.9):
///
/// ```
/// # use approx::assert_relative_eq; use electrical::loss_factor;
/// let load_factor = 5.61e6 / 8760.0 / 2000.0;
/// assert_relative_eq!(loss_factor(load_factor)?, 0.1678, epsilon = 5e-5);
/// # Ok::<(), electrical::NotFinite>(())
/// ```
pub fn loss_factor(load_factor: f64) -> Result<f64, NotFinite> {
    finite("load factor", load_factor)?;
    Ok(0.3 * load_factor + 0.7 * load_factor.powi(2))
}

fn sum_of(maxima: &[Watts]) -> Result<f64, NotFinite> {
    for maximum in maxima {
        finite("maximum demand [W]", maximum.0)?;
    }
    Ok(maxima.iter().map(|maximum| maximum.0).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_of_nothing_is_unknown() {
        assert_eq!(demand_factor(Watts(5.0), Watts(0.0)), Ok(None));
        assert_eq!(diversity_factor(&[], Watts(0.0)), Ok(None));
        assert_eq!(coincidence_factor(&[], Watts(0.0)), Ok(None));
        assert_eq!(load_factor(Watts(0.0), Watts(0.0)), Ok(None));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        let none = Watts(f64::NAN);
        assert!(demand_factor(none, Watts(1.0)).is_err());
        assert!(diversity_factor(&[none], Watts(1.0)).is_err());
        assert!(coincidence_factor(&[Watts(1.0)], none).is_err());
        assert!(load_factor(Watts(1.0), none).is_err());
        assert!(loss_factor(f64::INFINITY).is_err());
    }
}
