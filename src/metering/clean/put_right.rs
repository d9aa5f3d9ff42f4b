//! From the gathered columns of a meter to its clean table: registers corrected, parts added up,
//! what cannot be left out, what is missing derived.

use super::derive::{Ground, derive};
use super::plausible::{self, Nominal};
use super::readings::{Readings, is_register};
use super::register::{self, RegisterRules, counted, last_digit};
use super::register_check::{self, CheckGround, RegisterCheck};
use super::spread::spread;
use crate::intervals::closed_columns::GatheredColumn;
use crate::logged_column::LoggedColumn;
use crate::table::interval_table::IntervalTable;
use crate::table::quality::QualityEntry;
use crate::time::grid::Grid;
use electrical::Phase;
use site::{Connection, Measured, Meter, Node, Quantity, QuantityKind, ReadingKind, Site, Stamp};

/// A meter's readings corrected.
#[derive(Debug)]
pub(crate) struct Clean {
    pub(crate) table: IntervalTable,
    /// Consumption from the register of energy drawn, its parts added up. \[kWh\]
    pub(crate) register_energy_kwh: Option<f64>,
    /// Last digit of that register. \[kWh\]
    pub(crate) register_step_kwh: Option<f64>,
    pub(crate) register_check: Option<RegisterCheck>,
    pub(crate) quality: Vec<QualityEntry>,
}

/// Puts the columns of a meter right.
pub(crate) fn clean(
    site: &Site,
    meter: &Meter,
    grid: Grid,
    used: &[LoggedColumn],
    starts: Vec<i64>,
    columns: Vec<GatheredColumn>,
    window: (i64, i64),
) -> Clean {
    let mut readings = Readings {
        starts,
        interval_s: grid.base_s,
        columns,
    };
    let may_return = logs_what_is_returned(&readings);
    let nominal = Nominal::of(site, may_return);
    let mut quality = Vec::new();
    let step_kwh = put_registers_right(&mut readings, meter, used, &nominal, &mut quality);
    readings.add_up_parts();
    match grid.spread_from_s {
        Some(every_s) => spread(&mut readings, grid.stamp, every_s, site.timezone, window),
        None => quality.extend(plausible::check(
            &mut readings,
            &nominal,
            meter.plausibility,
        )),
    }
    let registers_alone = readings.quantities().iter().all(|quantity| {
        quantity.kind() == QuantityKind::Register || *quantity == Quantity::EstimatedShare
    });
    let mut table = IntervalTable::new(readings.starts, grid.base_s as u32, readings.columns);
    table.set_resolution(grid.logged_every_s().max(grid.base_s));
    let closes = register_closes(grid);
    table.set_edges(registers_alone && closes, registers_alone && !closes);
    let ground = Ground {
        three_phase: site.is_three_phase(meter.measures),
        to_neutral: flows_to_neutral(site, meter.measures),
        phase_voltage_v: nominal.phase_voltage_v,
        may_return,
        register_closes: closes,
    };
    derive(&mut table, &ground);
    let register = table.values(Quantity::EnergyImport(None));
    let checked = register.and_then(|counts| {
        let power = Quantity::ActivePower(None);
        let power_kw = table
            .values(power)
            .filter(|_| !table.is_of_register(power))?;
        let ground = CheckGround {
            class_pct: meter.class_pct,
            step_kwh: step_kwh.unwrap_or(0.0),
            interval_s: grid.base_s,
        };
        let power_kw = |row: usize| power_kw.get(row);
        register_check::check(table.starts(), counts.iter(), power_kw, ground)
    });
    let mut register_check = None;
    if let Some((check, found)) = checked {
        register_check = Some(check);
        quality.extend(found);
    }
    Clean {
        register_energy_kwh: register.and_then(|counts| counted(counts.iter())),
        register_step_kwh: step_kwh,
        register_check,
        table,
        quality,
    }
}

/// Unwinds every register; gives the last digits of the registers of energy drawn, added up.
fn put_registers_right(
    readings: &mut Readings,
    meter: &Meter,
    used: &[LoggedColumn],
    nominal: &Nominal,
    quality: &mut Vec<QualityEntry>,
) -> Option<f64> {
    let mut step_kwh = None;
    let phases = Phase::ALL.map(|phase| Quantity::EnergyImport(Some(phase)).name());
    let has_total = readings.column(Quantity::EnergyImport(None)).is_some();
    let total = Quantity::EnergyImport(None).name();
    let names: Vec<String> = readings
        .columns
        .iter()
        .map(|column| column.name.clone())
        .collect();
    for (index, column) in readings.columns.iter_mut().enumerate() {
        if !is_register(&column.name) {
            continue;
        }
        let same = |name: &&String| **name == column.name;
        let part = names[..index].iter().filter(same).count();
        let named = column.name != total || names.iter().filter(same).count() > 1;
        let factor = factor_of(used, &column.name, part);
        let rules = RegisterRules {
            factor,
            digits: meter.register_digits,
            limit_kw: 3.0 * nominal.phase_limit_kva(),
        };
        if column.name == total || !has_total && phases.contains(&column.name) {
            *step_kwh.get_or_insert(0.0) += last_digit(&column.values, factor);
        }
        let unwound = register::unwind(&readings.starts, &column.values, rules);
        column.values = unwound.counts;
        quality.extend(unwound.quality.into_iter().map(|entry| {
            if named {
                let note = format!("`{}`: {}", shown_name(used, &column.name, part), entry.note);
                QualityEntry { note, ..entry }
            } else {
                entry
            }
        }));
    }
    step_kwh
}

/// The column of the log behind a part of a quantity.
fn column_of<'u>(used: &'u [LoggedColumn], name: &str, part: usize) -> Option<&'u LoggedColumn> {
    let mut own = used.iter().filter(|column| column.quantity.name() == name);
    own.nth(part)
}

/// Factor between a register's own figures and those of the table.
fn factor_of(used: &[LoggedColumn], name: &str, part: usize) -> f64 {
    let factor = column_of(used, name, part).map_or(1.0, |column| column.scale.abs());
    if factor > 0.0 { factor } else { 1.0 }
}

/// Name of the register's column in the log, or of its quantity.
fn shown_name(used: &[LoggedColumn], name: &str, part: usize) -> String {
    column_of(used, name, part).map_or_else(|| name.to_owned(), |column| column.column.clone())
}

/// True where what is measured may export, because the meter logs export.
fn logs_what_is_returned(readings: &Readings) -> bool {
    let places = [None, Some(Phase::L1), Some(Phase::L2), Some(Phase::L3)];
    readings.get(Quantity::EnergyExport).is_some()
        || readings.get(Quantity::EnergyExportInterval).is_some()
        || places
            .into_iter()
            .any(|place| readings.get(Quantity::ActivePowerExport(place)).is_some())
}

/// Do the currents of what is measured flow between phase and neutral (or in star)?
fn flows_to_neutral(site: &Site, measured: Measured) -> bool {
    let connection = match measured {
        Measured::Node(Node::Supply | Node::Board(_)) => return true,
        Measured::Node(Node::Circuit(index)) => site.circuits[index].phases,
        Measured::Machine(index) => site.machines[index].connection,
    };
    !matches!(connection, Connection::Between(_) | Connection::AnyPair)
}

/// A register read at the end of an interval has counted that one; so has the last of several
/// readings within an interval.
fn register_closes(grid: Grid) -> bool {
    let spread = grid.spread_from_s.is_some();
    spread || grid.is_fast() || (grid.readings, grid.stamp) == (ReadingKind::Average, Stamp::End)
}
