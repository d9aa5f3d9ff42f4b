//! Energies of a meter: net, by phase, reactive.

use super::directions::sum;
use analysis::{NetPower, integral};
use electrical::{Phase, mean_power_factor};
use metering::{IntervalTable, Logged, MeterLog, Origin, counted};
use site::Quantity;
use units::{KilovarHours, KilowattHours};

/// Reactive energies of a meter; what is not known is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Reactive {
    /// Lagging. (kvarh)
    pub(crate) import_kvarh: Option<f64>,
    /// Leading. (kvarh)
    pub(crate) export_kvarh: Option<f64>,
}

/// Net energy of each phase, where all three have a power or a register. (kWh)
pub(crate) fn by_phase(table: &IntervalTable) -> Option<[f64; 3]> {
    let [l1, l2, l3] =
        Phase::ALL.map(
            |phase| match table.values(Quantity::ActivePower(Some(phase))) {
                Some(power) => integral(power.iter(), table.interval_s()),
                None => register(table, Quantity::EnergyImport(Some(phase))),
            },
        );
    Some([l1?, l2?, l3?])
}

/// Lagging and leading energy: as logged interval by interval, else the positive and negative
/// parts of reactive power, else the register.
pub(crate) fn reactive(log: &MeterLog, draw: NetPower<'_>) -> Reactive {
    let table = &log.table;
    let amount = |quantity| {
        let values: Vec<Option<f64>> = table.values(quantity)?.iter().collect();
        sum(&values)
    };
    let lagging = amount(Quantity::ReactiveEnergyInterval);
    let leading = amount(Quantity::ReactiveEnergyExportInterval);
    if (lagging.is_some() || leading.is_some()) && draw.reactive_kvar.is_none() {
        return Reactive {
            import_kvarh: lagging,
            export_kvarh: leading,
        };
    }
    if lagging.is_some() && (leading.is_some() || !logs_reactive_power(table, draw)) {
        return Reactive {
            import_kvarh: lagging,
            export_kvarh: leading,
        };
    }
    let registers = Reactive {
        import_kvarh: register(table, Quantity::ReactiveEnergyImport),
        export_kvarh: register(table, Quantity::ReactiveEnergyExport),
    };
    // What a register counted is surer than an estimate.
    let estimated = matches!(
        table.origin(Quantity::ReactivePower(None)),
        Some(Origin::Estimated { .. })
    );
    let by_power = draw.reactive_kvar;
    if let Some(power) = by_power.filter(|_| !estimated || registers.import_kvarh.is_none()) {
        let part = |sign: f64| {
            let part = power.iter();
            let part = part.map(|kvar| kvar.map(|kvar| (sign * kvar).max(0.0)));
            integral(part, table.interval_s())
        };
        return Reactive {
            import_kvarh: part(1.0),
            export_kvarh: part(-1.0),
        };
    }
    registers
}

/// Lagging energy of each interval, by the same choice as [`reactive`]; `None` if only registers give it. (kvarh)
pub(crate) fn lagging_by_interval<'l>(
    log: &'l MeterLog,
    draw: NetPower<'l>,
) -> Option<impl Iterator<Item = Option<f64>> + use<'l>> {
    let table = &log.table;
    let lagging = table.values(Quantity::ReactiveEnergyInterval);
    let counts_leading = table.has(Quantity::ReactiveEnergyExportInterval);
    let as_logged = lagging.filter(|_| counts_leading || !logs_reactive_power(table, draw));
    let hours = f64::from(table.interval_s()) / 3600.0;
    let source = as_logged.or(draw.reactive_kvar)?;
    let amount = move |value: f64| match as_logged {
        Some(_) => value,
        None => value.max(0.0) * hours,
    };
    Some(source.iter().map(move |value| value.map(amount)))
}

/// Leading energy of each interval, by its own counts or by what the reactive power shows; `None` where lagging energy
/// alone is counted. (kvarh)
pub(crate) fn leading_by_interval<'l>(
    log: &'l MeterLog,
    draw: NetPower<'l>,
) -> Option<impl Iterator<Item = Option<f64>> + use<'l>> {
    let table = &log.table;
    let counted = table.values(Quantity::ReactiveEnergyExportInterval);
    let lagging_alone =
        table.has(Quantity::ReactiveEnergyInterval) && !logs_reactive_power(table, draw);
    let hours = f64::from(table.interval_s()) / 3600.0;
    let source = counted.or(draw.reactive_kvar.filter(|_| !lagging_alone))?;
    let amount = move |value: f64| match counted {
        Some(_) => value,
        None => (-value).max(0.0) * hours,
    };
    Some(source.iter().map(move |value| value.map(amount)))
}

/// Energy-weighted power factor; leading energy counts as none where it is not logged.
pub(crate) fn power_factor(energy_kwh: Option<f64>, reactive: Reactive) -> Option<f64> {
    let net = reactive.import_kvarh? - reactive.export_kvarh.unwrap_or(0.0);
    mean_power_factor(KilowattHours(energy_kwh?), KilovarHours(net))
        .ok()
        .flatten()
}

/// True where reactive power itself is known to be logged: by phase, or with values that lagging
/// amounts alone cannot give.
fn logs_reactive_power(table: &IntervalTable, draw: NetPower<'_>) -> bool {
    let by_phase = Phase::ALL
        .into_iter()
        .any(|phase| table.origin(Quantity::ReactivePower(Some(phase))) == Some(Origin::Measured));
    let leads = |total: Logged<'_>| total.iter().flatten().any(|kvar| kvar < 0.0);
    by_phase || draw.reactive_kvar.is_some_and(leads)
}

/// What a register of the table counted; `None` with fewer than two readings. (kWh, kvarh)
fn register(table: &IntervalTable, quantity: Quantity) -> Option<f64> {
    counted(table.values(quantity)?.iter())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{draw_of, log_of, power_table};

    fn close(found: Option<f64>, expected: f64) -> bool {
        found.is_some_and(|found| (found - expected).abs() < 1e-9)
    }

    #[test]
    fn gaps_add_nothing_and_nothing_is_filled() {
        // 4 kW for three of four quarter-hours.
        let table = power_table(0, 900, &[Some(4.0), None, Some(4.0), Some(4.0)]);
        let draw = draw_of(&table);
        assert!(close(draw.energy_kwh(900), 3.0));
        assert!(close(draw.mean_kw(), 4.0));
        let unknown = power_table(0, 900, &[None, None]);
        assert_eq!(draw_of(&unknown).energy_kwh(900), None);
    }

    #[test]
    fn reactive_power_parts_by_sign_and_logged_amounts_are_taken_as_they_are() {
        let columns = vec![(
            Quantity::ReactivePower(None).name(),
            vec![Some(6.0), Some(-2.0), None],
        )];
        let log = log_of(IntervalTable::of_columns(
            vec![0, 1800, 3600],
            1800,
            columns,
        ));
        let found = reactive(&log, draw_of(&log.table));
        assert!(close(found.import_kvarh, 3.0) && close(found.export_kvarh, 1.0));
        // Lagging and leading within one interval do not cancel where both are counted.
        let columns = vec![
            (Quantity::ReactiveEnergyInterval.name(), vec![Some(3.0)]),
            (
                Quantity::ReactiveEnergyExportInterval.name(),
                vec![Some(2.0)],
            ),
        ];
        let log = log_of(IntervalTable::of_columns(vec![0], 900, columns));
        let found = reactive(&log, draw_of(&log.table));
        assert!(close(found.import_kvarh, 3.0) && close(found.export_kvarh, 2.0));
    }

    /// 4 kWh with 5 kvarh lagging and 2 leading: 4/√(4² + 3²) = 0.8.
    #[test]
    fn power_factor_is_weighted_by_energy() {
        let known = Reactive {
            import_kvarh: Some(5.0),
            export_kvarh: Some(2.0),
        };
        assert!(close(power_factor(Some(4.0), known), 0.8));
        assert_eq!(power_factor(None, known), None);
        assert_eq!(power_factor(Some(4.0), Reactive::default()), None);
    }

    #[test]
    fn registers_stand_in_where_no_power_is_logged() {
        let columns = ["l1", "l2", "l3"].map(|phase| {
            (
                format!("energy_import_{phase}_kwh"),
                vec![Some(5.0), Some(7.5)],
            )
        });
        let table = IntervalTable::of_columns(vec![0, 900], 900, columns.into());
        assert_eq!(by_phase(&table), Some([2.5; 3]));
    }
}
