//! Each kind of finding where it is, where something imitates it, and where it cannot be judged.

mod frequency;
mod kinds;
mod load;
mod neutral;
mod overload;
mod simulated_faults;
mod voltage;
mod wiring;

use super::samples::{Columns, on_phases};
use electrical::Phase;
use site::Quantity;

fn number(finding: &finding::Finding, name: &str) -> f64 {
    finding
        .evidence
        .number(name)
        .unwrap_or_else(|| panic!("no {name} in {finding:?}"))
}

fn active(phase: Phase) -> Quantity {
    Quantity::ActivePower(Some(phase))
}

fn reactive(phase: Phase) -> Quantity {
    Quantity::ReactivePower(Some(phase))
}

/// Voltages, currents, powers of a load in phase with its voltage.
fn resistive(volts: [f64; 3], amps: [f64; 3], rows: usize) -> Columns {
    let power = [0, 1, 2].map(|k| volts[k] * amps[k] / 1000.0);
    let mut columns = on_phases(Quantity::Voltage, volts, rows);
    columns.extend(on_phases(Quantity::Current, amps, rows));
    columns.extend(on_phases(active, power, rows));
    columns.extend(on_phases(reactive, [0.0; 3], rows));
    columns
}

fn set(columns: &mut Columns, quantity: Quantity, rows: std::ops::Range<usize>, value: f64) {
    let column = columns.iter_mut().find(|column| column.0 == quantity);
    for cell in &mut column.expect("the column is there").1[rows] {
        *cell = value;
    }
}
