//! Resistance of copper and aluminium conductors.

use super::{NotFinite, finite::finite};

/// Conductor material.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Plain annealed copper.
    Copper,
    /// Aluminium or aluminium alloy.
    Aluminium,
}

/// How a conductor is built (IEC 60228).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Build {
    /// Class 1 solid or class 2 stranded, for fixed wiring.
    Fixed,
    /// Class 5, for flexible cables; copper only.
    Flexible,
}

/// A resistance that cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ConductorError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// Resistances and coefficients are above 0.
    #[error("{0} must be above 0, found {1}")]
    NotPositive(&'static str, f64),
}

const COPPER: [(f64, f64); 19] = [
    (1.5, 12.1),
    (2.5, 7.41),
    (4.0, 4.61),
    (6.0, 3.08),
    (10.0, 1.83),
    (16.0, 1.15),
    (25.0, 0.727),
    (35.0, 0.524),
    (50.0, 0.387),
    (70.0, 0.268),
    (95.0, 0.193),
    (120.0, 0.153),
    (150.0, 0.124),
    (185.0, 0.0991),
    (240.0, 0.0754),
    (300.0, 0.0601),
    (400.0, 0.0470),
    (500.0, 0.0366),
    (630.0, 0.0283),
];

const ALUMINIUM: [(f64, f64); 11] = [
    (10.0, 3.08),
    (16.0, 1.91),
    (25.0, 1.20),
    (35.0, 0.868),
    (50.0, 0.641),
    (70.0, 0.443),
    (95.0, 0.320),
    (120.0, 0.253),
    (150.0, 0.206),
    (185.0, 0.164),
    (240.0, 0.125),
];

const FLEXIBLE: [(f64, f64); 8] = [
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
];

/// Largest resistance of a conductor at 20 °C (Ω/km).
///
/// `None` for a section that the table does not name, and for flexible aluminium.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `S` | nominal cross-sectional area | mm² | one of the table |
/// | `R_20` | largest direct-current resistance at 20 °C | Ω/km | |
///
/// # Source
///
/// IEC 60228:2004, *Conductors of insulated cables*, tables 1 to 3.
///
/// # Examples
///
/// ```
/// use electrical::{Build, Material, conductor_resistance};
/// assert_eq!(conductor_resistance(Material::Copper, Build::Fixed, 2.5), Some(7.41));
/// assert_eq!(conductor_resistance(Material::Copper, Build::Flexible, 2.5), Some(7.98));
/// assert_eq!(conductor_resistance(Material::Aluminium, Build::Fixed, 2.5), None);
/// ```
#[must_use]
pub fn conductor_resistance(material: Material, build: Build, section_mm2: f64) -> Option<f64> {
    let table: &[(f64, f64)] = match (material, build) {
        (Material::Copper, Build::Fixed) => &COPPER,
        (Material::Copper, Build::Flexible) => &FLEXIBLE,
        (Material::Aluminium, Build::Fixed) => &ALUMINIUM,
        (Material::Aluminium, Build::Flexible) => &[],
    };
    table
        .iter()
        .find(|(section, _)| (section - section_mm2).abs() < 1e-9)
        .map(|&(_, resistance)| resistance)
}

/// Resistance at another temperature (unit of the resistance given).
///
/// The coefficient belongs to its reference temperature: `α_0` and `α_20` are not interchangeable.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `R_r` | resistance at the reference temperature | Ω, Ω/km | above 0 |
/// | `α_r` | temperature coefficient at the reference temperature | 1/K | above 0 |
/// | `t_r`, `t` | reference temperature, wanted temperature | °C | finite |
/// | `R_t` | resistance at `t` | as `R_r` | |
///
/// # Formula
///
/// ```text
/// R_t = R_r · (1 + α_r · (t − t_r))
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, pp. 27–29; for
/// conductors IEC 60287-1-1 gives α_20 = 0.00393 (copper) and 0.00403 (aluminium) per kelvin.
///
/// # Errors
///
/// [`ConductorError`] for what is not finite or not above 0.
///
/// # Examples
///
/// Copper at 70 °C has 1.1965 times its resistance at 20 °C:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::resistance_at;
/// let warm = resistance_at(1.0, 0.00393, 20.0, 70.0)?;
/// assert_relative_eq!(warm, 1.1965, max_relative = 1e-12);
/// # Ok::<(), electrical::ConductorError>(())
/// ```
pub fn resistance_at(
    reference: f64,
    coefficient: f64,
    reference_temperature: f64,
    temperature: f64,
) -> Result<f64, ConductorError> {
    positive("resistance", reference)?;
    positive("temperature coefficient [1/K]", coefficient)?;
    finite("reference temperature [°C]", reference_temperature)?;
    finite("temperature [°C]", temperature)?;
    Ok(reference * (1.0 + coefficient * (temperature - reference_temperature)))
}

/// Factor that takes a resistance measured at some temperature to 20 °C (1).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `t` | temperature at which it was measured | °C | finite |
/// | `k_t` | R_20 / R_t | 1 | |
///
/// # Formula
///
/// ```text
/// k_t = 1 / (1 + 0.004 · (t − 20))
/// ```
///
/// # Source
///
/// IEC 60228:2004, temperature correction table, which rounds the coefficient of copper and
/// aluminium to 0.004 per kelvin.
///
/// # Errors
///
/// [`ConductorError::NotFinite`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::factor_to_20_degrees;
/// assert_relative_eq!(factor_to_20_degrees(30.0)?, 0.962, max_relative = 5e-4);
/// # Ok::<(), electrical::ConductorError>(())
/// ```
pub fn factor_to_20_degrees(temperature: f64) -> Result<f64, ConductorError> {
    finite("temperature [°C]", temperature)?;
    Ok(1.0 / (1.0 + 0.004 * (temperature - 20.0)))
}

/// Temperature of a winding or conductor from its resistance (°C).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `R_r`, `R_t` | resistance at the reference temperature and now | Ω | above 0 |
/// | `α_r` | temperature coefficient at the reference temperature | 1/K | above 0 |
/// | `t_r`, `t` | reference temperature, temperature now | °C | finite |
///
/// # Formula
///
/// ```text
/// t = t_r + (R_t/R_r − 1) / α_r
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, p. 28.
///
/// # Errors
///
/// [`ConductorError`] for what is not finite or not above 0.
///
/// # Examples
///
/// 200 Ω at 18 °C that have become 240 Ω, α = 0.0039 per kelvin:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::temperature_from_resistance;
/// let t = temperature_from_resistance(200.0, 240.0, 0.0039, 18.0)?;
/// assert_relative_eq!(t, 69.28, max_relative = 1e-4);
/// # Ok::<(), electrical::ConductorError>(())
/// ```
pub fn temperature_from_resistance(
    reference: f64,
    now: f64,
    coefficient: f64,
    reference_temperature: f64,
) -> Result<f64, ConductorError> {
    positive("resistance", reference)?;
    positive("resistance", now)?;
    positive("temperature coefficient [1/K]", coefficient)?;
    finite("reference temperature [°C]", reference_temperature)?;
    Ok(reference_temperature + (now / reference - 1.0) / coefficient)
}

fn positive(quantity: &'static str, value: f64) -> Result<(), ConductorError> {
    finite(quantity, value)?;
    if value > 0.0 {
        Ok(())
    } else {
        Err(ConductorError::NotPositive(quantity, value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_section_between_two_sizes_has_no_resistance() {
        assert_eq!(
            conductor_resistance(Material::Copper, Build::Fixed, 3.0),
            None
        );
        assert_eq!(
            conductor_resistance(Material::Aluminium, Build::Flexible, 16.0),
            None
        );
    }

    #[test]
    fn what_is_no_resistance_is_refused() {
        assert!(resistance_at(0.0, 0.004, 20.0, 70.0).is_err());
        assert!(resistance_at(1.0, 0.004, f64::NAN, 70.0).is_err());
        assert!(temperature_from_resistance(1.0, -1.0, 0.004, 20.0).is_err());
        assert!(factor_to_20_degrees(f64::INFINITY).is_err());
    }
}
