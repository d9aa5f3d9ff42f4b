//! The columns of one meter while they are corrected, before they become a table.

use crate::intervals::closed_columns::GatheredColumn;
use electrical::Phase;
use site::{Quantity, QuantityKind};

/// One value per interval and column; `None` where nothing is known.
#[derive(Debug)]
pub(crate) struct Readings {
    pub(crate) starts: Vec<i64>,
    pub(crate) interval_s: i64,
    pub(crate) columns: Vec<GatheredColumn>,
}

/// Intervals of one quantity.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Cells {
    pub(crate) of: Vec<(Quantity, Vec<usize>)>,
}

impl Cells {
    pub(crate) fn add(&mut self, quantity: Quantity, rows: Vec<usize>) {
        if !rows.is_empty() {
            self.of.push((quantity, rows));
        }
    }

    /// The intervals concerned, each once, ascending.
    pub(crate) fn rows(&self) -> Vec<usize> {
        let mut rows: Vec<usize> = self.of.iter().flat_map(|(_, rows)| rows.clone()).collect();
        rows.sort_unstable();
        rows.dedup();
        rows
    }
}

impl Readings {
    /// Length of an interval. \[h\]
    pub(crate) fn hours(&self) -> f64 {
        self.interval_s as f64 / 3600.0
    }

    pub(crate) fn column(&self, quantity: Quantity) -> Option<&GatheredColumn> {
        let name = quantity.name();
        self.columns.iter().find(|column| column.name == name)
    }

    fn column_mut(&mut self, quantity: Quantity) -> Option<&mut GatheredColumn> {
        let name = quantity.name();
        self.columns.iter_mut().find(|column| column.name == name)
    }

    pub(crate) fn get(&self, quantity: Quantity) -> Option<&[Option<f64>]> {
        Some(&self.column(quantity)?.values)
    }

    pub(crate) fn get_mut(&mut self, quantity: Quantity) -> Option<&mut Vec<Option<f64>>> {
        Some(&mut self.column_mut(quantity)?.values)
    }

    /// The logged quantities.
    pub(crate) fn quantities(&self) -> Vec<Quantity> {
        let names = self.columns.iter();
        names
            .filter_map(|column| Quantity::from_name(&column.name))
            .collect()
    }

    /// Starts of intervals. \[Unix s\]
    pub(crate) fn times(&self, rows: &[usize]) -> Vec<i64> {
        rows.iter().map(|&row| self.starts[row]).collect()
    }

    /// Makes the cells unknown, with their extremes and squares. Gives what that adds to the
    /// meter's energy (never more than 0 for a load). \[kWh\]
    pub(crate) fn leave_out(&mut self, cells: &Cells) -> Option<f64> {
        let rows = cells.rows();
        let before = self.energy_kwh(&rows);
        for (quantity, rows) in &cells.of {
            if let Some(column) = self.column_mut(*quantity) {
                for &row in rows {
                    column.values[row] = None;
                }
                column.samples.leave_out(rows);
            }
        }
        let after = self.energy_kwh(&rows);
        let (before, after) = (before?, after?);
        Some(after - before)
    }

    /// Energy of some intervals, as far as it is known there; `None` where the log has no power. \[kWh\]
    fn energy_kwh(&self, rows: &[usize]) -> Option<f64> {
        let power = |place: Option<Phase>| self.power_column(place);
        let hours = self.hours();
        if let Some(total) = power(None) {
            return Some(rows.iter().filter_map(|&row| total(row)).sum::<f64>() * hours);
        }
        if let Some(energy) = self.get(Quantity::EnergyInterval) {
            return Some(rows.iter().filter_map(|&row| energy[row]).sum());
        }
        let phases: Vec<_> = Phase::ALL
            .into_iter()
            .filter_map(|phase| power(Some(phase)))
            .collect();
        if phases.is_empty() {
            return None;
        }
        let sum = |row: usize| phases.iter().map(|phase| phase(row)).sum::<Option<f64>>();
        Some(rows.iter().filter_map(|&row| sum(row)).sum::<f64>() * hours)
    }

    /// Power as it will be used: as logged, import less export, or from voltage, current and
    /// power factor.
    fn power_column(&self, place: Option<Phase>) -> Option<Box<dyn Fn(usize) -> Option<f64> + '_>> {
        if let Some(logged) = self.get(Quantity::ActivePower(place)) {
            return Some(Box::new(|row| logged[row]));
        }
        let drawn = self.get(Quantity::ActivePowerImport(place));
        let returned = self.get(Quantity::ActivePowerExport(place));
        if let (Some(drawn), Some(returned)) = (drawn, returned) {
            return Some(Box::new(|row| Some(drawn[row]? - returned[row]?)));
        }
        let phase = place?;
        let voltage = self.get(Quantity::Voltage(phase))?;
        let current = self.get(Quantity::Current(phase))?;
        let factor = self.get(Quantity::PowerFactor(place))?;
        Some(Box::new(|row| {
            Some(voltage[row]? * current[row]? * factor[row]? / 1000.0)
        }))
    }

    /// Adds up columns that hold parts of one quantity, such as the registers of two tariffs. An
    /// interval that lacks a part is unknown.
    pub(crate) fn add_up_parts(&mut self) {
        let mut whole: Vec<GatheredColumn> = Vec::with_capacity(self.columns.len());
        for part in self.columns.drain(..) {
            match whole.iter_mut().find(|column| column.name == part.name) {
                Some(known) => {
                    for (sum, more) in known.values.iter_mut().zip(part.values) {
                        *sum = sum.zip(more).map(|(sum, more)| sum + more);
                    }
                    known.samples.add(&part.samples);
                }
                None => whole.push(part),
            }
        }
        self.columns = whole;
    }
}

/// Is the column of that name a register?
pub(crate) fn is_register(name: &str) -> bool {
    Quantity::from_name(name).is_some_and(|quantity| quantity.kind() == QuantityKind::Register)
}

/// So many different readings show the step in which they are logged; fewer may all be round by
/// chance.
const TELLING: usize = 20;

/// True where a value is a whole number of steps, but for the rounding of decimal numbers.
pub(crate) fn is_multiple(value: f64, step: f64) -> bool {
    let count = value / step;
    (count - count.round()).abs() < 1e-6 + 1e-12 * count.abs()
}

/// The step in which a column is logged: the largest power of ten down to 0.0001 of which all
/// readings are multiples; 0 where there is none, as in means of faster samples.
pub(crate) fn step_of(values: &[Option<f64>]) -> f64 {
    let steps = [100.0, 10.0, 1.0, 0.1, 0.01, 0.001, 0.0001];
    let fits = |step: &f64| {
        values
            .iter()
            .flatten()
            .all(|&value| is_multiple(value, *step))
    };
    steps.into_iter().find(fits).unwrap_or(0.0)
}

/// By how much rounding may have changed a reading at most: half a step. Few different readings do
/// not show their step; it is then taken as a hundredth of the largest at most.
pub(crate) fn rounding_of(values: &[Option<f64>]) -> f64 {
    let step = step_of(values);
    let step = if different(values, TELLING) < TELLING {
        let largest = values.iter().flatten().map(|value| value.abs());
        step.min(0.01 * largest.fold(0.0, f64::max))
    } else {
        step
    };
    step / 2.0
}

/// Number of different readings, `most` at most.
pub(crate) fn different(values: &[Option<f64>], most: usize) -> usize {
    let mut seen: Vec<u64> = Vec::with_capacity(most);
    for value in values.iter().flatten() {
        let bits = value.to_bits();
        if !seen.contains(&bits) {
            seen.push(bits);
            if seen.len() == most {
                break;
            }
        }
    }
    seen.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(quantity: Quantity, values: &[Option<f64>]) -> GatheredColumn {
        GatheredColumn::new(quantity.name(), values.to_vec())
    }

    #[test]
    fn parts_add_up_where_all_are_known() {
        let register = Quantity::EnergyImport(None);
        let mut readings = Readings {
            starts: vec![0, 900, 1800],
            interval_s: 900,
            columns: vec![
                column(register, &[Some(10.0), Some(11.0), None]),
                column(Quantity::Frequency, &[Some(50.0); 3]),
                column(register, &[Some(5.0), Some(5.5), Some(6.0)]),
            ],
        };
        readings.add_up_parts();
        assert_eq!(readings.columns.len(), 2);
        assert_eq!(
            readings.get(register),
            Some(&[Some(15.0), Some(16.5), None][..])
        );
    }

    /// 2 + 3 + 4 kW for a quarter of an hour: without one phase the interval's energy is unknown.
    #[test]
    fn leaving_a_phase_out_takes_the_energy_of_all_three() {
        let power = |phase| Quantity::ActivePower(Some(phase));
        let mut readings = Readings {
            starts: vec![0, 900],
            interval_s: 900,
            columns: vec![
                column(power(Phase::L1), &[Some(2.0); 2]),
                column(power(Phase::L2), &[Some(3.0); 2]),
                column(power(Phase::L3), &[Some(4.0); 2]),
            ],
        };
        let mut cells = Cells::default();
        cells.add(power(Phase::L2), vec![1]);
        assert_eq!(readings.leave_out(&cells), Some(-2.25));
        assert_eq!(readings.get(power(Phase::L2)), Some(&[Some(3.0), None][..]));
    }

    #[test]
    fn steps_of_columns() {
        let readings = |step: f64| -> Vec<Option<f64>> {
            (0..50)
                .map(|count| Some(200.0 + f64::from(count) * step))
                .collect()
        };
        assert!((step_of(&readings(0.1)) - 0.1).abs() < 1e-12);
        assert!((step_of(&readings(0.001)) - 0.001).abs() < 1e-12);
        assert!(step_of(&readings(1.0 / 3.0)).abs() < 1e-12);
        // Two round readings show little: half of a hundredth of 230.
        let few = [Some(230.0), Some(220.0)];
        assert!((step_of(&few) - 10.0).abs() < 1e-12);
        assert!((rounding_of(&few) - 1.15).abs() < 1e-12);
        assert!((rounding_of(&readings(0.1)) - 0.05).abs() < 1e-12);
    }
}
