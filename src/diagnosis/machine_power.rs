//! What a machine draws: by its own log, or as the list declares it.

use chrono::TimeZone;

use analysis::Values;
use electrical::Phase;
use metering::{IntervalTable, Logged};
use site::{Machine, Quantity, Site};

/// Power of a machine's log, the sum of the phases that it has where no total is logged. (kW)
pub(super) fn machine_power(table: &IntervalTable) -> Option<Values<'_>> {
    if let Some(total) = table.values(Quantity::ActivePower(None)) {
        return Some(Values::Logged(total));
    }
    let phases: Vec<Logged<'_>> = Phase::ALL
        .into_iter()
        .filter_map(|phase| table.values(Quantity::ActivePower(Some(phase))))
        .collect();
    let rows = 0..phases.first()?.len();
    let sum = |row| phases.iter().map(|phase| phase.get(row)).sum();
    Some(Values::Computed(rows.map(sum).collect()))
}

/// Rating × utilisation factor × the share of the block in which the schedule runs. (kW)
pub(super) fn declared_kw(site: &Site, machine: &Machine, (from, to): (i64, i64)) -> f64 {
    let rated = machine.rated_power(site.supply.phase_voltage_v()).re
        * machine.utilisation_factor
        * machine.flow();
    let Some(schedule) = machine.schedule.map(|index| &site.schedules[index]) else {
        return rated;
    };
    let minutes = ((to - from) / 60).max(1);
    let running = (0..minutes)
        .filter(|minute| {
            site.timezone
                .timestamp_opt(from + 60 * minute, 0)
                .single()
                .is_some_and(|time| schedule.runs_at(time.naive_local(), &site.holidays))
        })
        .count();
    rated * running as f64 / minutes as f64
}
