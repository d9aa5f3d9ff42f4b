//! Channels that are constant while what belongs to them moves.

use super::PlausibilityCheck;
use super::bounds::{FLAT_DENIED_SHARE, FLAT_HOURS, FLAT_READINGS, FLAT_STEPS, FLAT_VOLTAGE_STEPS};
use crate::clean::readings::{Cells, Readings, different, step_of};
use site::Quantity;

/// Leaves out currents and powers that are constant to the last digit while the other of the two
/// moves, and reports voltages that do: the logger may have a fixed one as a setting.
pub(super) fn flat_lines(work: &mut PlausibilityCheck<'_>) {
    let mut cells = Cells::default();
    let mut voltages: Vec<usize> = Vec::new();
    for quantity in work.readings.quantities() {
        let readings = &*work.readings;
        match quantity {
            Quantity::Voltage(_) | Quantity::LineVoltage(_) => {
                let runs = still(readings, quantity);
                let moving = runs
                    .into_iter()
                    .filter(|run| another_moves(readings, quantity, run));
                voltages.extend(moving.flatten());
            }
            Quantity::Current(phase) => {
                let partner = Quantity::ActivePower(Some(phase));
                cells.add(quantity, denied(readings, quantity, partner));
            }
            Quantity::ActivePower(Some(phase)) => {
                cells.add(
                    quantity,
                    denied(readings, quantity, Quantity::Current(phase)),
                );
            }
            _ => {}
        }
    }
    voltages.sort_unstable();
    voltages.dedup();
    work.report(
        "flat-voltage",
        &voltages,
        "a voltage constant to the last digit for many hours while other readings change: a frozen input or a fixed value; kept"
            .to_owned(),
    );
    work.leave_out(
        "flat-line",
        &cells.rows(),
        &cells,
        "a current constant to the last digit for many hours while the power changes, or the reverse",
        "the constant readings are excluded",
    );
}

type RowRange = std::ops::Range<usize>;

/// Long runs of one value that is finely resolved.
fn still(readings: &Readings, quantity: Quantity) -> Vec<RowRange> {
    let Some(values) = readings.get(quantity) else {
        return Vec::new();
    };
    let step = step_of(values);
    let voltage = matches!(quantity, Quantity::Voltage(_) | Quantity::LineVoltage(_));
    // One value throughout has no step to learn.
    let steps = match (voltage, different(values, 2)) {
        (true, 1) => 0.0,
        (true, _) => FLAT_VOLTAGE_STEPS,
        (false, _) => FLAT_STEPS,
    };
    let mut runs = Vec::new();
    let mut from = 0;
    while from < values.len() {
        let mut to = from + 1;
        while to < values.len() && values[to] == values[from] {
            to += 1;
        }
        let hours = (readings.starts[to - 1] - readings.starts[from]) as f64 / 3600.0;
        let fine = values[from].is_some_and(|value| value.abs() >= steps * step && value != 0.0);
        if fine && hours >= FLAT_HOURS && to - from >= FLAT_READINGS {
            runs.push(from..to);
        }
        from = to;
    }
    runs
}

/// Does another level change in at least every second interval of the run?
fn another_moves(readings: &Readings, still: Quantity, run: &RowRange) -> bool {
    readings
        .quantities()
        .into_iter()
        .filter(|&other| {
            other != still
                && matches!(
                    other,
                    Quantity::Voltage(_) | Quantity::LineVoltage(_) | Quantity::Current(_)
                )
        })
        .filter_map(|other| readings.get(other))
        .any(|values| {
            let moves = values[run.clone()]
                .windows(2)
                .filter(|pair| pair[0] != pair[1]);
            moves.count() * 2 >= run.len()
        })
}

/// Rows of long runs during which the partner moves by more than voltage and power factor explain.
fn denied(readings: &Readings, quantity: Quantity, partner: Quantity) -> Vec<usize> {
    let Some(partner) = readings.get(partner) else {
        return Vec::new();
    };
    let moves = |run: &RowRange| {
        let known = || {
            partner[run.clone()]
                .iter()
                .flatten()
                .map(|value| value.abs())
        };
        let (low, high) = (
            known().fold(f64::INFINITY, f64::min),
            known().fold(0.0, f64::max),
        );
        high - low > FLAT_DENIED_SHARE * high
    };
    let runs = still(readings, quantity).into_iter();
    runs.filter(moves).flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intervals::closed_columns::GatheredColumn;
    use electrical::Phase;

    #[test]
    fn a_coarse_value_may_stand_still() {
        let column = |quantity: Quantity, value: &dyn Fn(usize) -> f64| {
            let values = (0..100).map(|row| Some(value(row))).collect();
            GatheredColumn::new(quantity.name(), values)
        };
        let power = Quantity::ActivePower(Some(Phase::L1));
        let current = Quantity::Current(Phase::L1);
        let readings = |kw: f64| Readings {
            starts: (0..100).map(|row| row * 900).collect(),
            interval_s: 900,
            columns: vec![
                column(power, &|row| if row < 50 { kw } else { kw + 0.01 }),
                column(current, &|row| 1.0 + (row % 7) as f64),
            ],
        };
        // 0.05 kW are five steps of 0.01 kW; 2.05 kW are 205.
        assert!(denied(&readings(0.05), power, current).is_empty());
        assert_eq!(denied(&readings(2.05), power, current).len(), 100);
    }
}
