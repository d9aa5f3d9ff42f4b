//! Cables: resistance, voltage drop, third harmonics, overload protection, diversity.

use serde::Deserialize;
use tapoff::electrical::{
    BreakerType, Build, DecidedBy, LoadGroup, Material, OverloadDevice, Path, PowerFactor, Run,
    assumed_loading, capacity_with_third_harmonic, conductor_resistance, conventional_currents,
    demand_with_diversity, factor_to_20_degrees, instantaneous_range, least_protected_capacity,
    next_rating, resistance_at, run_impedance, temperature_from_resistance, usual_drop_limit_pct,
    voltage_drop,
};
use tapoff::units::Amperes;

use super::input::named;
use super::{Figures, Outcome, Worked};

#[derive(Deserialize)]
#[serde(tag = "check", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Input {
    Resistances {
        material: MaterialName,
        build: BuildName,
        section_mm2: Vec<f64>,
    },
    TemperatureFactors {
        temperature_c: Vec<f64>,
    },
    ResistanceAt {
        reference: f64,
        coefficient: f64,
        reference_c: f64,
        temperature_c: f64,
    },
    #[serde(rename = "resistance-by-coefficient-at-0")]
    ResistanceByCoefficientAt0 {
        reference: f64,
        coefficient: f64,
        reference_c: f64,
        temperature_c: f64,
    },
    TemperatureFromResistance {
        reference: f64,
        now: f64,
        coefficient: f64,
        reference_c: f64,
    },
    DropConstants,
    DropCoefficients {
        section_mm2: f64,
        running: f64,
        starting: f64,
    },
    DropToAMotor(Motor),
    Drop {
        path: PathName,
        length_m: f64,
        section_mm2: f64,
        current_a: f64,
        power_factor: f64,
        phase_voltage_v: f64,
    },
    DropLimits {
        extra_at_m: Vec<u32>,
    },
    ReductionFactors {
        share_pct: Vec<u32>,
    },
    HarmonicSizing {
        design_a: f64,
        share_pct: f64,
    },
    SectionFor {
        design_a: f64,
        share_pct: Vec<u32>,
        section_mm2: Vec<f64>,
        capacity_a: Vec<f64>,
    },
    LeastCapacity {
        device: Vec<DeviceName>,
        rated_a: Vec<u32>,
    },
    Conventional {
        device: DeviceName,
        rated_a: Vec<u32>,
    },
    ConventionalAmperes {
        device: DeviceName,
        rated_a: f64,
    },
    Instantaneous {
        rated_a: f64,
    },
    AssumedLoading {
        circuits: Vec<usize>,
    },
    AssumedCurrent {
        circuits: usize,
        rated_a: f64,
    },
    NextRating {
        device: DeviceName,
        above_a: Vec<f64>,
    },
    Diversity {
        group: GroupName,
        current_a: Vec<f64>,
    },
    DiversityShares,
}

/// A motor at the end of a cable, behind a board with a drop of its own.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Motor {
    length_m: f64,
    section_mm2: f64,
    running_a: f64,
    running: f64,
    starting_a: f64,
    starting: f64,
    upstream_v: f64,
    upstream_a: f64,
    line_voltage_v: f64,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
pub(super) enum MaterialName {
    Copper,
    Aluminium,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
pub(super) enum BuildName {
    Fixed,
    Flexible,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
pub(super) enum PathName {
    ThreePhase,
    SinglePhase,
}

#[derive(Deserialize, Clone, Copy)]
pub(super) enum DeviceName {
    #[serde(rename = "fuse-gg")]
    FuseGg,
    #[serde(rename = "breaker-60898")]
    Household,
    #[serde(rename = "breaker-60947")]
    Industrial,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
pub(super) enum GroupName {
    Motors,
}

impl DeviceName {
    fn device(self) -> OverloadDevice {
        match self {
            DeviceName::FuseGg => OverloadDevice::FuseGg,
            DeviceName::Household => OverloadDevice::Breaker60898,
            DeviceName::Industrial => OverloadDevice::Breaker60947,
        }
    }

    fn key(self) -> &'static str {
        match self {
            DeviceName::FuseGg => "fuse_gg",
            DeviceName::Household => "breaker_60898",
            DeviceName::Industrial => "breaker_60947",
        }
    }
}

fn copper(length_m: f64, section_mm2: f64) -> Run {
    Run {
        material: Material::Copper,
        length_m,
        section_mm2,
    }
}

/// Drop between lines of a three-phase run. (V)
fn line_drop(run: Run, amps: f64, power_factor: f64) -> Outcome<f64> {
    let power_factor = PowerFactor::lagging(power_factor)?;
    Ok(voltage_drop(Path::ThreePhase, run, Amperes(amps), power_factor)?.0 * 3.0_f64.sqrt())
}

fn key(prefix: &str, value: f64) -> String {
    format!("{prefix}{value}").replace('.', "_")
}

impl Worked for Input {
    fn figures(&self) -> Outcome<Figures> {
        match self {
            Input::Resistances { .. }
            | Input::TemperatureFactors { .. }
            | Input::ResistanceAt { .. }
            | Input::ResistanceByCoefficientAt0 { .. }
            | Input::TemperatureFromResistance { .. } => self.resistance(),
            Input::DropConstants
            | Input::DropCoefficients { .. }
            | Input::DropToAMotor(_)
            | Input::Drop { .. }
            | Input::DropLimits { .. } => self.drop_figures(),
            Input::ReductionFactors { .. }
            | Input::HarmonicSizing { .. }
            | Input::SectionFor { .. } => self.harmonics(),
            _ => self.protection(),
        }
    }
}

impl Input {
    fn resistance(&self) -> Outcome<Figures> {
        let mut figures = Figures::new();
        match self {
            Input::Resistances {
                material,
                build,
                section_mm2,
            } => {
                let material = match material {
                    MaterialName::Copper => Material::Copper,
                    MaterialName::Aluminium => Material::Aluminium,
                };
                let build = match build {
                    BuildName::Fixed => Build::Fixed,
                    BuildName::Flexible => Build::Flexible,
                };
                for section in section_mm2 {
                    let found = conductor_resistance(material, build, *section);
                    figures.insert(key("mm2_", *section), found.ok_or("not in the table")?);
                }
            }
            Input::TemperatureFactors { temperature_c } => {
                for t in temperature_c {
                    figures.insert(key("at_", *t), factor_to_20_degrees(*t)?);
                }
            }
            Input::ResistanceAt {
                reference,
                coefficient,
                reference_c,
                temperature_c,
            } => {
                let warm = resistance_at(*reference, *coefficient, *reference_c, *temperature_c)?;
                figures.insert("resistance".to_owned(), warm);
            }
            Input::ResistanceByCoefficientAt0 {
                reference,
                coefficient,
                reference_c,
                temperature_c,
            } => {
                // The coefficient belongs to 0 °C: down to there first, then up.
                let of_one_ohm = resistance_at(1.0, *coefficient, 0.0, *reference_c)?;
                let cold = reference / of_one_ohm;
                let warm = resistance_at(cold, *coefficient, 0.0, *temperature_c)?;
                figures.insert("resistance".to_owned(), warm);
            }
            Input::TemperatureFromResistance {
                reference,
                now,
                coefficient,
                reference_c,
            } => {
                let t = temperature_from_resistance(*reference, *now, *coefficient, *reference_c)?;
                figures.insert("temperature_c".to_owned(), t);
            }
            _ => return Err("no resistance".into()),
        }
        Ok(figures)
    }

    fn drop_figures(&self) -> Outcome<Figures> {
        match self {
            Input::DropConstants => drop_constants(),
            Input::DropCoefficients {
                section_mm2,
                running,
                starting,
            } => {
                let run = copper(1000.0, *section_mm2);
                Ok(named([
                    ("running_v_a_km", line_drop(run, 1.0, *running)?),
                    ("starting_v_a_km", line_drop(run, 1.0, *starting)?),
                ]))
            }
            Input::DropToAMotor(motor) => motor.figures(),
            Input::Drop {
                path,
                length_m,
                section_mm2,
                current_a,
                power_factor,
                phase_voltage_v,
            } => {
                let path = match path {
                    PathName::ThreePhase => Path::ThreePhase,
                    PathName::SinglePhase => Path::SinglePhase,
                };
                let power_factor = PowerFactor::lagging(*power_factor)?;
                let run = copper(*length_m, *section_mm2);
                let u = voltage_drop(path, run, Amperes(*current_a), power_factor)?.0;
                Ok(named([
                    ("drop_v", u),
                    ("drop_pct", 100.0 * u / phase_voltage_v),
                ]))
            }
            Input::DropLimits { extra_at_m } => {
                let limit = usual_drop_limit_pct;
                let mut figures = named([
                    ("public_lighting", limit(false, true, 100.0)),
                    ("public_other", limit(false, false, 10.0)),
                    ("private_lighting", limit(true, true, 10.0)),
                    ("private_other", limit(true, false, 10.0)),
                ]);
                for metres in extra_at_m {
                    let extra = limit(false, true, f64::from(*metres)) - limit(false, true, 10.0);
                    figures.insert(format!("extra_{metres}"), extra);
                }
                Ok(figures)
            }
            _ => Err("no drop".into()),
        }
    }

    fn harmonics(&self) -> Outcome<Figures> {
        let mut figures = Figures::new();
        match self {
            Input::ReductionFactors { share_pct } => {
                for share in share_pct {
                    let sizing =
                        capacity_with_third_harmonic(Amperes(1.0), f64::from(*share) / 100.0)?;
                    let by_neutral = sizing.decided_by == DecidedBy::Neutral;
                    figures.insert(format!("factor_{share}"), sizing.factor);
                    figures.insert(
                        format!("by_neutral_{share}"),
                        f64::from(u8::from(by_neutral)),
                    );
                }
            }
            Input::HarmonicSizing {
                design_a,
                share_pct,
            } => {
                let sizing = capacity_with_third_harmonic(Amperes(*design_a), share_pct / 100.0)?;
                figures = named([
                    ("current_a", sizing.current.0),
                    ("needed_a", sizing.needed.0),
                    ("factor", sizing.factor),
                ]);
            }
            Input::SectionFor {
                design_a,
                share_pct,
                section_mm2,
                capacity_a,
            } => {
                for share in share_pct {
                    let needed = capacity_with_third_harmonic(
                        Amperes(*design_a),
                        f64::from(*share) / 100.0,
                    )?
                    .needed;
                    let section = section_mm2
                        .iter()
                        .zip(capacity_a)
                        .find(|(_, capacity)| **capacity >= needed.0);
                    figures.insert(
                        format!("mm2_{share}"),
                        *section.ok_or("none large enough")?.0,
                    );
                }
            }
            _ => return Err("no harmonics".into()),
        }
        Ok(figures)
    }

    fn protection(&self) -> Outcome<Figures> {
        let mut figures = Figures::new();
        match self {
            Input::LeastCapacity { device, rated_a } => {
                for (device, rated) in device.iter().zip(rated_a) {
                    let amps = f64::from(*rated);
                    let capacity = least_protected_capacity(device.device(), Amperes(amps))?.0;
                    figures.insert(format!("{}_{rated}", device.key()), capacity / amps);
                }
            }
            Input::Conventional { device, rated_a } => {
                for rated in rated_a {
                    let amps = f64::from(*rated);
                    let currents = conventional_currents(device.device(), Amperes(amps))?;
                    figures.insert(format!("holds_{rated}"), currents.holds.0 / amps);
                    figures.insert(format!("operates_{rated}"), currents.operates.0 / amps);
                    figures.insert(format!("hours_{rated}"), currents.hours);
                }
            }
            Input::ConventionalAmperes { device, rated_a } => {
                let currents = conventional_currents(device.device(), Amperes(*rated_a))?;
                figures = named([
                    ("holds_a", currents.holds.0),
                    ("operates_a", currents.operates.0),
                ]);
            }
            Input::Instantaneous { rated_a } => {
                for (name, kind) in [
                    ("b", BreakerType::B),
                    ("c", BreakerType::C),
                    ("d", BreakerType::D),
                ] {
                    let [low, high] = instantaneous_range(kind, Amperes(*rated_a));
                    figures.insert(format!("{name}_low"), low.0);
                    figures.insert(format!("{name}_high"), high.0);
                }
            }
            Input::AssumedLoading { circuits } => {
                for count in circuits {
                    figures.insert(format!("of_{count}"), assumed_loading(*count));
                }
            }
            Input::AssumedCurrent { circuits, rated_a } => {
                let sum = *circuits as f64 * rated_a;
                figures.insert("current_a".to_owned(), assumed_loading(*circuits) * sum);
            }
            Input::NextRating { device, above_a } => {
                for (index, above) in above_a.iter().enumerate() {
                    let rated = next_rating(device.device(), Amperes(*above));
                    figures.insert(format!("rating_{index}"), rated.ok_or("none")?.0);
                }
            }
            Input::Diversity {
                group: GroupName::Motors,
                current_a,
            } => {
                let currents: Vec<Amperes> = current_a.iter().copied().map(Amperes).collect();
                let demand = demand_with_diversity(LoadGroup::Motors, &currents);
                figures.insert("demand_a".to_owned(), demand.0);
            }
            Input::DiversityShares => figures = diversity_shares(),
            _ => return Err("no protection".into()),
        }
        Ok(figures)
    }
}

fn drop_constants() -> Outcome<Figures> {
    let run = |material| Run {
        material,
        length_m: 1.0,
        section_mm2: 1.0,
    };
    let copper = run_impedance(run(Material::Copper))?;
    let amp = Amperes(1.0);
    let three = voltage_drop(
        Path::ThreePhase,
        run(Material::Copper),
        amp,
        PowerFactor::UNITY,
    )?;
    let single = voltage_drop(
        Path::SinglePhase,
        run(Material::Copper),
        amp,
        PowerFactor::UNITY,
    )?;
    Ok(named([
        ("copper_resistivity", copper.re),
        (
            "aluminium_resistivity",
            run_impedance(run(Material::Aluminium))?.re,
        ),
        ("reactance_mohm_per_m", copper.im * 1000.0),
        ("single_to_three_phase", single.0 / three.0),
    ]))
}

impl Motor {
    fn figures(&self) -> Outcome<Figures> {
        let run = copper(self.length_m, self.section_mm2);
        let cable = line_drop(run, self.running_a, self.running)?;
        let starting = line_drop(run, self.starting_a, self.starting)?;
        // The board then carries the starting current in place of the running one.
        let more = self.starting_a - self.running_a;
        let upstream = self.upstream_v * (self.upstream_a + more) / self.upstream_a;
        let pct = |volts: f64| 100.0 * volts / self.line_voltage_v;
        Ok(named([
            ("cable_v", cable),
            ("total_v", cable + self.upstream_v),
            ("total_pct", pct(cable + self.upstream_v)),
            ("starting_cable_v", starting),
            ("starting_upstream_v", upstream),
            ("starting_total_v", starting + upstream),
            ("starting_total_pct", pct(starting + upstream)),
        ]))
    }
}

fn diversity_shares() -> Figures {
    let demand = |group, count: usize| {
        let loads = vec![Amperes(1.0); count];
        100.0 * demand_with_diversity(group, &loads).0
    };
    let heating = LoadGroup::HeatingAndPower;
    named([
        ("lighting", demand(LoadGroup::Lighting, 1)),
        ("heating_first", demand(heating, 1)),
        ("heating_others", demand(heating, 2) - demand(heating, 1)),
        ("motors_first", demand(LoadGroup::Motors, 1)),
        (
            "motors_second",
            demand(LoadGroup::Motors, 2) - demand(LoadGroup::Motors, 1),
        ),
        (
            "motors_others",
            demand(LoadGroup::Motors, 3) - demand(LoadGroup::Motors, 2),
        ),
    ])
}
