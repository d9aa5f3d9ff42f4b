//! The current of each machine over the analysis intervals: measured where it has a meter, else from
//! its schedule, rating and utilisation factor.

use chrono::TimeZone;
use num_complex::Complex64;

use super::grid::{AnalysisGrid, Lookup};
use super::three_wire::without_neutral;
use crate::problem::currents::Currents;
use analysis::MeterAnalysis;
use electrical::Phase;
use metering::{IntervalTable, Logged, Logs, MeterLog};
use site::{Connection, Machine, Quantity, Site};
use units::Basis;

/// One machine over the analysis intervals.
#[derive(Clone, Debug)]
pub(crate) struct Profile {
    /// Fundamental currents at turn 0, each relative to its own phase voltage. (A)
    pub(crate) currents: Currents,
    /// Active power, all phases together. (kW)
    pub(crate) power_kw: Vec<f64>,
    pub(crate) basis: Basis,
    /// Energy that its own meter saw, over all of its readings. (kWh)
    pub(crate) metered_kwh: Option<f64>,
    /// Measured phases that differ: a cyclic shift changes something.
    pub(crate) phases_differ: bool,
}

/// Complex power P + jQ of an interval [kW, kvar] and, where logged, the current's magnitude. (A)
#[derive(Clone, Copy, Debug)]
pub(crate) struct MachineDraw {
    pub(crate) power: Complex64,
    pub(crate) current_a: Option<f64>,
}

/// The profile of a machine, with notes on what was assumed.
pub(crate) fn profile(
    site: &Site,
    logs: &Logs,
    grid: &AnalysisGrid,
    index: usize,
    notes: &mut Vec<String>,
) -> Profile {
    let machine = &site.machines[index];
    let declared = declared_draws(site, grid, machine);
    let log = site.machine_meter(index).and_then(|meter| logs.of(meter));
    if let Some(log) = log {
        let id = &site.meters[log.meter].id;
        if let Some(per_phase) = three_phase_profile(grid, machine, log) {
            return Profile {
                metered_kwh: metered_kwh(log),
                ..per_phase
            };
        }
        let draws = measured_draws(site, machine, &log.table)
            .map(|draws| towards_the_source(machine, id, draws, notes));
        match draws {
            Some(draws) if mean_power(&draws) < 0.0 && !machine.generates() => notes.push(format!(
                "meter `{id}` shows export by `{}` on average, which a load cannot do: its log is excluded and the figures of \
                 the machine list are used (a current transformer may be reversed)",
                machine.name
            )),
            Some(draws) => {
                let measured = measured_profile(site, grid, machine, &log.table, &draws, &declared, notes);
                return Profile {
                    metered_kwh: metered_kwh(log),
                    ..measured
                };
            }
            None => notes.push(format!(
                "the log of meter `{id}` has neither power nor current of `{}`: the machine list's figures are used",
                machine.name
            )),
        }
    }
    from_draws(site, machine, &declared, listed_basis(machine))
}

/// What a machine's figures stand on where only the machine list has them.
pub(crate) fn listed_basis(machine: &Machine) -> Basis {
    if machine.schedule.is_some() {
        Basis::Estimated
    } else {
        Basis::RatingOnly
    }
}

fn metered_kwh(log: &MeterLog) -> Option<f64> {
    MeterAnalysis::of(log).net_power().net_energy_kwh(log)
}

/// The draws of generation, whose own meter may count what it gives as positive.
fn towards_the_source(
    machine: &Machine,
    meter: &str,
    draws: Vec<Option<MachineDraw>>,
    notes: &mut Vec<String>,
) -> Vec<Option<MachineDraw>> {
    if !machine.generates() || mean_power(&draws) <= 0.0 {
        return draws;
    }
    notes.push(format!(
        "meter `{meter}` counts what `{}` generates as positive: it is taken as flowing towards the source",
        machine.name
    ));
    let turned = |draw: MachineDraw| MachineDraw {
        power: -draw.power,
        ..draw
    };
    draws.into_iter().map(|draw| draw.map(turned)).collect()
}

fn mean_power(draws: &[Option<MachineDraw>]) -> f64 {
    let known: Vec<f64> = draws.iter().flatten().map(|draw| draw.power.re).collect();
    known.iter().sum::<f64>() / known.len().max(1) as f64
}

/// Rating × utilisation factor while the schedule runs.
pub(crate) fn declared_draws(
    site: &Site,
    grid: &AnalysisGrid,
    machine: &Machine,
) -> Vec<MachineDraw> {
    let rated = machine.rated_power(site.supply.phase_voltage_v())
        * machine.utilisation_factor
        * machine.flow();
    let schedule = machine.schedule.map(|index| &site.schedules[index]);
    let off = MachineDraw {
        power: Complex64::ZERO,
        current_a: None,
    };
    let on = MachineDraw {
        power: rated,
        current_a: None,
    };
    grid.starts
        .iter()
        .map(|&start| {
            let runs = schedule.is_none_or(|schedule| {
                let local = site
                    .timezone
                    .timestamp_opt(start, 0)
                    .single()
                    .map(|time| time.naive_local());
                local.is_some_and(|local| schedule.runs_at(local, &site.holidays))
            });
            if runs { on } else { off }
        })
        .collect()
}

/// Power and current of a machine's own log, row by row of the log.
fn measured_draws(
    site: &Site,
    machine: &Machine,
    table: &IntervalTable,
) -> Option<Vec<Option<MachineDraw>>> {
    let one_phase = |quantity: fn(Phase) -> Quantity| -> Option<Logged<'_>> {
        let mut logged = Phase::ALL
            .into_iter()
            .filter_map(|phase| table.values(quantity(phase)));
        match (logged.next(), logged.next()) {
            (Some(only), None) => Some(only),
            _ => None,
        }
    };
    let active = table
        .values(Quantity::ActivePower(None))
        .or_else(|| one_phase(|phase| Quantity::ActivePower(Some(phase))));
    let reactive = table
        .values(Quantity::ReactivePower(None))
        .or_else(|| one_phase(|phase| Quantity::ReactivePower(Some(phase))));
    let current = one_phase(Quantity::Current);
    if active.is_none() && current.is_none() {
        return None;
    }
    let rated = machine.rated_power(site.supply.phase_voltage_v());
    let reactive_share = if rated.re > 0.0 {
        rated.im / rated.re
    } else {
        0.0
    };
    let at = |column: Option<Logged<'_>>, row: usize| column?.get(row);
    Some(
        (0..table.len())
            .map(|row| {
                let current_a = at(current, row);
                let power = if let Some(kw) = at(active, row) {
                    let kvar = at(reactive, row).unwrap_or(kw * reactive_share);
                    Complex64::new(kw, kvar)
                } else {
                    // Only the current is logged: its power follows from the declared power factor.
                    let kva = current_a? * voltage_across(site, machine) / 1000.0;
                    rated / rated.norm() * kva
                };
                Some(MachineDraw { power, current_a })
            })
            .collect(),
    )
}

/// Voltage that drives the machine's own current. (V)
pub(crate) fn voltage_across(site: &Site, machine: &Machine) -> f64 {
    match machine.connection {
        Connection::Between(_) | Connection::AnyPair => site.supply.line_voltage_v,
        Connection::ThreePhase { .. } => 3.0 * site.supply.phase_voltage_v(),
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => {
            site.supply.phase_voltage_v()
        }
    }
}

fn measured_profile(
    site: &Site,
    grid: &AnalysisGrid,
    machine: &Machine,
    table: &IntervalTable,
    draws: &[Option<MachineDraw>],
    declared: &[MachineDraw],
    notes: &mut Vec<String>,
) -> Profile {
    let lookup = Lookup::new(table);
    let mut missing = 0;
    let series: Vec<MachineDraw> = grid
        .starts
        .iter()
        .zip(declared)
        .map(|(&start, fallback)| {
            lookup
                .row(start)
                .and_then(|row| draws[row])
                .unwrap_or_else(|| {
                    missing += 1;
                    *fallback
                })
        })
        .collect();
    if missing > 0 {
        notes.push(format!(
            "`{}` has no reading in {missing} of {} intervals: the machine list's figures are used there",
            machine.name,
            grid.starts.len()
        ));
    }
    from_draws(site, machine, &series, Basis::Measured)
}

/// Currents of a machine from its power, and from its current where that is logged.
pub(crate) fn from_draws(
    site: &Site,
    machine: &Machine,
    draws: &[MachineDraw],
    basis: Basis,
) -> Profile {
    let volts = voltage_across(site, machine);
    // A logged current is rms with its harmonics; the phasor is its fundamental.
    let fundamental = fundamental_share(machine);
    let series: Vec<Complex64> = draws
        .iter()
        .map(|draw| {
            let from_power = draw.power.conj() * 1000.0 / volts;
            match draw.current_a {
                Some(amps) if from_power.norm() > 0.0 => {
                    from_power / from_power.norm() * (amps * fundamental)
                }
                Some(amps) => Complex64::new(amps * fundamental, 0.0),
                None => from_power,
            }
        })
        .collect();
    let currents = match machine.connection {
        Connection::ToNeutral(_) | Connection::Any | Connection::Unknown => {
            Currents::to_neutral(series)
        }
        Connection::Between(_) | Connection::AnyPair => Currents::between_phases(&series),
        Connection::ThreePhase { .. } => {
            Currents::new([Some(series.clone()), Some(series.clone()), Some(series)])
        }
    };
    Profile {
        currents,
        power_kw: draws.iter().map(|draw| draw.power.re).collect(),
        basis,
        metered_kwh: None,
        phases_differ: false,
    }
}

/// The fundamental of a current as a share of its rms value with the third harmonic.
fn fundamental_share(machine: &Machine) -> f64 {
    1.0 / (1.0 + machine.third_harmonic.powi(2)).sqrt()
}

/// A three-phase machine whose own meter has values per phase.
fn three_phase_profile(grid: &AnalysisGrid, machine: &Machine, log: &MeterLog) -> Option<Profile> {
    let table = &log.table;
    if !matches!(machine.connection, Connection::ThreePhase { .. }) {
        return None;
    }
    let phasors = log.phasors()?;
    let power = table.values(Quantity::ActivePower(None))?;
    let lookup = Lookup::new(table);
    let rows: Vec<Option<usize>> = grid.starts.iter().map(|&start| lookup.row(start)).collect();
    let power_kw: Vec<f64> = rows
        .iter()
        .map(|row| row.and_then(|row| power.get(row)))
        .collect::<Option<_>>()?;
    if power_kw.iter().sum::<f64>() < 0.0 {
        return None;
    }
    let fundamental = fundamental_share(machine);
    let series = phasors
        .series
        .each_ref()
        .map(|series| -> Option<Vec<Complex64>> {
            rows.iter()
                .map(|row| {
                    row.and_then(|row| series[row])
                        .map(|amps| amps * fundamental)
                })
                .collect()
        });
    let [l1, l2, l3] = series;
    let mut phases = [l1?, l2?, l3?];
    if !machine.has_neutral {
        for interval in 0..rows.len() {
            let three = phases.each_ref().map(|series| Some(series[interval]));
            for (series, amps) in phases.iter_mut().zip(without_neutral(three)) {
                series[interval] = amps.unwrap_or(series[interval]);
            }
        }
    }
    Some(Profile {
        currents: Currents::new(phases.map(Some)),
        power_kw,
        basis: Basis::Measured,
        metered_kwh: None,
        phases_differ: true,
    })
}
