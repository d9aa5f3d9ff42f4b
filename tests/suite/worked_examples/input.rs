//! How the golden files write phasors and loads.

use num_complex::Complex64;
use serde::Deserialize;
use tapoff::electrical::{
    Phase, PowerFactor, current_from_power, current_from_power_factor, phase_currents_to_neutral,
    power_of_apparent,
};
use tapoff::units::{Amperes, VoltAmperes, Volts};

use super::{Figures, Outcome};
use crate::tolerance::{IDENTITY_RELATIVE, close};

/// `[size, degrees]` or `{ re, im }`.
#[derive(Deserialize, Clone, Copy)]
#[serde(untagged, deny_unknown_fields)]
pub(super) enum Phasor {
    Polar([f64; 2]),
    Parts { re: f64, im: f64 },
}

impl Phasor {
    pub(super) fn value(self) -> Complex64 {
        match self {
            Phasor::Polar([size, degrees]) => Complex64::from_polar(size, degrees.to_radians()),
            Phasor::Parts { re, im } => Complex64::new(re, im),
        }
    }
}

pub(super) fn values<const N: usize>(phasors: &[Phasor; N]) -> [Complex64; N] {
    phasors.map(Phasor::value)
}

/// A load between phase and neutral.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StarLoad {
    apparent_kva: f64,
    power_factor: f64,
    #[serde(default)]
    leading: bool,
}

/// Phase currents of one load on each phase, in the common frame.
pub(super) fn star_currents(loads: &[StarLoad; 3], volts: f64) -> Outcome<[Complex64; 3]> {
    let mut currents = [Complex64::ZERO; 3];
    for (phase, load) in Phase::ALL.into_iter().zip(loads) {
        let power_factor = if load.leading {
            PowerFactor::leading(load.power_factor)?
        } else {
            PowerFactor::lagging(load.power_factor)?
        };
        let (p, q) = power_of_apparent(VoltAmperes::from_kilo(load.apparent_kva), power_factor)?;
        let own = current_from_power(p, q, Volts(volts))?;
        // By its magnitude and power factor it is the same current.
        let again = current_from_power_factor(Amperes(own.norm()), power_factor)?;
        assert!(
            close((own - again).norm(), 0.0, IDENTITY_RELATIVE),
            "{own} {again}"
        );
        let phases = phase_currents_to_neutral(phase, own);
        currents[phase.index()] = phases[phase.index()];
    }
    Ok(currents)
}

/// Adds size and angle of a phasor under `name_a` and `name_deg`.
pub(super) fn put_polar(figures: &mut Figures, name: &str, phasor: Complex64) {
    figures.insert(format!("{name}_a"), phasor.norm());
    figures.insert(format!("{name}_deg"), phasor.arg().to_degrees());
}

pub(super) fn named<const N: usize>(figures: [(&str, f64); N]) -> Figures {
    figures.map(|(name, value)| (name.to_owned(), value)).into()
}
