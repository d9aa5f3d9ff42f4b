//! Which machines made up the load of a block: measured, declared, unknown.

use chrono::TimeZone;

use crate::view::{Series, View};
use electrical::Phase;
use metering::{IntervalTable, Logs};
use site::{Connection, Machine, Quantity, Site};

/// One machine's part, or the remainder.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Part {
    pub(crate) name: String,
    pub(crate) amps: f64,
    pub(crate) basis: &'static str,
}

/// Active current of each machine on a phase over a block, largest first, and what is left of the
/// block's current. Active currents add up; magnitudes would not. (A)
pub(crate) fn makers(
    view: &View<'_>,
    logs: &Logs,
    phase: Phase,
    (from, to): (i64, i64),
) -> Vec<Part> {
    let site = view.site;
    let Some(node) = view.node() else {
        return Vec::new();
    };
    let mut parts: Vec<Part> = (0..site.machines.len())
        .filter(|&index| {
            let machine = &site.machines[index];
            machine.loads(phase) && site.is_within(machine.tapped_off, node)
        })
        .filter_map(|index| part(site, logs, index, (from, to)))
        .filter(|part| part.amps >= 0.5)
        .collect();
    parts.sort_by(|a, b| b.amps.total_cmp(&a.amps).then(a.name.cmp(&b.name)));
    let whole = view
        .table()
        .values(Quantity::ActivePower(Some(phase)))
        .and_then(|power| mean(view.table().starts(), &power, (from, to)))
        .map(|kw| kw * 1000.0 / site.supply.phase_voltage_v());
    if let Some(whole) = whole {
        let known: f64 = parts.iter().map(|part| part.amps).sum();
        parts.push(Part {
            name: "everything else".to_owned(),
            amps: whole - known,
            basis: "remainder",
        });
    }
    parts
}

fn part(site: &Site, logs: &Logs, index: usize, span: (i64, i64)) -> Option<Part> {
    let machine = &site.machines[index];
    let measured = site
        .machine_meter(index)
        .and_then(|meter| logs.of(meter))
        .and_then(|log| machine_power_kw(&log.table, span));
    let (kw, basis) = match measured {
        Some(kw) if kw < 0.0 => (-kw, "measured, sign reversed"),
        Some(kw) => (kw, "measured"),
        None => (declared_kw(site, machine, span), "declared"),
    };
    Some(Part {
        name: machine.name.clone(),
        amps: kw * 1000.0 / volts_per_phase(site, machine.connection)?,
        basis,
    })
}

/// Volts by which a load's whole power is divided for its active current on one of its phases.
fn volts_per_phase(site: &Site, connection: Connection) -> Option<f64> {
    let phase = site.supply.phase_voltage_v();
    match connection {
        Connection::ToNeutral(_) => Some(phase),
        // Half of its power is drawn from either phase.
        Connection::Between(_) => Some(2.0 * phase),
        Connection::ThreePhase { .. } => Some(3.0 * phase),
        Connection::Any | Connection::AnyPair => None,
    }
}

fn machine_power_kw(table: &IntervalTable, span: (i64, i64)) -> Option<f64> {
    mean(table.starts(), &machine_power(table)?, span)
}

/// Power of a machine's log, the sum of the phases that it has where no total is logged. (kW)
pub(crate) fn machine_power(table: &IntervalTable) -> Option<Series> {
    table.values(Quantity::ActivePower(None)).or_else(|| {
        let phases: Vec<Series> = Phase::ALL
            .into_iter()
            .filter_map(|phase| table.values(Quantity::ActivePower(Some(phase))))
            .collect();
        let rows = phases.first()?.len();
        Some(
            (0..rows)
                .map(|row| phases.iter().map(|series| series[row]).sum())
                .collect(),
        )
    })
}

/// Rating × utilisation factor × the share of the block in which the schedule runs. (kW)
pub(crate) fn declared_kw(site: &Site, machine: &Machine, (from, to): (i64, i64)) -> f64 {
    let rated = machine.rated_power(site.supply.phase_voltage_v()).re * machine.utilisation_factor;
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

/// Mean over the intervals that begin in the span.
fn mean(starts: &[i64], values: &Series, (from, to): (i64, i64)) -> Option<f64> {
    let first = starts.partition_point(|&start| start < from);
    let last = starts.partition_point(|&start| start < to);
    let known: Vec<f64> = values[first..last].iter().copied().flatten().collect();
    (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
}
