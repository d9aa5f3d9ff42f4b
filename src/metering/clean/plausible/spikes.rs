//! Readings far beyond what the supply can carry.

use super::PlausibilityCheck;
use super::bounds::{DENIED_MULTIPLE, DENYING_SHARE};
use crate::clean::readings::{Cells, Readings};
use electrical::Phase;
use site::Quantity;

/// Leaves out what cannot have flowed, and what stands out for one interval while the other
/// readings of that interval deny it.
pub(super) fn spikes(work: &mut PlausibilityCheck<'_>, doubted: &[Quantity]) {
    let mut cells = Cells::default();
    for quantity in work.readings.quantities() {
        if doubted.contains(&quantity) {
            continue;
        }
        let Some(most) = work.nominal.impossible(quantity, work.readings.hours()) else {
            continue;
        };
        let mut rows = beyond(work.readings, quantity, most);
        rows.extend(denied(work, quantity));
        rows.sort_unstable();
        rows.dedup();
        cells.add(quantity, rows);
    }
    let names: Vec<String> = cells.of.iter().map(|(of, _)| format!("`{of}`")).collect();
    work.leave_out(
        "spike",
        &cells.rows(),
        &cells,
        &format!(
            "readings far beyond the capacity of the supply, in {}",
            names.join(", ")
        ),
        "excluded",
    );
}

/// Means or single samples above what can be.
fn beyond(readings: &Readings, quantity: Quantity, most: f64) -> Vec<usize> {
    let Some(column) = readings.column(quantity) else {
        return Vec::new();
    };
    let means = column.values.iter().enumerate();
    let means = means.filter(|(_, value)| value.is_some_and(|value| value.abs() > most));
    let largest = column.samples.max.iter().enumerate();
    let largest = largest.filter(|(_, value)| f64::from(value.abs()) > most);
    let means = means.map(|(row, _)| row);
    means.chain(largest.map(|(row, _)| row)).collect()
}

/// Currents and powers above some multiple of the limit for one interval alone, of which the other
/// quantity of that phase explains less than half.
fn denied(work: &PlausibilityCheck<'_>, quantity: Quantity) -> Vec<usize> {
    let readings = &*work.readings;
    let nominal = work.nominal;
    let (phase, limit) = match quantity {
        Quantity::Current(phase) => (phase, nominal.phase_limit_a),
        Quantity::ActivePower(Some(phase)) => (phase, nominal.phase_limit_kva()),
        _ => return Vec::new(),
    };
    let (Some(values), Some(explained)) = (
        readings.get(quantity),
        explained(readings, quantity, phase, nominal.phase_voltage_v),
    ) else {
        return Vec::new();
    };
    let high = |row: usize| values[row].is_some_and(|value| value.abs() > DENIED_MULTIPLE * limit);
    (0..values.len())
        .filter(|&row| {
            let neighbour_is_high =
                row > 0 && high(row - 1) || row + 1 < values.len() && high(row + 1);
            let denied = values[row]
                .zip(explained[row])
                .is_some_and(|(value, other)| other < DENYING_SHARE * value.abs());
            high(row) && !neighbour_is_high && denied
        })
        .collect()
}

/// What the other readings of the phase say of a current (A) or a power (kW): the apparent power at
/// nominal voltage.
fn explained(
    readings: &Readings,
    quantity: Quantity,
    phase: Phase,
    volts: f64,
) -> Option<Vec<Option<f64>>> {
    if quantity == Quantity::Current(phase) {
        let power = readings.get(Quantity::ActivePower(Some(phase)))?;
        // Without reactive power a current may be reactive: nothing denies it.
        let reactive = readings.get(Quantity::ReactivePower(Some(phase)))?;
        let pairs = power.iter().zip(reactive);
        return Some(
            pairs
                .map(|(kw, kvar)| Some((*kw)?.hypot((*kvar)?) * 1000.0 / volts))
                .collect(),
        );
    }
    let current = readings.get(Quantity::Current(phase))?;
    Some(
        current
            .iter()
            .map(|amps| amps.map(|amps| amps * volts / 1000.0))
            .collect(),
    )
}
