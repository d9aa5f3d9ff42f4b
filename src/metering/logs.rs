//! All logs of a site: which file serves which meters, read once each, finished into tables.

use std::sync::OnceLock;

use chrono::{NaiveDate, TimeZone};
use chrono_tz::Tz;

use super::carbon_factors::{CarbonFactors, read_factors};
use super::clamp::{Round, read_rounds};
use super::gathered::Gathered;
use super::log_files::{Files, files_of_meters, shown, size_of_file};
use super::progress::{Progress, Unwatched};
use crate::clean::register::counted;
use crate::clean::register_check::RegisterCheck;
use crate::header::file_form::FileForm;
use crate::header::names::Reason;
use crate::rows::file_reading::Known;
use crate::rows::parquet::log as parquet_log;
use crate::rows::text_log;
use crate::table::gaps;
use crate::table::gaps::Coverage;
use crate::table::interval_table::IntervalTable;
use crate::table::phasors::{PhasePhasors, phase_phasors};
use crate::table::quality::QualityEntry;
use message::{Messages, Place};
use site::{Meter, Quantity, Site};

/// Which part of the logs is looked at: local dates, the second exclusive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Period {
    /// First local date, inclusive.
    pub from: Option<NaiveDate>,
    /// Last local date, exclusive.
    pub to: Option<NaiveDate>,
}

impl Period {
    /// The period in Unix seconds, half-open.
    pub fn seconds(self, zone: Tz) -> (i64, i64) {
        let midnight = |date: NaiveDate| {
            let local = date.and_hms_opt(0, 0, 0).unwrap_or_default();
            // Where midnight is skipped by the clock change, the day starts an hour later.
            zone.from_local_datetime(&local)
                .earliest()
                .or_else(|| {
                    zone.from_local_datetime(&(local + chrono::Duration::hours(1)))
                        .earliest()
                })
                .map(|time| time.timestamp())
        };
        (
            self.from.and_then(midnight).unwrap_or(i64::MIN),
            self.to.and_then(midnight).unwrap_or(i64::MAX),
        )
    }
}

/// One meter's log, clean.
#[derive(Clone, Debug)]
pub struct MeterLog {
    /// Index of the meter in the site.
    pub meter: usize,
    /// One row per interval.
    pub table: IntervalTable,
    /// Time between readings as logged. (s)
    pub cadence_s: u32,
    /// How much of the time has readings.
    pub coverage: Coverage,
    /// Consumption from the cumulative register. (kWh)
    pub register_energy_kwh: Option<f64>,
    /// Last digit that the register shows. (kWh)
    pub register_step_kwh: Option<f64>,
    /// The register against the power, over the time that both saw.
    pub register_check: Option<RegisterCheck>,
    /// Oddities and what was done about them.
    pub quality: Vec<QualityEntry>,
    /// Columns used.
    pub columns: Vec<LoggedColumn>,
    /// How its files are written.
    pub files: Vec<FileForm>,
    /// Rows of the log.
    pub rows: u64,
    /// Rows that were plain enough for the fast path.
    pub plain_rows: u64,
    /// How its times became intervals, for another pass over its files.
    pub(super) known: Option<Known>,
    /// Nominal voltage to neutral of the supply, where no voltage is logged. (V)
    pub(super) phase_voltage_v: f64,
    /// Worked out when first asked for.
    pub(super) phasors: OnceLock<Option<PhasePhasors>>,
}

impl MeterLog {
    /// The phase currents as phasors; `None` unless each phase has a current or a power.
    pub fn phasors(&self) -> Option<&PhasePhasors> {
        self.phasors
            .get_or_init(|| phase_phasors(&self.table, self.phase_voltage_v))
            .as_ref()
    }
}

/// A column of a log that is used.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggedColumn {
    /// What it holds.
    pub quantity: Quantity,
    /// Its name in the log.
    pub column: String,
    /// The unit that the log names.
    pub unit: Option<String>,
    /// Factor to the unit of the quantity, the correction of current transformers included.
    pub scale: f64,
    /// Why it is taken for the quantity.
    pub reason: Reason,
}

impl MeterLog {
    /// A log of a table that was not read from files.
    #[must_use]
    pub fn of_table(meter: usize, mut table: IntervalTable) -> MeterLog {
        let ground = crate::clean::derive::Ground {
            three_phase: true,
            to_neutral: true,
            phase_voltage_v: 230.0,
            may_return: table.has(Quantity::EnergyExport),
            register_closes: true,
        };
        crate::clean::derive::derive(&mut table, &ground);
        MeterLog {
            meter,
            cadence_s: table.interval_s(),
            coverage: gaps::coverage(table.starts(), i64::from(table.interval_s())),
            register_energy_kwh: table
                .values(Quantity::EnergyImport(None))
                .and_then(|counts| counted(&counts)),
            register_step_kwh: None,
            register_check: None,
            quality: Vec::new(),
            columns: Vec::new(),
            files: Vec::new(),
            rows: 0,
            plain_rows: 0,
            known: None,
            phase_voltage_v: ground.phase_voltage_v,
            phasors: OnceLock::new(),
            table,
        }
    }
}

/// The logs of a site.
#[derive(Clone, Debug, Default)]
pub struct Logs {
    /// One entry per meter of the site, in its order.
    pub meters: Vec<MeterLog>,
    /// Columns of each file that no meter uses.
    pub unused_columns: Vec<(String, Vec<String>)>,
    /// Rounds of readings with a clamp meter, in order of time.
    pub rounds: Vec<Round>,
    /// The user's carbon factors over time, where site.toml names a file of them.
    pub carbon: Option<CarbonFactors>,
}

impl Logs {
    /// The log of a meter, if there is one.
    pub fn of(&self, meter: usize) -> Option<&MeterLog> {
        self.meters.iter().find(|log| log.meter == meter)
    }
}

/// Reads the logs of all meters of a site and its rounds of readings. Faults become messages.
pub fn read_logs(site: &Site, period: Period, messages: &mut Messages) -> Logs {
    read_logs_watched(site, period, &Unwatched, messages)
}

/// As [`read_logs`], and tells how far the reading has come.
pub fn read_logs_watched(
    site: &Site,
    period: Period,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Logs {
    let files = files_of_meters(site, messages);
    progress.expect(
        files
            .iter()
            .map(|(path, groups)| size_of_file(path) * groups.len() as u64)
            .sum(),
    );
    let mut grids = vec![None; site.meters.len()];
    let mut found = Messages::new();
    let (mut gathered, mut unused_columns) = read_files(site, &files, &grids, progress, &mut found);
    // What the beginning of a log showed may not hold for all of it.
    for ((gathered, grid), meter) in gathered.iter().zip(&mut grids).zip(&site.meters) {
        *grid = gathered.other_grid(meter);
    }
    if grids.iter().any(Option::is_some) && !found.has_errors() {
        found = Messages::new();
        (gathered, unused_columns) = read_files(site, &files, &grids, &Unwatched, &mut found);
    }
    messages.append(found);
    let window = period.seconds(site.timezone);
    let rounds = read_rounds(site, window, messages);
    let carbon = read_factors(site, messages);
    if messages.has_errors() {
        return Logs::default();
    }
    let mut meters: Vec<MeterLog> = Vec::new();
    for (index, gathered) in gathered.into_iter().enumerate() {
        let Some(mut log) = gathered.finish(index, site, window, messages) else {
            continue;
        };
        // A year of minutes from many meters would hold the same times as often.
        let _ = meters
            .iter()
            .any(|other| log.table.share_starts(&other.table));
        meters.push(log);
    }
    Logs {
        meters,
        unused_columns,
        rounds,
        carbon,
    }
}

/// Reads all files; `grids` are those that a first reading showed to be right.
fn read_files(
    site: &Site,
    files: &Files,
    grids: &[Option<Known>],
    progress: &dyn Progress,
    messages: &mut Messages,
) -> (Vec<Gathered>, Vec<(String, Vec<String>)>) {
    let mut gathered: Vec<Gathered> = site.meters.iter().map(|_| Gathered::default()).collect();
    let mut unused_columns = Vec::new();
    for (path, groups) in files {
        let name = shown(&site.folder, path);
        for group in groups {
            let meters: Vec<&Meter> = group.iter().map(|&index| &site.meters[index]).collect();
            let known: Vec<Option<Known>> = group
                .iter()
                .map(|&index| {
                    gathered[index]
                        .known
                        .clone()
                        .or_else(|| grids[index].clone())
                })
                .collect();
            let read = if parquet_log::is_parquet(path) {
                parquet_log::read
            } else {
                text_log::read
            };
            let reading = read(
                path,
                &name,
                &meters,
                &known,
                site.timezone,
                progress,
                messages,
            );
            let Some(reading) = reading else { continue };
            if !reading.unused.is_empty() {
                unused_columns.push((name.clone(), reading.unused));
            }
            let parts = reading.parts.into_iter().zip(reading.columns);
            for ((&index, grid), (part, columns)) in group.iter().zip(reading.grids).zip(parts) {
                let known = Known {
                    grid,
                    format: reading.format.clone(),
                };
                gathered[index].take(&reading.form, known, part, columns, &reading.counts);
                gathered[index].note_times(&reading.times);
                if let Some(message) = gathered[index].differs.take() {
                    let message = message.at(Place::file(&name), "");
                    messages.push(message);
                }
            }
        }
    }
    (gathered, unused_columns)
}
