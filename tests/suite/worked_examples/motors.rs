//! Motors: currents, efficiencies, what they cost to run.

use serde::Deserialize;
use tapoff::electrical::{
    EfficiencyClass, PowerFactor, apparent_power_at, class_efficiency, correction_power,
    ie3_efficiency, motor_current, typical_motor_current,
};
use tapoff::units::{Volts, Watts};

use super::input::named;
use super::{Figures, Outcome, Worked};

#[derive(Deserialize)]
#[serde(tag = "check", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Input {
    TypicalCurrents {
        shaft_kw: Vec<f64>,
        line_voltage_v: f64,
    },
    Motor {
        shaft_kw: f64,
        efficiency: f64,
        power_factor: f64,
        line_voltage_v: f64,
    },
    Efficiencies {
        class: Class,
        shaft_kw: Vec<f64>,
    },
    #[serde(rename = "ie3-formula")]
    Ie3Formula {
        shaft_kw: Vec<f64>,
    },
    ChoiceOfMotor(Choice),
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Class {
    Ie1,
    Ie2,
    Ie3,
}

/// A motor whose power factor is corrected, and one that needs no correction.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Choice {
    shaft_kw: f64,
    efficiency: [f64; 2],
    power_factor: [f64; 2],
    corrected: f64,
    per_kvar: f64,
    extra: f64,
    per_kva: f64,
    per_kwh: f64,
    hours: f64,
}

fn key(kilowatts: f64) -> String {
    format!("kw_{kilowatts}").replace('.', "_")
}

impl Worked for Input {
    fn figures(&self) -> Outcome<Figures> {
        let mut figures = Figures::new();
        match self {
            Input::TypicalCurrents {
                shaft_kw,
                line_voltage_v,
            } => {
                for kw in shaft_kw {
                    let amps = typical_motor_current(Watts::from_kilo(*kw), Volts(*line_voltage_v));
                    figures.insert(key(*kw), amps.ok_or("not in the table")?.0);
                }
            }
            Input::Motor {
                shaft_kw,
                efficiency,
                power_factor,
                line_voltage_v,
            } => {
                let shaft = Watts::from_kilo(*shaft_kw);
                let factor = PowerFactor::lagging(*power_factor)?;
                let line = motor_current(shaft, *efficiency, factor, Volts(*line_voltage_v))?.0;
                let input = 3.0_f64.sqrt() * line_voltage_v * line * power_factor / 1000.0;
                figures = named([
                    ("input_kw", input),
                    ("line_a", line),
                    ("phase_a", line / 3.0_f64.sqrt()),
                ]);
            }
            Input::Efficiencies { class, shaft_kw } => {
                let class = match class {
                    Class::Ie1 => EfficiencyClass::Ie1,
                    Class::Ie2 => EfficiencyClass::Ie2,
                    Class::Ie3 => EfficiencyClass::Ie3,
                };
                for kw in shaft_kw {
                    let eta = class_efficiency(class, Watts::from_kilo(*kw));
                    figures.insert(key(*kw), 100.0 * eta.ok_or("not in the table")?);
                }
            }
            Input::Ie3Formula { shaft_kw } => {
                for kw in shaft_kw {
                    figures.insert(key(*kw), 100.0 * ie3_efficiency(Watts::from_kilo(*kw))?);
                }
            }
            Input::ChoiceOfMotor(choice) => return choice.figures(),
        }
        Ok(figures)
    }
}

impl Choice {
    fn figures(&self) -> Outcome<Figures> {
        let input = |which: usize| Watts::from_kilo(self.shaft_kw / self.efficiency[which]);
        let factor = |which: usize| PowerFactor::lagging(self.power_factor[which]);
        let corrected = PowerFactor::lagging(self.corrected)?;
        let year = |p: Watts, factor: PowerFactor| -> Outcome<f64> {
            let kva = apparent_power_at(p, factor)?.kilo();
            Ok(kva * self.per_kva + p.kilo() * self.hours * self.per_kwh)
        };
        let kvar = correction_power(input(0), factor(0)?, corrected)?.kilo();
        let first = year(input(0), corrected)? + self.per_kvar * kvar;
        let second = year(input(1), factor(1)?)? + self.extra;
        Ok(named([
            ("first", first),
            ("second", second),
            ("cheaper", first - second),
        ]))
    }
}
