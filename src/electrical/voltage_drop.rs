//! Voltage drop along a cable.

use num_complex::Complex64;

use super::conductor::Material;
use super::{NotFinite, PowerFactor, finite::finite};
use units::{Amperes, Volts};

/// Reactance of a conductor where none is known, per metre. (Ω/m)
pub const REACTANCE_PER_METRE: f64 = 0.08e-3;

/// A voltage drop that cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum VoltageDropError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A cable has a length and a cross-sectional area.
    #[error("{0} must be above 0, found {1}")]
    NotPositive(&'static str, f64),
    /// A magnitude is not negative.
    #[error("rms current must not be negative, found {0} A")]
    NegativeCurrent(f64),
}

/// Which conductors carry the current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Path {
    /// Three phases, equally loaded: nothing returns in the neutral (b = 1).
    ThreePhase,
    /// Out and back through conductors of one cross-sectional area (b = 2).
    SinglePhase,
}

/// A run of cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    /// Material, for its resistivity at operating temperature.
    pub material: Material,
    /// Length, one way. (m)
    pub length_m: f64,
    /// Cross-sectional area. (mm²)
    pub section_mm2: f64,
}

/// Resistivity of a conductor in normal service, at its operating temperature (Ω·mm²/m).
///
/// 1.25 times that at 20 °C: a temperature factor must not be put on top of it.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `ρ_1` | resistivity in normal service | Ω·mm²/m | |
///
/// # Source
///
/// IEC 60364-5-52:2009, annex G: 0.0225 for copper, 0.036 for aluminium.
///
/// # Examples
///
/// ```
/// use electrical::{Material, service_resistivity};
/// assert_eq!(service_resistivity(Material::Copper), 0.0225);
/// ```
#[must_use]
pub const fn service_resistivity(material: Material) -> f64 {
    match material {
        Material::Copper => 0.0225,
        Material::Aluminium => 0.036,
    }
}

/// Impedance of one conductor of a run in normal service (Ω).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `ρ_1` | resistivity in normal service | Ω·mm²/m | |
/// | `L` | length, one way | m | 0 or above |
/// | `S` | cross-sectional area | mm² | above 0 |
/// | `λ` | reactance per length, 0.08 mΩ/m | Ω/m | |
/// | `Z` | impedance of one conductor | Ω | |
///
/// # Formula
///
/// ```text
/// Z = ρ_1 · L/S + j · λ · L
/// ```
///
/// # Source
///
/// IEC 60364-5-52:2009, annex G.
///
/// # Errors
///
/// [`VoltageDropError`] for a cross-sectional area not above 0 or a negative length.
///
/// # Examples
///
/// 100 m of 10 mm² copper:
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{Material, Run, run_impedance};
/// let run = Run { material: Material::Copper, length_m: 100.0, section_mm2: 10.0 };
/// let z = run_impedance(run)?;
/// assert_relative_eq!(z.re, 0.225, max_relative = 1e-12);
/// assert_relative_eq!(z.im, 0.008, max_relative = 1e-12);
/// # Ok::<(), electrical::VoltageDropError>(())
/// ```
pub fn run_impedance(run: Run) -> Result<Complex64, VoltageDropError> {
    finite("length [m]", run.length_m)?;
    finite("cross-sectional area [mm²]", run.section_mm2)?;
    if run.section_mm2 <= 0.0 {
        return Err(VoltageDropError::NotPositive(
            "cross-sectional area [mm²]",
            run.section_mm2,
        ));
    }
    if run.length_m < 0.0 {
        return Err(VoltageDropError::NotPositive("length [m]", run.length_m));
    }
    Ok(Complex64::new(
        service_resistivity(run.material) * run.length_m / run.section_mm2,
        REACTANCE_PER_METRE * run.length_m,
    ))
}

/// Voltage drop between phase and neutral along a run (V).
///
/// Times √3 it is the drop between lines. A leading current is taken with a negative sin φ.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `b` | 1 for three phases, 2 for one | 1 | |
/// | `ρ_1`, `L`, `S`, `λ` | resistivity in service, length, cross-sectional area, reactance per length | | see [`run_impedance`] |
/// | `φ` | angle of the load, positive when lagging | rad | |
/// | `I_B` | design current | A | 0 or above |
/// | `u` | voltage drop, phase to neutral | V | |
///
/// # Formula
///
/// ```text
/// u = b · (ρ_1 · (L/S) · cos φ + λ · L · sin φ) · I_B
/// ```
///
/// # Source
///
/// IEC 60364-5-52:2009, annex G.
///
/// # Errors
///
/// [`VoltageDropError`].
///
/// # Examples
///
/// 16 A through 30 m of 2.5 mm² copper and back:
///
/// ```
/// # use approx::assert_relative_eq;
/// # use electrical::{Material, Path, PowerFactor, Run, voltage_drop};
/// # use units::Amperes;
/// let run = Run { material: Material::Copper, length_m: 30.0, section_mm2: 2.5 };
/// let u = voltage_drop(Path::SinglePhase, run, Amperes(16.0), PowerFactor::UNITY)?;
/// assert_relative_eq!(u.0, 8.64, max_relative = 1e-12);
/// # Ok::<(), electrical::VoltageDropError>(())
/// ```
pub fn voltage_drop(
    path: Path,
    run: Run,
    current: Amperes,
    power_factor: PowerFactor,
) -> Result<Volts, VoltageDropError> {
    finite("rms current [A]", current.0)?;
    if current.0 < 0.0 {
        return Err(VoltageDropError::NegativeCurrent(current.0));
    }
    let z = run_impedance(run)?;
    let b = match path {
        Path::ThreePhase => 1.0,
        Path::SinglePhase => 2.0,
    };
    let per_ampere = z.re * power_factor.value() + z.im * power_factor.reactive_factor();
    Ok(Volts(b * per_ampere * current.0))
}

/// Largest voltage drop from the origin of an installation to its loads (%).
///
/// Guidance: the designer and the local code may set others.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `L` | length of the wiring | m | 0 or above |
/// | `Δu` | largest drop | % of `U_0` | |
///
/// # Formula
///
/// ```text
/// Δu = base + min(0.005 · max(L − 100, 0), 0.5)
/// base: public supply 3 (lighting), 5 (other); private supply 6, 8
/// ```
///
/// # Source
///
/// IEC 60364-5-52, table G.52.1 (restated in secondary texts, some of which print 4 % for lighting).
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::usual_drop_limit_pct;
/// assert_relative_eq!(usual_drop_limit_pct(false, true, 40.0), 3.0);
/// assert_relative_eq!(usual_drop_limit_pct(true, false, 160.0), 8.3);
/// ```
#[must_use]
pub fn usual_drop_limit_pct(private_supply: bool, lighting: bool, length_m: f64) -> f64 {
    let base = match (private_supply, lighting) {
        (false, true) => 3.0,
        (false, false) => 5.0,
        (true, true) => 6.0,
        (true, false) => 8.0,
    };
    base + (0.005 * (length_m - 100.0).max(0.0)).min(0.5)
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    const RUN: Run = Run {
        material: Material::Copper,
        length_m: 50.0,
        section_mm2: 35.0,
    };

    #[test]
    fn a_leading_current_drops_less() -> Result<(), Box<dyn std::error::Error>> {
        let amps = Amperes(100.0);
        let lag = voltage_drop(Path::ThreePhase, RUN, amps, PowerFactor::lagging(0.8)?)?;
        let lead = voltage_drop(Path::ThreePhase, RUN, amps, PowerFactor::leading(0.8)?)?;
        // 2 · λ · L · sin φ · I = 2 · 0.08e-3 · 50 · 0.6 · 100 = 0.48 V between the two.
        assert_relative_eq!(lag.0 - lead.0, 0.48, max_relative = 1e-9);
        Ok(())
    }

    #[test]
    fn no_section_and_no_number_are_refused() {
        let none = Run {
            section_mm2: 0.0,
            ..RUN
        };
        assert!(run_impedance(none).is_err());
        let back = Run {
            length_m: -1.0,
            ..RUN
        };
        assert!(run_impedance(back).is_err());
        let drop = |amps| voltage_drop(Path::ThreePhase, RUN, Amperes(amps), PowerFactor::UNITY);
        assert!(drop(-1.0).is_err() && drop(f64::NAN).is_err());
    }
}
