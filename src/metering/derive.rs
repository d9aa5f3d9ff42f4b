//! What is not logged is derived where that needs no assumption: totals from phases, net power
//! from what is drawn and returned, power from the energy of an interval.

use super::interval_table::IntervalTable;
use crate::electrical::Phase;
use crate::site::Quantity;

type Values = Vec<Option<f64>>;

/// Adds derived columns to a table; what is logged is never replaced.
pub(super) fn derive(table: &mut IntervalTable) {
    let places = [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];
    for place in places {
        let net = Quantity::ActivePower(place);
        let drawn = table.values(Quantity::ActivePowerImport(place));
        let returned = table.values(Quantity::ActivePowerExport(place));
        if let (Some(drawn), Some(returned)) = (&drawn, &returned) {
            add_missing(table, net, || {
                combine(drawn, returned, |drawn, returned| drawn - returned)
            });
        }
    }
    if let Some(energy) = table.values(Quantity::EnergyInterval) {
        let per_hour = 3600.0 / f64::from(table.interval_s());
        add_missing(table, Quantity::ActivePower(None), || {
            scaled(&energy, per_hour)
        });
    }
    for place in Phase::ALL {
        derive_phase_power(table, place);
    }
    for total in [Quantity::ActivePower, Quantity::ReactivePower] {
        if let Some([l1, l2, l3]) = table.by_phase(|phase| total(Some(phase))) {
            add_missing(table, total(None), || {
                let pair = combine(&l1, &l2, |a, b| a + b);
                combine(&pair, &l3, |a, b| a + b)
            });
        }
    }
    let lagging = table.values(Quantity::ReactiveEnergyInterval);
    let leading = table.values(Quantity::ReactiveEnergyExportInterval);
    if let Some(lagging) = lagging {
        let per_hour = 3600.0 / f64::from(table.interval_s());
        let leading = leading.unwrap_or_else(|| vec![Some(0.0); lagging.len()]);
        add_missing(table, Quantity::ReactivePower(None), || {
            scaled(
                &combine(&lagging, &leading, |lagging, leading| lagging - leading),
                per_hour,
            )
        });
    }
}

/// P = U·I·λ of a phase, where voltage, current and power factor are logged.
fn derive_phase_power(table: &mut IntervalTable, phase: Phase) {
    let voltage = table.values(Quantity::Voltage(phase));
    let current = table.values(Quantity::Current(phase));
    let factor = table.values(Quantity::PowerFactor(Some(phase)));
    if let (Some(voltage), Some(current), Some(factor)) = (voltage, current, factor) {
        add_missing(table, Quantity::ActivePower(Some(phase)), || {
            let apparent = combine(&voltage, &current, |volts, amps| volts * amps / 1000.0);
            combine(&apparent, &factor, |kva, factor| kva * factor)
        });
    }
}

fn add_missing(table: &mut IntervalTable, quantity: Quantity, values: impl FnOnce() -> Values) {
    if !table.has(quantity) {
        table.add(quantity, values());
    }
}

fn combine(a: &[Option<f64>], b: &[Option<f64>], with: impl Fn(f64, f64) -> f64) -> Values {
    a.iter()
        .zip(b)
        .map(|(a, b)| Some(with((*a)?, (*b)?)))
        .collect()
}

fn scaled(values: &[Option<f64>], factor: f64) -> Values {
    values
        .iter()
        .map(|value| value.map(|v| v * factor))
        .collect()
}
