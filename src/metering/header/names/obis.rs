//! OBIS codes: A-B:C.D.E, of which C says what is measured and D how.
//!
//! Source: IEC 62056-6-1, value groups C, D and E for electricity (A = 1); the codes used here are
//! also those that meters print in their telegrams.

use super::{Guess, Meaning, Reason};
use electrical::Phase;
use formats::column_unit::{self, ColumnUnit};
use site::Quantity;

/// D: the value now, the register since the meter was set up, the amount of the running interval.
const INSTANT: u32 = 7;
const REGISTER: u32 = 8;
const AMOUNT: u32 = 29;

/// What a code represents. `unit_text` is what the log says with it.
pub(super) fn recognise(name: &str, unit_text: Option<&str>) -> Option<Guess> {
    let (code, unit_in_name) = match column_unit::split(name) {
        Some((code, unit)) => (code, Some(unit)),
        None => (name.trim(), None),
    };
    let (c, d, e) = parts(code)?;
    let mut factor = 1.0;
    let (quantity, sign) = quantity(c, d)?;
    let total = e == 0;
    // Each tariff has its register; other readings have one value.
    if !total && d != REGISTER {
        return None;
    }
    let said = unit_text.or(unit_in_name).filter(|text| !text.is_empty());
    if let Some(text) = said {
        let unit: ColumnUnit = column_unit::parse(text)?;
        factor = column_unit::factor(unit, quantity)?;
    }
    let plain = matches!(
        column_unit::of(quantity).dimension,
        column_unit::Dimension::Voltage
            | column_unit::Dimension::Current
            | column_unit::Dimension::Frequency
            | column_unit::Dimension::Ratio
    );
    Some(Guess {
        meaning: Meaning::Quantity(quantity),
        factor: factor * sign,
        reason: Reason::Obis,
        unit_assumed: said.is_none() && !plain,
        of_tariff: !total,
    })
}

/// C, D and E of a code; A must be electricity where it is written.
fn parts(code: &str) -> Option<(u32, u32, u32)> {
    let code = match code.split_once(':') {
        Some((medium, code)) => {
            let (a, b) = medium.split_once('-')?;
            let electricity = a == "1" && b.parse::<u32>().is_ok();
            electricity.then_some(code)?
        }
        None => code,
    };
    // F, if it is written, is the billing period; 255 is the current one.
    let code = match code.split_once(['*', '&']) {
        Some((code, "255")) => code,
        Some(_) => return None,
        None => code,
    };
    let mut groups = code.split('.');
    let mut group = || {
        let group = groups.next()?;
        let digits = group.len() <= 3 && group.bytes().all(|byte| byte.is_ascii_digit());
        digits.then(|| group.parse::<u32>().ok()).flatten()
    };
    let parts = (group()?, group()?, group()?);
    groups.next().is_none().then_some(parts)
}

/// The quantity and its sign: export is negative where one quantity
/// covers both directions.
fn quantity(c: u32, d: u32) -> Option<(Quantity, f64)> {
    // 1 to 20 are totals, 21 to 40 phase L1, 41 to 60 L2, 61 to 80 L3.
    let (phase, kind) = match c {
        1..=20 => (None, c),
        21..=80 => {
            let index = (c - 21) / 20;
            (
                Some([Phase::L1, Phase::L2, Phase::L3][index as usize]),
                (c - 1) % 20 + 1,
            )
        }
        91 if d == INSTANT => return Some((Quantity::NeutralCurrent, 1.0)),
        _ => return None,
    };
    let plus = |quantity| Some((quantity, 1.0));
    match (d, kind, phase) {
        (INSTANT, 1, _) => plus(Quantity::ActivePowerImport(phase)),
        (INSTANT, 2, _) => plus(Quantity::ActivePowerExport(phase)),
        (INSTANT, 3, _) => plus(Quantity::ReactivePower(phase)),
        (INSTANT, 4, _) => Some((Quantity::ReactivePower(phase), -1.0)),
        (INSTANT, 9, _) => plus(Quantity::ApparentPower(phase)),
        (INSTANT, 11, Some(phase)) => plus(Quantity::Current(phase)),
        (INSTANT, 12, Some(phase)) => plus(Quantity::Voltage(phase)),
        (INSTANT, 13, _) => plus(Quantity::PowerFactor(phase)),
        (INSTANT, 14, None) => plus(Quantity::Frequency),
        (INSTANT, 16, _) => plus(Quantity::ActivePower(phase)),
        (REGISTER, 1, _) => plus(Quantity::EnergyImport(phase)),
        (REGISTER, 2, None) => plus(Quantity::EnergyExport),
        (REGISTER, 3, None) => plus(Quantity::ReactiveEnergyImport),
        (REGISTER, 4, None) => plus(Quantity::ReactiveEnergyExport),
        (AMOUNT, 1, None) => plus(Quantity::EnergyInterval),
        (AMOUNT, 3, None) => plus(Quantity::ReactiveEnergyInterval),
        (AMOUNT, 4, None) => plus(Quantity::ReactiveEnergyExportInterval),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Codes and meanings as IEC 62056-6-1 has them.
    #[test]
    fn codes_are_read() {
        let read = |name: &str| recognise(name, None).map(|guess| (guess.meaning, guess.factor));
        let is = |quantity| Meaning::Quantity(quantity);
        let [l1, l2, l3] = Phase::ALL;
        for (code, quantity, factor) in [
            (
                "1-0:21.7.0 [kW]",
                Quantity::ActivePowerImport(Some(l1)),
                1.0,
            ),
            ("41.7.0 (W)", Quantity::ActivePowerImport(Some(l2)), 0.001),
            ("62.7.0 (W)", Quantity::ActivePowerExport(Some(l3)), 0.001),
            ("1-1:16.7.0*255 (kW)", Quantity::ActivePower(None), 1.0),
            ("31.7.0", Quantity::Current(l1), 1.0),
            ("51.7.0 [mA]", Quantity::Current(l2), 0.001),
            ("72.7.0", Quantity::Voltage(l3), 1.0),
            ("91.7.0", Quantity::NeutralCurrent, 1.0),
            ("13.7.0", Quantity::PowerFactor(None), 1.0),
            ("33.7.0", Quantity::PowerFactor(Some(l1)), 1.0),
            ("14.7.0", Quantity::Frequency, 1.0),
            ("9.7.0 [kVA]", Quantity::ApparentPower(None), 1.0),
            ("69.7.0 [VA]", Quantity::ApparentPower(Some(l3)), 0.001),
            ("3.7.0 [kvar]", Quantity::ReactivePower(None), 1.0),
            ("44.7.0 [kvar]", Quantity::ReactivePower(Some(l2)), -1.0),
            ("1-0:1.8.0 [Wh]", Quantity::EnergyImport(None), 0.001),
            ("1.8.2 [MWh]", Quantity::EnergyImport(None), 1000.0),
            ("2.8.0 [kWh]", Quantity::EnergyExport, 1.0),
            ("3.8.0 [kvarh]", Quantity::ReactiveEnergyImport, 1.0),
            ("1.29.0 [kWh]", Quantity::EnergyInterval, 1.0),
        ] {
            assert_eq!(read(code), Some((is(quantity), factor)), "{code}");
        }
        assert_eq!(
            recognise("1.8.0", Some("Wh")).map(|guess| guess.factor),
            Some(0.001)
        );
        assert!(recognise("21.7.0", None).is_some_and(|guess| guess.unit_assumed));
        assert!(recognise("1.8.1", None).is_some_and(|guess| guess.of_tariff));
        for other in [
            "1.6.0",
            "7-0:3.0.0",
            "0.9.1",
            "1.8",
            "1.8.0.4",
            "21.7.0 [V]",
            "32.7.1",
            "P",
            "",
            "1:2",
            "1-0:1.8.0*03",
            "a.b.c",
            "99.99.99",
            "1.8.0 [hp]",
        ] {
            assert_eq!(read(other), None, "{other}");
        }
    }

    /// The codes of the phases are those of the totals plus 20, 40 and 60 (IEC 62056-6-1, value group C).
    #[test]
    fn every_phase_has_its_codes() {
        let read = |code: String| recognise(&code, None).map(|guess| (guess.meaning, guess.factor));
        for (phase, first) in Phase::ALL.into_iter().zip([20, 40, 60]) {
            for (kind, quantity, sign) in [
                (1, Quantity::ActivePowerImport(Some(phase)), 1.0),
                (2, Quantity::ActivePowerExport(Some(phase)), 1.0),
                (3, Quantity::ReactivePower(Some(phase)), 1.0),
                (4, Quantity::ReactivePower(Some(phase)), -1.0),
                (9, Quantity::ApparentPower(Some(phase)), 1.0),
                (11, Quantity::Current(phase), 1.0),
                (12, Quantity::Voltage(phase), 1.0),
                (13, Quantity::PowerFactor(Some(phase)), 1.0),
            ] {
                let code = format!("{}.7.0", first + kind);
                let expected = Some((Meaning::Quantity(quantity), sign));
                assert_eq!(read(code.clone()), expected, "{code}");
            }
        }
        for (code, quantity) in [
            ("1.7.0", Quantity::ActivePowerImport(None)),
            ("2.7.0", Quantity::ActivePowerExport(None)),
            ("4.8.0", Quantity::ReactiveEnergyExport),
        ] {
            let expected = Some((Meaning::Quantity(quantity), 1.0));
            assert_eq!(read(code.to_owned()), expected, "{code}");
        }
        // Reactive energy by quadrants is not read: lagging and leading are 3.8.0 and 4.8.0.
        for quadrant in 5..=8 {
            assert_eq!(read(format!("{quadrant}.8.0")), None);
        }
    }
}
