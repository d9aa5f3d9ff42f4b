//! Import and export apart, and how much of them is estimated.

use analysis::NetPower;
use metering::{IntervalTable, MeterLog, counted};
use site::Quantity;

/// Energy in both directions.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Directions {
    pub(crate) import_kwh: Option<f64>,
    pub(crate) export_kwh: Option<f64>,
    /// Share that the source marks as estimated or substituted. (%)
    pub(crate) estimated_pct: Option<f64>,
}

impl Directions {
    /// As logged interval by interval, else the positive and negative parts of net power, else the registers.
    pub(crate) fn of(log: &MeterLog, draw: NetPower<'_>) -> Directions {
        let table = &log.table;
        let hours = f64::from(table.interval_s()) / 3600.0;
        let amounts = |quantity: Quantity, factor: f64| {
            let values = table.values(quantity)?;
            Some(
                values
                    .iter()
                    .map(|value| Some(value? * factor))
                    .collect::<Vec<_>>(),
            )
        };
        let import = amounts(Quantity::EnergyInterval, 1.0)
            .or_else(|| amounts(Quantity::ActivePowerImport(None), hours));
        let export = amounts(Quantity::EnergyExportInterval, 1.0)
            .or_else(|| amounts(Quantity::ActivePowerExport(None), hours));
        let mut found = Directions {
            import_kwh: import.as_deref().and_then(sum),
            export_kwh: export.as_deref().and_then(sum),
            estimated_pct: estimated_pct(table, &[import.as_deref(), export.as_deref()]),
        };
        if found.import_kwh.is_some() || found.export_kwh.is_some() {
            return found;
        }
        if draw.from_register {
            found.import_kwh = log.register_energy_kwh;
            let register = table.values(Quantity::EnergyExport);
            found.export_kwh = register.and_then(|counts| counted(counts.iter()));
            return found;
        }
        if let Some(power) = draw.power_kw {
            let part = |sign: f64| -> Vec<Option<f64>> {
                power
                    .iter()
                    .map(|kw| Some((sign * kw?).max(0.0) * hours))
                    .collect()
            };
            let (import, export) = (part(1.0), part(-1.0));
            found.import_kwh = sum(&import);
            found.export_kwh = sum(&export);
            found.estimated_pct = estimated_pct(table, &[Some(&import), Some(&export)]);
        }
        found
    }
}

/// Sum of what is known, with the rounding of the terms added up apart (Neumaier); `None` without any.
pub(crate) fn sum(values: &[Option<f64>]) -> Option<f64> {
    let mut known = values.iter().flatten().copied();
    let (mut sum, mut lost) = (known.next()?, 0.0);
    for value in known {
        let next: f64 = sum + value;
        lost += if sum.abs() >= value.abs() {
            (sum - next) + value
        } else {
            (value - next) + sum
        };
        sum = next;
    }
    Some(sum + lost)
}

/// The estimated part of all energy; of the intervals where there is none.
fn estimated_pct(table: &IntervalTable, energies: &[Option<&[Option<f64>]>]) -> Option<f64> {
    let shares = table.values(Quantity::EstimatedShare)?;
    let (mut all, mut estimated, mut rows, mut marked) = (0.0, 0.0, 0.0, 0.0);
    for (row, share) in shares.iter().enumerate() {
        let Some(share) = share else { continue };
        let kwh: f64 = energies
            .iter()
            .flatten()
            .filter_map(|values| values[row])
            .map(f64::abs)
            .sum();
        all += kwh;
        estimated += kwh * share;
        rows += 1.0;
        marked += share;
    }
    if all > 0.0 {
        Some(100.0 * estimated / all)
    } else {
        (rows > 0.0).then(|| 100.0 * marked / rows)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{draw_of, log_of};
    use metering::IntervalTable;

    /// 3 kWh in and 1 kWh out in one interval are both counted; half of the 8 kWh is estimated.
    #[test]
    fn import_and_export_do_not_cancel() {
        let columns = vec![
            (Quantity::EnergyInterval.name(), vec![Some(3.0), Some(4.0)]),
            (
                Quantity::EnergyExportInterval.name(),
                vec![Some(1.0), Some(0.0)],
            ),
            (Quantity::EstimatedShare.name(), vec![Some(1.0), Some(0.0)]),
        ];
        let log = log_of(IntervalTable::of_columns(vec![0, 900], 900, columns));
        let found = Directions::of(&log, draw_of(&log.table));
        assert_eq!(found.import_kwh, Some(7.0));
        assert_eq!(found.export_kwh, Some(1.0));
        assert_eq!(found.estimated_pct, Some(50.0));
    }

    /// 0.1 added ten times is 1, to the last digit.
    #[test]
    fn sums_are_exact_to_the_last_digit() {
        assert_eq!(sum(&[Some(0.1); 10]), Some(1.0));
        assert_eq!(sum(&[None]), None);
    }
}
