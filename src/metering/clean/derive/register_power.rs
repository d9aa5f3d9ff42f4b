//! Power from the steps of registers.

use super::Ground;
use super::column::origin_of;
use crate::clean::register::register_steps;
use crate::table::interval_table::IntervalTable;
use crate::table::logged::Logged;
use site::Quantity;

/// Power from the steps of the registers of energy drawn and, if there is one, returned.
pub(super) fn register_power(table: &mut IntervalTable, ground: &Ground) {
    let net = Quantity::ActivePower(None);
    let drawn = Quantity::EnergyImport(None);
    if table.has(net) || !table.has(drawn) {
        return;
    }
    let mut from = vec![drawn];
    let mut power = steps_as_power(table, drawn, ground);
    if table.has(Quantity::EnergyExport) {
        from.push(Quantity::EnergyExport);
        let returned = steps_as_power(table, Quantity::EnergyExport, ground);
        for (drawn, returned) in power.iter_mut().zip(returned) {
            *drawn = drawn
                .zip(returned)
                .map(|(drawn, returned)| drawn - returned);
        }
    }
    if power.iter().any(Option::is_some) {
        let origin = origin_of(table, &from, None);
        table.add(net, power, origin);
    }
}

fn steps_as_power(table: &IntervalTable, register: Quantity, ground: &Ground) -> Vec<Option<f64>> {
    let counts = table.values(register);
    let counts = counts.into_iter().flat_map(Logged::iter);
    let interval_s = i64::from(table.interval_s());
    let mut power = vec![None; table.len()];
    for step in register_steps(table.starts(), counts) {
        if step.to_s - step.from_s != interval_s {
            continue;
        }
        let start = if ground.register_closes {
            step.to_s
        } else {
            step.from_s
        };
        if let Ok(row) = table.starts().binary_search(&start) {
            power[row] = Some(step.energy_kwh * 3600.0 / interval_s as f64);
        }
    }
    power
}
