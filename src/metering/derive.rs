//! What is not logged is derived where that needs no assumption: totals from phases, net power
//! from what is drawn and returned, power from the energy of an interval.

use super::interval_table::IntervalTable;
use crate::electrical::Phase;
use crate::site::Quantity;

type Values = Vec<Option<f64>>;

/// Adds derived columns to a table; what is logged is never replaced.
///
/// Where what is measured is not on three phases, the phases that are logged are all there are.
pub(super) fn derive(table: &mut IntervalTable, three_phase: bool) {
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
        let logged: Vec<Values> = Phase::ALL
            .into_iter()
            .filter_map(|phase| table.values(total(Some(phase))))
            .collect();
        if logged.len() == 3 || !three_phase {
            let sum = logged
                .into_iter()
                .reduce(|sum, phase| combine(&sum, &phase, |a, b| a + b));
            if let Some(sum) = sum {
                add_missing(table, total(None), || sum);
            }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::metering::accumulate::Column;

    fn table(columns: &[(Quantity, f64)]) -> IntervalTable {
        let columns = columns
            .iter()
            .map(|(quantity, value)| Column {
                name: quantity.name(),
                values: vec![Some(*value), None],
            })
            .collect();
        IntervalTable::new(vec![0, 900], 900, columns)
    }

    #[test]
    fn one_phase_is_the_total_of_a_single_phase_load_only() {
        let l1 = Quantity::ActivePower(Some(Phase::L1));
        let mut single = table(&[(l1, 2.0)]);
        derive(&mut single, false);
        let total = Quantity::ActivePower(None);
        assert_eq!(single.values(total), Some(vec![Some(2.0), None]));
        let mut board = table(&[(l1, 2.0)]);
        derive(&mut board, true);
        assert_eq!(board.values(total), None);
    }

    #[test]
    fn three_phases_make_the_total() {
        let mut board = table(&[
            (Quantity::ActivePower(Some(Phase::L1)), 2.0),
            (Quantity::ActivePower(Some(Phase::L2)), 3.0),
            (Quantity::ActivePower(Some(Phase::L3)), -1.0),
        ]);
        derive(&mut board, true);
        assert_eq!(
            board.values(Quantity::ActivePower(None)),
            Some(vec![Some(4.0), None])
        );
    }
}
