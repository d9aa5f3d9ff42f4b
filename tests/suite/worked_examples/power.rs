//! Power, apparent power, power factor and its correction, harmonics.

use num_complex::Complex64;
use serde::Deserialize;
use tapoff::electrical::{
    PhasePair, PowerFactor, apparent_power, apparent_power_at, arithmetic_apparent_power,
    capacitance_uf, complex_power, correction_power, current_from_power, delta_currents,
    effective_apparent_power, line_currents_of_delta, phase_currents_between, phase_voltage,
    phase_voltage_phasors, power_of_apparent, power_of_two_wattmeters, two_wattmeter_readings,
    vector_apparent_power,
};
use tapoff::units::{Vars, VoltAmperes, Volts, Watts};

use super::harmonics::{distorted, distorted_inductive, rms_of_peaks};
use super::input::{Phasor, StarLoad, named, star_currents, values};
use super::neutral::delta;
use super::{Figures, Outcome, Worked};

#[derive(Deserialize)]
#[serde(tag = "check", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Input {
    Wattmeters {
        reading_kw: [f64; 2],
        line_voltage_v: Option<f64>,
        efficiency: Option<f64>,
    },
    WattmeterReadings {
        total_kw: f64,
        power_factor: f64,
    },
    WattmetersStarDelta {
        line_voltage_v: f64,
        impedance: Phasor,
    },
    DeltaImpedances {
        voltages: [Phasor; 3],
        impedances: [Phasor; 3],
    },
    Correction {
        active_kw: f64,
        now: f64,
        wanted: f64,
        /// Three branches in delta, each of so many equal capacitors in series.
        line_voltage_v: Option<f64>,
        in_series: Option<f64>,
    },
    DemandWithCapacitor {
        apparent_kva: f64,
        power_factor: f64,
        capacitor_kvar: f64,
    },
    CapacitorCurrent {
        voltage_v: f64,
        current_a: f64,
        now: f64,
        wanted: f64,
    },
    CurrentCut {
        original: f64,
        now: f64,
        wanted: f64,
    },
    ApparentAt {
        active_kw: f64,
        power_factor: f64,
    },
    DefinitionsCurrents {
        phase_voltage_v: f64,
        currents: [Phasor; 3],
    },
    DefinitionsBetween {
        line_voltage_v: f64,
        current_a: f64,
    },
    DefinitionsLoads {
        phase_voltage_v: f64,
        loads: [StarLoad; 3],
    },
    Distorted {
        voltage_peak: Vec<Phasor>,
        current_peak: Vec<Phasor>,
    },
    DistortedInductive {
        voltage_peak: Vec<f64>,
        order: Vec<u8>,
        omega_rad_s: f64,
        resistance_ohm: f64,
        inductance_mh: f64,
    },
    RmsOfPeaks {
        current_peak_a: Vec<f64>,
        resistance_ohm: Option<f64>,
    },
}

impl Worked for Input {
    fn figures(&self) -> Outcome<Figures> {
        match self {
            Input::Wattmeters {
                reading_kw,
                line_voltage_v,
                efficiency,
            } => wattmeters(*reading_kw, *line_voltage_v, *efficiency),
            Input::WattmeterReadings {
                total_kw,
                power_factor,
            } => {
                let total = Watts::from_kilo(*total_kw);
                let [w_1, w_2] =
                    two_wattmeter_readings(total, PowerFactor::lagging(*power_factor)?)?;
                Ok(named([("w1_kw", w_1.kilo()), ("w2_kw", w_2.kilo())]))
            }
            Input::WattmetersStarDelta {
                line_voltage_v,
                impedance,
            } => star_delta(Volts(*line_voltage_v), impedance.value()),
            Input::DeltaImpedances {
                voltages,
                impedances,
            } => wattmeters_on_delta(values(voltages), values(impedances)),
            Input::Correction {
                active_kw,
                now,
                wanted,
                line_voltage_v,
                in_series,
            } => {
                let kvar = correction(Watts::from_kilo(*active_kw), *now, *wanted)?.kilo();
                let mut figures = named([("kvar", kvar), ("kvar_per_phase", kvar / 3.0)]);
                if let (Some(volts), Some(in_series)) = (line_voltage_v, in_series) {
                    let branch = capacitance_uf(Vars::from_kilo(kvar / 3.0), Volts(*volts), 50.0)?;
                    figures.insert("each_uf".to_owned(), branch * in_series);
                }
                Ok(figures)
            }
            Input::DemandWithCapacitor {
                apparent_kva,
                power_factor,
                capacitor_kvar,
            } => demand_with_capacitor(*apparent_kva, *power_factor, *capacitor_kvar),
            Input::CapacitorCurrent {
                voltage_v,
                current_a,
                now,
                wanted,
            } => {
                let q = correction(Watts(voltage_v * current_a * now), *now, *wanted)?;
                let i = current_from_power(Watts(0.0), Vars(-q.0), Volts(*voltage_v))?;
                Ok(named([
                    ("capacitor_a", i.im),
                    (
                        "capacitance_uf",
                        capacitance_uf(q, Volts(*voltage_v), 50.0)?,
                    ),
                ]))
            }
            Input::CurrentCut {
                original,
                now,
                wanted,
            } => {
                let [original, now, wanted] = [
                    kva_of_a_kilowatt(*original)?,
                    kva_of_a_kilowatt(*now)?,
                    kva_of_a_kilowatt(*wanted)?,
                ];
                Ok(named([("cut_pct", 100.0 * (now - wanted) / original)]))
            }
            Input::ApparentAt {
                active_kw,
                power_factor,
            } => {
                let kva = active_kw * kva_of_a_kilowatt(*power_factor)?;
                Ok(named([("apparent_kva", kva)]))
            }
            Input::DefinitionsCurrents {
                phase_voltage_v,
                currents,
            } => definitions(Volts(*phase_voltage_v), values(currents)),
            Input::DefinitionsBetween {
                line_voltage_v,
                current_a,
            } => {
                let own = Complex64::from(*current_a);
                let currents = phase_currents_between(PhasePair::L1L2, own);
                definitions(phase_voltage(Volts(*line_voltage_v))?, currents)
            }
            Input::DefinitionsLoads {
                phase_voltage_v,
                loads,
            } => definitions(
                Volts(*phase_voltage_v),
                star_currents(loads, *phase_voltage_v)?,
            ),
            Input::Distorted {
                voltage_peak,
                current_peak,
            } => {
                let peaks = |list: &[Phasor]| -> Vec<Complex64> {
                    list.iter().map(|peak| peak.value()).collect()
                };
                distorted(&peaks(voltage_peak), &peaks(current_peak))
            }
            Input::DistortedInductive {
                voltage_peak,
                order,
                omega_rad_s,
                resistance_ohm,
                inductance_mh,
            } => {
                let reactance = omega_rad_s * inductance_mh / 1000.0;
                distorted_inductive(voltage_peak, order, *resistance_ohm, reactance)
            }
            Input::RmsOfPeaks {
                current_peak_a,
                resistance_ohm,
            } => rms_of_peaks(current_peak_a, *resistance_ohm),
        }
    }
}

fn wattmeters(
    reading_kw: [f64; 2],
    line_voltage_v: Option<f64>,
    efficiency: Option<f64>,
) -> Outcome<Figures> {
    let [w_1, w_2] = reading_kw.map(Watts::from_kilo);
    let (p, q) = power_of_two_wattmeters(w_1, w_2)?;
    let factor = p.0 / apparent_power(p, q)?.0;
    let mut figures = named([("total_kw", p.kilo()), ("power_factor", factor)]);
    if let Some(volts) = line_voltage_v {
        let third = 1.0 / 3.0;
        let own = current_from_power(p * third, q * third, phase_voltage(Volts(volts))?)?;
        figures.insert("line_a".to_owned(), own.norm());
    }
    if let Some(efficiency) = efficiency {
        figures.insert("shaft_kw".to_owned(), efficiency * p.kilo());
    }
    Ok(figures)
}

fn star_delta(line: Volts, z: Complex64) -> Outcome<Figures> {
    let star_voltage = Complex64::from(phase_voltage(line)?.0);
    let delta_voltage = Complex64::from(line.0);
    let mut figures = Figures::new();
    for (name, u) in [("star", star_voltage), ("delta", delta_voltage)] {
        let s = complex_power(u, u / z) * 3.0;
        let power_factor = PowerFactor::lagging(s.re / s.norm())?;
        let [w_1, w_2] = two_wattmeter_readings(Watts(s.re), power_factor)?;
        figures.insert(format!("{name}_w1_w"), w_1.0);
        figures.insert(format!("{name}_w2_w"), w_2.0);
    }
    Ok(figures)
}

/// What wattmeters show that have their current in one line and their voltage from it to another.
fn wattmeters_on_delta(u: [Complex64; 3], z: [Complex64; 3]) -> Outcome<Figures> {
    let mut figures = delta(u, z)?;
    let [u_12, u_23, u_31] = u;
    let [i_1, i_2, i_3] = line_currents_of_delta(delta_currents(u, z)?);
    for (name, voltage, current) in [
        ("w_l1_to_l2", u_12, i_1),
        ("w_l3_to_l2", -u_23, i_3),
        ("w_l1_to_l3", -u_31, i_1),
        ("w_l2_to_l3", u_23, i_2),
    ] {
        figures.insert(name.to_owned(), complex_power(voltage, current).re);
    }
    Ok(figures)
}

fn correction(p: Watts, now: f64, wanted: f64) -> Outcome<Vars> {
    let (now, wanted) = (PowerFactor::lagging(now)?, PowerFactor::lagging(wanted)?);
    Ok(correction_power(p, now, wanted)?)
}

fn demand_with_capacitor(kva: f64, power_factor: f64, kvar: f64) -> Outcome<Figures> {
    let before = VoltAmperes::from_kilo(kva);
    let (p, q) = power_of_apparent(before, PowerFactor::lagging(power_factor)?)?;
    let after = apparent_power(p, q - Vars::from_kilo(kvar))?;
    Ok(named([
        ("apparent_kva", after.kilo()),
        ("reduction_kva", (before - after).kilo()),
    ]))
}

fn kva_of_a_kilowatt(power_factor: f64) -> Outcome<f64> {
    let power_factor = PowerFactor::lagging(power_factor)?;
    Ok(apparent_power_at(Watts::from_kilo(1.0), power_factor)?.kilo())
}

fn definitions(phase: Volts, currents: [Complex64; 3]) -> Outcome<Figures> {
    let u = phase_voltage_phasors(phase)?;
    let active: f64 = (0..3).map(|k| complex_power(u[k], currents[k]).re).sum();
    let vector = vector_apparent_power(u, currents)?.0;
    let arithmetic = arithmetic_apparent_power(u, currents)?.0;
    let effective = effective_apparent_power(u, currents)?.0;
    Ok(named([
        ("active_w", active),
        ("vector_va", vector),
        ("arithmetic_va", arithmetic),
        ("effective_va", effective),
        ("vector_pf", active / vector),
        ("arithmetic_pf", active / arithmetic),
        ("effective_pf", active / effective),
    ]))
}
