//! Which machines made up the load of a half-hour: measured, estimated, unmetered.

use super::machine_power::{declared_kw, machine_power};
use super::view::View;
use analysis::Values;
use electrical::Phase;
use metering::{IntervalTable, Logs};
use site::{Connection, Quantity, Site};

/// One machine's part, or the unmetered part.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Contributor {
    pub(super) name: String,
    pub(super) amps: f64,
    pub(super) basis: &'static str,
}

/// Smaller parts are left with the rest. (A)
const LEAST_A: f64 = 0.5;

impl Contributor {
    pub(super) fn is_measured(&self) -> bool {
        self.basis.starts_with("measured")
    }
}

/// Active current of each machine on a phase over a half-hour, largest first; last the unmetered part.
/// Active currents add up; magnitudes do not. Where the meters of the machines show more than the whole, there is no
/// unmetered part. (A)
pub(super) fn contributors(
    view: &View<'_>,
    logs: &Logs,
    phase: Phase,
    (from, to): (i64, i64),
) -> Vec<Contributor> {
    let site = view.site;
    let Some(node) = view.node() else {
        return Vec::new();
    };
    let mut parts: Vec<Contributor> = (0..site.machines.len())
        .filter(|&index| {
            let machine = &site.machines[index];
            machine.loads(phase) && site.is_within(machine.tapped_off, node)
        })
        .filter_map(|index| part(site, logs, index, (from, to)))
        .filter(|part| part.amps >= LEAST_A)
        .collect();
    let whole = view
        .table()
        .values(Quantity::ActivePower(Some(phase)))
        .and_then(|power| mean(view.table().starts(), &Values::Logged(power), (from, to)))
        .map(|kw| kw * 1000.0 / site.supply.phase_voltage_v());
    if let Some(whole) = whole {
        cap_estimates(&mut parts, whole);
    }
    parts.sort_by(|a, b| b.amps.total_cmp(&a.amps).then(a.name.cmp(&b.name)));
    let known: f64 = parts.iter().map(|part| part.amps).sum();
    // Where the machines' own meters show more than the whole, nothing is left to be unmetered.
    if let Some(whole) = whole.filter(|whole| *whole >= known) {
        parts.push(Contributor {
            name: "Unmetered".to_owned(),
            amps: whole - known,
            basis: "unmetered",
        });
    }
    parts
}

/// Cuts what is estimated, all by the same factor, to what the measured machines leave of the whole.
fn cap_estimates(parts: &mut Vec<Contributor>, whole: f64) {
    let sum = |measured: bool| -> f64 {
        let of = parts.iter().filter(|part| part.is_measured() == measured);
        of.map(|part| part.amps).sum()
    };
    let (left, estimated) = ((whole - sum(true)).max(0.0), sum(false));
    if estimated > left {
        for part in parts.iter_mut().filter(|part| !part.is_measured()) {
            part.amps *= left / estimated;
        }
        parts.retain(|part| part.is_measured() || part.amps >= LEAST_A);
    }
}

fn part(site: &Site, logs: &Logs, index: usize, span: (i64, i64)) -> Option<Contributor> {
    let machine = &site.machines[index];
    let measured = site
        .machine_meter(index)
        .and_then(|meter| logs.of(meter))
        .and_then(|log| machine_power_kw(&log.table, span));
    let (kw, basis) = match measured {
        Some(kw) => (kw, "measured"),
        None => (declared_kw(site, machine, span), "estimated"),
    };
    Some(Contributor {
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
        Connection::Any | Connection::AnyPair | Connection::Unknown => None,
    }
}

fn machine_power_kw(table: &IntervalTable, span: (i64, i64)) -> Option<f64> {
    mean(table.starts(), &machine_power(table)?, span)
}

/// Mean over the intervals that begin in the span.
fn mean(starts: &[i64], values: &Values<'_>, (from, to): (i64, i64)) -> Option<f64> {
    let first = starts.partition_point(|&start| start < from);
    let last = starts.partition_point(|&start| start < to);
    let known: Vec<f64> = (first..last).filter_map(|row| values.get(row)).collect();
    (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
}
