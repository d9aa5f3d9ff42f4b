//! Currents of star and delta loads and of the neutral.

use num_complex::Complex64;
use serde::Deserialize;
use tapoff::electrical::{
    Phase, SymmetricalComponents, balanced_third_harmonic_ratio, current_from_power,
    delta_currents, in_common_frame, line_currents_of_delta, neutral_current,
    neutral_with_third_harmonic, phase_voltage, phase_voltage_phasors, rms_of_harmonics,
    split_third_harmonic,
};
use tapoff::units::{Amperes, Vars, Volts, Watts};

use super::input::{Phasor, StarLoad, named, put_polar, star_currents, values};
use super::{Figures, Outcome, Worked};
use crate::tolerance::{IDENTITY_RELATIVE, close};

#[derive(Deserialize)]
#[serde(tag = "check", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Input {
    Heaters {
        phase_voltage_v: f64,
        power_kw: [f64; 3],
    },
    CurrentsInPhase {
        current_a: [f64; 3],
    },
    StarLoads {
        phase_voltage_v: f64,
        loads: [StarLoad; 3],
    },
    StarImpedances {
        voltages: [Phasor; 3],
        impedances: [Phasor; 3],
    },
    Phasors {
        phasors: [Phasor; 3],
    },
    Sequences {
        positive: Phasor,
        negative: Phasor,
        neutral: Phasor,
    },
    DeltaImpedances {
        voltages: [Phasor; 3],
        impedances: [Phasor; 3],
    },
    DeltaCorner {
        voltages: [Phasor; 2],
        impedances: [Phasor; 2],
    },
    StarAndDelta {
        line_voltage_v: f64,
        impedance: Phasor,
    },
    ThirdHarmonic {
        third_harmonic_pct: f64,
    },
    CurrentsApartInTime {
        current_a: [f64; 3],
    },
}

impl Worked for Input {
    fn figures(&self) -> Outcome<Figures> {
        match self {
            Input::Heaters {
                phase_voltage_v,
                power_kw,
            } => heaters(*phase_voltage_v, *power_kw),
            Input::CurrentsInPhase { current_a } => star(in_phase(*current_a)),
            Input::StarLoads {
                phase_voltage_v,
                loads,
            } => star(star_currents(loads, *phase_voltage_v)?),
            Input::StarImpedances {
                voltages,
                impedances,
            } => {
                let (u, z) = (values(voltages), values(impedances));
                star([0, 1, 2].map(|phase| u[phase] / z[phase]))
            }
            Input::Phasors { phasors } => sequences(values(phasors)),
            Input::Sequences {
                positive,
                negative,
                neutral,
            } => star(
                SymmetricalComponents {
                    zero: neutral.value() / 3.0,
                    positive: positive.value(),
                    negative: negative.value(),
                }
                .phasors(),
            ),
            Input::DeltaImpedances {
                voltages,
                impedances,
            } => delta(values(voltages), values(impedances)),
            Input::DeltaCorner {
                voltages,
                impedances,
            } => delta_corner(values(voltages), values(impedances)),
            Input::StarAndDelta {
                line_voltage_v,
                impedance,
            } => star_and_delta(Volts(*line_voltage_v), impedance.value()),
            Input::ThirdHarmonic { third_harmonic_pct } => {
                third_harmonic(third_harmonic_pct / 100.0)
            }
            Input::CurrentsApartInTime { current_a } => {
                Ok(named([("neutral_a", rms_of_harmonics(current_a)?)]))
            }
        }
    }
}

fn heaters(volts: f64, power_kw: [f64; 3]) -> Outcome<Figures> {
    let mut amps = [0.0; 3];
    for (amps, kilowatts) in amps.iter_mut().zip(power_kw) {
        let own = current_from_power(Watts::from_kilo(kilowatts), Vars(0.0), Volts(volts))?;
        *amps = own.re;
    }
    star(in_phase(amps))
}

fn in_phase(amps: [f64; 3]) -> [Complex64; 3] {
    Phase::ALL.map(|phase| in_common_frame(Complex64::from(amps[phase.index()]), phase))
}

fn star(phases: [Complex64; 3]) -> Outcome<Figures> {
    let mut figures = Figures::new();
    for (name, phasor) in ["l1", "l2", "l3"].iter().zip(phases) {
        put_polar(&mut figures, name, phasor);
    }
    let neutral = neutral_current(phases)?;
    put_polar(&mut figures, "neutral", neutral);
    put_polar(&mut figures, "neutral_from_source", -neutral);
    Ok(figures)
}

pub(super) fn sequences(phasors: [Complex64; 3]) -> Outcome<Figures> {
    let parts = SymmetricalComponents::of(phasors)?;
    let mut figures = star(phasors)?;
    for (name, part) in [
        ("zero", parts.zero),
        ("positive", parts.positive),
        ("negative", parts.negative),
    ] {
        figures.insert(name.to_owned(), part.norm());
        figures.insert(format!("{name}_deg"), part.arg().to_degrees());
        figures.insert(format!("{name}_re"), part.re);
        figures.insert(format!("{name}_im"), part.im);
    }
    Ok(figures)
}

pub(super) fn delta(u: [Complex64; 3], z: [Complex64; 3]) -> Outcome<Figures> {
    let branches = delta_currents(u, z)?;
    let mut figures = star(line_currents_of_delta(branches))?;
    for (name, branch) in ["branch_12", "branch_23", "branch_31"].iter().zip(branches) {
        put_polar(&mut figures, name, branch);
    }
    Ok(figures)
}

/// The branch away from the corner does not matter to it; it is left without voltage.
fn delta_corner(u: [Complex64; 2], z: [Complex64; 2]) -> Outcome<Figures> {
    delta([u[0], Complex64::ZERO, u[1]], [z[0], Complex64::ONE, z[1]])
}

fn star_and_delta(line: Volts, z: Complex64) -> Outcome<Figures> {
    let [u_1, u_2, u_3] = phase_voltage_phasors(phase_voltage(line)?)?;
    let branches = delta_currents([u_1 - u_2, u_2 - u_3, u_3 - u_1], [z; 3])?;
    Ok(named([
        ("star_line_a", (u_1 / z).norm()),
        ("delta_branch_a", branches[0].norm()),
        ("delta_line_a", line_currents_of_delta(branches)[0].norm()),
    ]))
}

/// The balanced load's neutral by the ratio, and by its parts: both must agree with the source.
fn third_harmonic(share: f64) -> Outcome<Figures> {
    let (first, third) = split_third_harmonic(Amperes(1.0), share)?;
    let neutral = neutral_with_third_harmonic(Complex64::ZERO, third * 3.0)?;
    let ratio = balanced_third_harmonic_ratio(share)?;
    assert!(
        close(neutral.0, ratio, IDENTITY_RELATIVE),
        "{neutral} against {ratio}"
    );
    Ok(named([
        ("neutral_of_phase_rms_pct", 100.0 * ratio),
        ("neutral_of_fundamental_pct", 100.0 * neutral.0 / first.0),
    ]))
}
