//! Is each channel of a meter alive, and is the meter wired as declared?
//!
//! In: the clean tables of the meters. Out: the same logs, in which faults that are certain are corrected and
//! channels that cannot be trusted are left out for as long as they cannot, with the list of faults; the table as it
//! was logged is kept as well. Everything that calculates with a meter comes after this room.
//!
//! Order: is a channel alive → is a current read with its own voltage → is it the right way round → is its ratio as
//! declared → did loads change phase, did a generator or another logger run, are the times those of the zone. Each question is asked of what the ones before it have left, and each over time, since faults begin and end.

mod alive;
mod balanced_steps;
mod channels;
mod correct;
mod direction;
mod exchange;
mod gain;
mod loggers;
mod pairing;
mod quality;
mod runs;
mod series;
mod standby;
mod steps;
mod stuck;
#[cfg(test)]
mod tests;
mod time_zone;

use channels::Channels;
use message::Messages;
use metering::{FaultKind, Logs, MeterFault, MeterLog, Period, Treatment};
use rayon::prelude::*;
use site::{Measured, Quantity, Site};

/// Reads the logs of a site's meters and checks each meter.
pub fn read_logs(site: &Site, period: Period, messages: &mut Messages) -> Logs {
    let mut logs = metering::read_logs(site, period, messages);
    verify(site, &mut logs);
    logs
}

/// Checks every meter of a site and corrects or leaves out what is wrong.
pub fn verify(site: &Site, logs: &mut Logs) {
    let logs = logs.meters.par_iter_mut();
    logs.for_each(|log| verify_meter(site, log));
}

fn verify_meter(site: &Site, log: &mut MeterLog) {
    let meter = &site.meters[log.meter];
    let is_machine = matches!(meter.measures, Measured::Machine(_));
    let exports = [Quantity::EnergyExport, Quantity::ActivePowerExport(None)];
    let generates = site.generates_at(meter.measures);
    let ground = DeclaredHere {
        is_machine: is_machine && !generates,
        generates,
        counts_export: exports.iter().any(|&quantity| log.table.has(quantity)),
        nominal_v: site.supply.phase_voltage_v(),
    };
    let mut channels = Channels::of(&log.table);
    // What a channel resolves is seen in the readings as they are logged.
    let mut faults: Vec<MeterFault> = loggers::faults(&channels);
    let mut step = |channels: &mut Channels<'_>, found: Vec<MeterFault>| {
        for fault in &found {
            correct::apply(channels, fault);
        }
        faults.extend(found);
    };
    let found = alive::faults(&channels, &ground);
    step(&mut channels, found);
    let found = pairing::faults(&channels, &ground);
    step(&mut channels, found);
    let found = one_if_all(direction::faults(&channels, &ground));
    step(&mut channels, found);
    let found = gain::faults(&channels);
    step(&mut channels, found);
    let found = balanced_steps::faults(&channels, &ground);
    step(&mut channels, found);
    // What is no fault of a channel, and leaves the readings as they are.
    let found = exchange::faults(&channels, &ground);
    step(&mut channels, found);
    let found = standby::faults(&channels);
    step(&mut channels, found);
    if meter.measures == Measured::SUPPLY {
        let found = time_zone::faults(&channels, site);
        step(&mut channels, found);
    }
    if faults.is_empty() {
        return;
    }
    let changed = faults
        .iter()
        .any(|fault| fault.remedy != Treatment::Reported);
    let table = if changed {
        correct::table(&log.table, &channels, &faults)
    } else {
        log.table.clone()
    };
    quality::note(log, &table, &faults, meter.measures == Measured::SUPPLY);
    log.rest_on(table, faults);
}

/// Three transformers reversed over the same time are one fault of the meter.
fn one_if_all(faults: Vec<MeterFault>) -> Vec<MeterFault> {
    let [first, second, third] = faults.as_slice() else {
        return faults;
    };
    let alike = |other: &MeterFault| {
        (&other.kind, &other.rows, other.remedy) == (&first.kind, &first.rows, first.remedy)
    };
    if first.kind != FaultKind::Reversed || !alike(second) || !alike(third) {
        return faults;
    }
    let number = |fault: &MeterFault, name: &str| {
        let own = fault.evidence.iter().find(|(own, _)| *own == name);
        own.map(|(_, value)| *value)
    };
    let all = |name: &'static str| faults.iter().filter_map(move |fault| number(fault, name));
    let evidence = vec![
        (
            direction::SHARE,
            all(direction::SHARE).fold(f64::INFINITY, f64::min),
        ),
        (direction::ENERGY, all(direction::ENERGY).sum()),
    ];
    vec![MeterFault {
        phase: None,
        evidence,
        ..first.clone()
    }]
}

/// What is declared about a meter and its place.
#[derive(Clone, Copy, Debug)]
struct DeclaredHere {
    /// It measures one machine.
    is_machine: bool,
    /// What it measures may generate, as the machine list says.
    generates: bool,
    /// It counts energy in both directions.
    counts_export: bool,
    /// Nominal voltage to neutral. (V)
    nominal_v: f64,
}
