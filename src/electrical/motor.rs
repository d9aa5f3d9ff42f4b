//! Currents and efficiencies of three-phase cage motors.

use super::{NotFinite, PowerFactor, finite::finite};
use units::{Amperes, Volts, Watts};

/// A motor that cannot be.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum MotorError {
    /// An input is NaN or infinite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// Output, voltage and power factor are above 0.
    #[error("{0} must be above 0, found {1}")]
    NotPositive(&'static str, f64),
    /// A motor gives out less than it takes in.
    #[error("efficiency must be above 0 and at most 1, found {0}")]
    Efficiency(f64),
}

/// Line current of a three-phase motor at rated load (A).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | output at the shaft | W | above 0 |
/// | `η` | efficiency | 1 | above 0, at most 1 |
/// | `U` | line voltage | V | above 0 |
/// | `φ` | angle of the current behind its phase voltage | rad | cos φ above 0 |
/// | `I` | line current | A | |
///
/// # Formula
///
/// ```text
/// I = P / (√3 · U · cos φ · η)
/// ```
///
/// # Source
///
/// J. Bird, *Electrical Circuit Theory and Technology*, 2nd ed., Newnes, 2003, p. 305.
///
/// # Errors
///
/// [`MotorError`].
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{PowerFactor, motor_current};
/// # use units::{Volts, Watts};
/// let i = motor_current(Watts::from_kilo(12.75), 0.85, PowerFactor::lagging(0.77)?, Volts(415.0))?;
/// assert_relative_eq!(i.0, 27.10, max_relative = 2e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn motor_current(
    shaft: Watts,
    efficiency: f64,
    power_factor: PowerFactor,
    line: Volts,
) -> Result<Amperes, MotorError> {
    finite("efficiency", efficiency)?;
    if efficiency <= 0.0 || efficiency > 1.0 {
        return Err(MotorError::Efficiency(efficiency));
    }
    for (quantity, value) in [
        ("output [W]", shaft.0),
        ("line voltage [V]", line.0),
        ("power factor", power_factor.value()),
    ] {
        finite(quantity, value)?;
        if value <= 0.0 {
            return Err(MotorError::NotPositive(quantity, value));
        }
    }
    Ok(Amperes(
        shaft.0 / (3.0_f64.sqrt() * line.0 * power_factor.value() * efficiency),
    ))
}

/// Rated outputs (kW) and typical currents at 400 V (A).
const TYPICAL_CURRENTS: [(f64, f64); 17] = [
    (0.75, 1.9),
    (1.1, 2.7),
    (1.5, 3.6),
    (2.2, 4.9),
    (3.0, 6.5),
    (4.0, 8.5),
    (5.5, 11.5),
    (7.5, 15.5),
    (11.0, 22.0),
    (15.0, 29.0),
    (18.5, 35.0),
    (22.0, 41.0),
    (30.0, 55.0),
    (37.0, 66.0),
    (45.0, 80.0),
    (55.0, 97.0),
    (75.0, 132.0),
];

/// Typical line current of a three-phase cage motor (A); `None` for an output that is not in the table.
///
/// A guide for choosing cables where the nameplate is not at hand, which always comes first.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | rated output | W | 0.75 to 75 kW, a value of the table |
/// | `U` | line voltage | V | above 0 |
/// | `I` | line current | A | |
///
/// # Formula
///
/// ```text
/// I = I_400 · 400/U
/// ```
///
/// # Source
///
/// IEC 60947-4-1, annex G, table G.1 (from memory); the step to other voltages at constant power is ours.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::typical_motor_current;
/// # use units::{Volts, Watts};
/// let amps = typical_motor_current(Watts::from_kilo(5.5), Volts(400.0)).ok_or("not in the table")?;
/// assert_relative_eq!(amps.0, 11.5, max_relative = 1e-12);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn typical_motor_current(shaft: Watts, line: Volts) -> Option<Amperes> {
    if line.0.is_nan() || line.0 <= 0.0 {
        return None;
    }
    TYPICAL_CURRENTS
        .iter()
        .find(|(kilowatts, _)| (kilowatts - shaft.kilo()).abs() < 1e-9)
        .map(|&(_, amps)| Amperes(amps * 400.0 / line.0))
}

/// Efficiency class of a motor (IEC 60034-30-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EfficiencyClass {
    /// Standard.
    Ie1,
    /// High.
    Ie2,
    /// Premium.
    Ie3,
}

/// Text that names no efficiency class.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not an efficiency class: write IE1, IE2 or IE3")]
pub struct NotAClass(pub String);

impl std::str::FromStr for EfficiencyClass {
    type Err = NotAClass;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim().to_ascii_uppercase().as_str() {
            "IE1" => Ok(EfficiencyClass::Ie1),
            "IE2" => Ok(EfficiencyClass::Ie2),
            "IE3" => Ok(EfficiencyClass::Ie3),
            _ => Err(NotAClass(text.to_owned())),
        }
    }
}

/// Output (kW) and efficiency of IE1, IE2, IE3 (%), four poles, 50 Hz.
const EFFICIENCIES: [(f64, [Option<f64>; 3]); 17] = [
    (0.75, [Some(72.1), Some(79.6), Some(82.5)]),
    (1.1, [None, None, Some(84.1)]),
    (1.5, [Some(77.2), Some(82.8), Some(85.3)]),
    (2.2, [None, None, Some(86.7)]),
    (3.0, [None, None, Some(87.7)]),
    (4.0, [Some(83.1), Some(86.6), Some(88.6)]),
    (5.5, [None, None, Some(89.6)]),
    (7.5, [Some(86.0), Some(88.7), Some(90.4)]),
    (11.0, [None, None, Some(91.4)]),
    (15.0, [None, None, Some(92.1)]),
    (18.5, [None, None, Some(92.6)]),
    (22.0, [None, None, Some(93.0)]),
    (30.0, [None, None, Some(93.6)]),
    (37.0, [None, None, Some(93.9)]),
    (45.0, [None, None, Some(94.2)]),
    (55.0, [None, None, Some(94.6)]),
    (75.0, [None, None, Some(95.0)]),
];

/// Least efficiency of a class for a four-pole motor at 50 Hz (1).
///
/// Between two outputs of the table it is interpolated over the logarithm of the output; `None` outside
/// its range.
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | rated output | W | IE1, IE2: 0.75 to 7.5 kW; IE3: 0.75 to 75 kW |
/// | `η` | efficiency at rated load | 1 | |
///
/// # Source
///
/// IEC 60034-30-1:2014, table 8 (IE3, from 11 kW on from memory); IEC 60034-30:2008 (IE1, IE2). The
/// interpolation is ours.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::{EfficiencyClass, class_efficiency};
/// # use units::Watts;
/// let eta = class_efficiency(EfficiencyClass::Ie3, Watts::from_kilo(4.0)).ok_or("outside")?;
/// assert_relative_eq!(eta, 0.886, max_relative = 1e-12);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn class_efficiency(class: EfficiencyClass, shaft: Watts) -> Option<f64> {
    let known: Vec<(f64, f64)> = EFFICIENCIES
        .iter()
        .filter_map(|&(kilowatts, percent)| Some((kilowatts, percent[class as usize]? / 100.0)))
        .collect();
    let wanted = shaft.kilo();
    known.windows(2).find_map(|pair| {
        let [(low, at_low), (high, at_high)] = [pair[0], pair[1]];
        let inside = (low - 1e-9..=high + 1e-9).contains(&wanted);
        inside.then(|| {
            let share = ((wanted / low).ln() / (high / low).ln()).clamp(0.0, 1.0);
            at_low + share * (at_high - at_low)
        })
    })
}

/// Least efficiency of class IE3 by the standard's formula, four poles, 50 Hz (1).
///
/// # Symbols
///
/// | symbol | meaning | unit | range |
/// |---|---|---|---|
/// | `P` | rated output, in kW inside the logarithm | W | 0.12 to 200 kW |
/// | `η` | efficiency at rated load | % in the formula | |
///
/// # Formula
///
/// ```text
/// η = 0.0773 · (lg P)³ − 1.8951 · (lg P)² + 9.2984 · lg P + 83.7025
/// ```
///
/// # Source
///
/// IEC 60034-30-1:2014 (coefficients from memory; they give its table 8).
///
/// # Errors
///
/// [`MotorError::NotPositive`] without an output.
///
/// # Examples
///
/// ```
/// # use approx::assert_relative_eq; use electrical::ie3_efficiency; use units::Watts;
/// assert_relative_eq!(ie3_efficiency(Watts::from_kilo(1.0))?, 0.837025, max_relative = 1e-12);
/// # Ok::<(), electrical::MotorError>(())
/// ```
pub fn ie3_efficiency(shaft: Watts) -> Result<f64, MotorError> {
    finite("output [W]", shaft.0)?;
    if shaft.0 <= 0.0 {
        return Err(MotorError::NotPositive("output [W]", shaft.0));
    }
    let lg = shaft.kilo().log10();
    Ok((0.0773 * lg.powi(3) - 1.8951 * lg.powi(2) + 9.2984 * lg + 83.7025) / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outside_the_tables_nothing_is_told() {
        assert_eq!(
            class_efficiency(EfficiencyClass::Ie1, Watts::from_kilo(9.0)),
            None
        );
        assert_eq!(
            class_efficiency(EfficiencyClass::Ie3, Watts::from_kilo(0.5)),
            None
        );
        assert_eq!(
            typical_motor_current(Watts::from_kilo(5.0), Volts(400.0)),
            None
        );
        assert_eq!(
            typical_motor_current(Watts::from_kilo(5.5), Volts(0.0)),
            None
        );
    }

    #[test]
    fn no_motor_is_refused() {
        let motor = |kw, eta| {
            motor_current(Watts::from_kilo(kw), eta, PowerFactor::UNITY, Volts(400.0)).is_err()
        };
        assert!(motor(0.0, 0.9) && motor(1.0, 0.0) && motor(1.0, 1.1) && motor(f64::NAN, 0.9));
        assert!(ie3_efficiency(Watts(0.0)).is_err());
    }
}
