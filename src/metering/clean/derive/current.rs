//! Current of a phase, where it is not logged.

use super::Ground;
use super::column::add_from;
use super::formulas;
use crate::table::interval_table::IntervalTable;
use electrical::Phase;
use site::Quantity;

/// Current of a phase from its power.
pub(super) fn current(table: &mut IntervalTable, phase: Phase, ground: &Ground) {
    let current = Quantity::Current(phase);
    let apparent = Quantity::ApparentPower(Some(phase));
    let active = Quantity::ActivePower(Some(phase));
    let voltage = Quantity::Voltage(phase);
    let nominal = ground.phase_voltage_v;
    add_from(table, current, &[apparent, voltage], None, |values| {
        formulas::current_of(values[0]?, values[1]?)
    });
    if !ground.to_neutral {
        return;
    }
    let assumption = Some("current computed from apparent power at nominal voltage");
    add_from(table, current, &[apparent], assumption, |values| {
        formulas::current_of(values[0]?, nominal)
    });
    let assumption = Some("current computed from active power at a power factor of 1");
    add_from(table, current, &[active, voltage], assumption, |values| {
        formulas::current_of(values[0]?.abs(), values[1]?)
    });
    let assumption =
        Some("current computed from active power at nominal voltage and a power factor of 1");
    add_from(table, current, &[active], assumption, |values| {
        formulas::current_of(values[0]?.abs(), nominal)
    });
}
