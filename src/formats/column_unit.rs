//! Units as the headers of logs write them, and their factors to the unit of a quantity.

use site::Quantity;

/// What is measured, without its scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// Volts.
    Voltage,
    /// Amperes.
    Current,
    /// Watts.
    ActivePower,
    /// Vars.
    ReactivePower,
    /// Volt-amperes.
    ApparentPower,
    /// Watt-hours.
    ActiveEnergy,
    /// Var-hours.
    ReactiveEnergy,
    /// Hertz.
    Frequency,
    /// A share.
    Ratio,
}

/// A unit: what it measures, and how many of the plain unit it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColumnUnit {
    /// What it measures.
    pub dimension: Dimension,
    /// How many of the plain unit it is.
    pub plain: f64,
}

/// The unit that a text names. The prefixes milli and mega differ by their case alone.
#[must_use]
pub fn parse(text: &str) -> Option<ColumnUnit> {
    let text = text
        .trim()
        .trim_start_matches(['[', '('])
        .trim_end_matches([']', ')'])
        .trim();
    let unit = |dimension, plain| Some(ColumnUnit { dimension, plain });
    match text {
        "%" => return unit(Dimension::Ratio, 0.01),
        "1" => return unit(Dimension::Ratio, 1.0),
        _ => {}
    }
    // Volt-amperes and vars are also written with a dot between the parts.
    let text: String = text
        .chars()
        .filter(|c| !matches!(c, '·' | '.' | ' '))
        .collect();
    let stems = [
        ("varh", Dimension::ReactiveEnergy),
        ("var", Dimension::ReactivePower),
        ("va", Dimension::ApparentPower),
        ("wh", Dimension::ActiveEnergy),
        ("hz", Dimension::Frequency),
        ("w", Dimension::ActivePower),
        ("v", Dimension::Voltage),
        ("a", Dimension::Current),
    ];
    stems.into_iter().find_map(|(stem, dimension)| {
        let cut = text.len().checked_sub(stem.len())?;
        let (prefix, tail) = text.split_at_checked(cut)?;
        if !tail.eq_ignore_ascii_case(stem) {
            return None;
        }
        let plain = match prefix {
            "" => 1.0,
            "k" | "K" => 1e3,
            "m" if tail.starts_with(|c: char| c.is_ascii_uppercase()) => 1e-3,
            "M" => 1e6,
            "G" => 1e9,
            _ => return None,
        };
        unit(dimension, plain)
    })
}

/// The unit of a quantity in interval tables.
#[must_use]
pub fn of(quantity: Quantity) -> ColumnUnit {
    let (dimension, plain) = match quantity {
        Quantity::Voltage(_) | Quantity::LineVoltage(_) => (Dimension::Voltage, 1.0),
        Quantity::Current(_) | Quantity::NeutralCurrent => (Dimension::Current, 1.0),
        Quantity::ActivePower(_)
        | Quantity::ActivePowerImport(_)
        | Quantity::ActivePowerExport(_) => (Dimension::ActivePower, 1e3),
        Quantity::ReactivePower(_) => (Dimension::ReactivePower, 1e3),
        Quantity::ApparentPower(_) => (Dimension::ApparentPower, 1e3),
        Quantity::PowerFactor(_) | Quantity::EstimatedShare => (Dimension::Ratio, 1.0),
        Quantity::ThdCurrent(_) => (Dimension::Ratio, 0.01),
        Quantity::Frequency => (Dimension::Frequency, 1.0),
        Quantity::EnergyImport(_)
        | Quantity::EnergyExport
        | Quantity::EnergyInterval
        | Quantity::EnergyExportInterval => (Dimension::ActiveEnergy, 1e3),
        Quantity::ReactiveEnergyImport
        | Quantity::ReactiveEnergyExport
        | Quantity::ReactiveEnergyInterval
        | Quantity::ReactiveEnergyExportInterval => (Dimension::ReactiveEnergy, 1e3),
    };
    ColumnUnit { dimension, plain }
}

/// The factor from a unit to that of a quantity; `None` where it measures something else.
#[must_use]
pub fn factor(from: ColumnUnit, quantity: Quantity) -> Option<f64> {
    let to = of(quantity);
    (from.dimension == to.dimension).then(|| {
        // Whole powers of ten: 1/1000 is 0.001 to the last digit, 1e-3 × 1e3 need not be 1.
        if from.plain >= to.plain {
            from.plain / to.plain
        } else {
            1.0 / (to.plain / from.plain)
        }
    })
}

/// The unit at the end of a column's name: `U L1-N [V]`, `I L2 (A)`. What comes before it, and it.
#[must_use]
pub fn split(name: &str) -> Option<(&str, &str)> {
    let name = name.trim();
    let open = match name.chars().next_back()? {
        ']' => name.rfind('[')?,
        ')' => name.rfind('(')?,
        _ => return split_word(name),
    };
    let unit = &name[open + 1..name.len() - 1];
    Some((name[..open].trim_end(), unit.trim()))
}

/// A unit of energy or power as the last or the first word of several: `Export kWh`, `kWh import`.
fn split_word(name: &str) -> Option<(&str, &str)> {
    let is_unit = |word: &&str| {
        let energy_or_power = |unit: ColumnUnit| {
            !matches!(
                unit.dimension,
                Dimension::Ratio | Dimension::Current | Dimension::Voltage | Dimension::Frequency
            )
        };
        word.len() > 1 && parse(word).is_some_and(energy_or_power)
    };
    let between = [' ', '_'];
    let last = name.rsplit_once(between).filter(|(_, unit)| is_unit(unit));
    let first = || {
        name.split_once(between)
            .filter(|(unit, _)| is_unit(unit))
            .map(|(unit, rest)| (rest, unit))
    };
    let (words, unit) = last.or_else(first)?;
    Some((words.trim_end_matches(between), unit))
}

#[cfg(test)]
mod tests {
    use super::*;
    use electrical::Phase;

    /// SI prefixes: milli 10⁻³, kilo 10³, mega 10⁶.
    #[test]
    fn units_scale_to_those_of_the_quantities() {
        let power = Quantity::ActivePower(None);
        let current = Quantity::Current(Phase::L1);
        let energy = Quantity::EnergyImport(None);
        for (text, quantity, expected) in [
            ("W", power, Some(0.001)),
            ("[kW]", power, Some(1.0)),
            ("KW", power, Some(1.0)),
            ("MW", power, Some(1000.0)),
            ("mA", current, Some(0.001)),
            ("A", current, Some(1.0)),
            ("Wh", energy, Some(0.001)),
            ("(MWh)", energy, Some(1000.0)),
            ("kVAr", Quantity::ReactivePower(None), Some(1.0)),
            ("V·A", Quantity::ApparentPower(None), Some(0.001)),
            ("Mvarh", Quantity::ReactiveEnergyImport, Some(1000.0)),
            ("%", Quantity::PowerFactor(None), Some(0.01)),
            ("%", Quantity::ThdCurrent(Phase::L1), Some(1.0)),
            ("V", power, None),
            ("VA", power, None),
        ] {
            let factor = parse(text).and_then(|unit| factor(unit, quantity));
            assert_eq!(factor, expected, "{text}");
        }
        // In lower case throughout, milli and mega cannot be distinguished.
        for text in ["mwh", "hp", "", "kk", "x", "µ", "°C"] {
            assert_eq!(parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_unit_stands_at_the_end_of_a_name() {
        assert_eq!(split("U L1-N [V]"), Some(("U L1-N", "V")));
        assert_eq!(split(" I L2 (A) "), Some(("I L2", "A")));
        assert_eq!(split("P1"), None);
        assert_eq!(split("Export kWh"), Some(("Export", "kWh")));
        assert_eq!(split("kWh import"), Some(("import", "kWh")));
        assert_eq!(split("kWh"), None);
        assert_eq!(split("]"), None);
        assert_eq!(split("[kWh]"), Some(("", "kWh")));
    }
}
