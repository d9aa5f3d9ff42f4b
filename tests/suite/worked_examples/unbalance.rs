//! Unbalance of voltages and currents.

use num_complex::Complex64;
use serde::Deserialize;
use tapoff::diagnosis::motor_derating;
use tapoff::electrical::{SymmetricalComponents, negative_sequence_ratio, voltage_unbalance};
use tapoff::units::Volts;

use super::input::{Phasor, named, values};
use super::neutral::sequences;
use super::{Figures, Outcome, Worked};

#[derive(Deserialize)]
#[serde(tag = "check", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum Input {
    LineVoltages { line_voltage_v: [f64; 3] },
    DeviationShape { shape: Shape, deviation_pct: f64 },
    Phasors { phasors: [Phasor; 3] },
    Derating { deviation_pct: Vec<f64> },
}

/// How three voltages deviate from their mean.
#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Shape {
    /// One above two equal ones.
    OneHigh,
    /// One above, one at the mean, one as much below.
    Spread,
}

impl Shape {
    fn voltages(self, share: f64) -> [f64; 3] {
        match self {
            // (1 + x, 1, 1): the mean is 1 + x/3, the deviation 2x/3 = share · (1 + x/3).
            Shape::OneHigh => [1.0 + share / (2.0 / 3.0 - share / 3.0), 1.0, 1.0],
            Shape::Spread => [1.0 + share, 1.0, 1.0 - share],
        }
    }
}

impl Worked for Input {
    fn figures(&self) -> Outcome<Figures> {
        match self {
            Input::LineVoltages { line_voltage_v } => lines(*line_voltage_v),
            Input::DeviationShape {
                shape,
                deviation_pct,
            } => lines(shape.voltages(deviation_pct / 100.0)),
            Input::Phasors { phasors } => sequences(values(phasors)),
            Input::Derating { deviation_pct } => derating(deviation_pct),
        }
    }
}

fn lines(volts: [f64; 3]) -> Outcome<Figures> {
    let parts = SymmetricalComponents::of(closed_triangle(volts))?;
    let deviation = voltage_unbalance(volts.map(Volts))?.ok_or("no voltage")?;
    // A star of 1 Ω without neutral: the phase voltage of each sequence is its line voltage / √3.
    let amps = |part: Complex64| part.norm() / 3.0_f64.sqrt();
    Ok(named([
        ("deviation_pct", deviation),
        ("u2_pct", negative_sequence_ratio(volts.map(Volts))?),
        (
            "u2_of_triangle_pct",
            100.0 * parts.negative.norm() / parts.positive.norm(),
        ),
        ("positive_a", amps(parts.positive)),
        ("negative_a", amps(parts.negative)),
    ]))
}

fn derating(deviations_pct: &[f64]) -> Outcome<Figures> {
    let mut figures = Figures::new();
    for pct in deviations_pct {
        let factor = motor_derating(*pct).ok_or("no motor should run")?;
        figures.insert(format!("at_{pct}").replace('.', "_"), factor);
    }
    Ok(figures)
}

/// Line voltage phasors of these lengths that sum to zero, sequence L1–L2–L3, by the law of cosines.
fn closed_triangle([a, b, c]: [f64; 3]) -> [Complex64; 3] {
    let between = ((a * a + c * c - b * b) / (2.0 * a * c)).acos();
    let first = Complex64::from(a);
    let third = -Complex64::from_polar(c, -between);
    [first, -first - third, third]
}
