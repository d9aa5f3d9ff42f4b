//! All logs of a site: which file serves which meters, read once each, finished into tables.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use chrono::{NaiveDate, TimeZone};
use chrono_tz::Tz;

use super::clamp::{Round, read_rounds};
use super::clean::clean;
use super::gaps::{self, Coverage};
use super::headers::Reason;
use super::interval_table::IntervalTable;
use super::line_oddities::LineOddities;
use super::meter_part::MeterPart;
use super::progress::{Progress, Unwatched};
use super::quality::{Action, QualityEntry};
#[cfg(test)]
use super::register::counted;
use super::register_check::RegisterCheck;
use super::rows::Counts;
use super::text_log::{FileForm, Known};
use super::text_source::Encoding;
use super::{parquet_log, text_log};
use crate::message::{Message, Messages, Place};
use crate::site::{Meter, Quantity, Site};

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

#[cfg(test)]
impl MeterLog {
    /// A log of a table made by hand, for tests of the rooms that use logs.
    pub(crate) fn of_table(meter: usize, mut table: IntervalTable) -> MeterLog {
        let ground = super::derive::Ground {
            three_phase: true,
            to_neutral: true,
            phase_voltage_v: 230.0,
            may_return: table.has(Quantity::EnergyExport),
            register_closes: true,
        };
        super::derive::derive(&mut table, &ground);
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
    let mut gathered: Vec<Gathered> = site.meters.iter().map(|_| Gathered::default()).collect();
    let mut unused_columns = Vec::new();
    let files = files_of_meters(site, messages);
    progress.expect(
        files
            .iter()
            .map(|(path, groups)| size_of_file(path) * groups.len() as u64)
            .sum(),
    );
    for (path, groups) in files {
        let name = shown(&site.folder, &path);
        for group in groups {
            let meters: Vec<&Meter> = group.iter().map(|&index| &site.meters[index]).collect();
            let known: Vec<Option<Known>> = group
                .iter()
                .map(|&index| gathered[index].known.clone())
                .collect();
            let read = if parquet_log::is_parquet(&path) {
                parquet_log::read
            } else {
                text_log::read
            };
            let reading = read(
                &path,
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
                let id = &site.meters[index].id;
                gathered[index].take(&reading.form, known, part, columns, &reading.counts);
                if let Some(message) = gathered[index].differs.take() {
                    messages.push(
                        message
                            .at(Place::file(&name), "")
                            .note(format!("meter `{id}`")),
                    );
                }
            }
        }
    }
    let window = period.seconds(site.timezone);
    let rounds = read_rounds(site, window, messages);
    if messages.has_errors() {
        return Logs::default();
    }
    let meters = gathered
        .into_iter()
        .enumerate()
        .filter_map(|(index, gathered)| gathered.finish(index, site, window, messages))
        .collect();
    Logs {
        meters,
        unused_columns,
        rounds,
    }
}

/// Only for showing progress: a file that cannot be seen has none.
fn size_of_file(path: &Path) -> u64 {
    path.metadata().map_or(0, |metadata| metadata.len())
}

/// The name of a file as the user knows it.
fn shown(folder: &Path, path: &Path) -> String {
    path.strip_prefix(folder)
        .unwrap_or(path)
        .to_string_lossy()
        .replace('\\', "/")
}

/// Each file with the groups of meters that read it in the same way.
fn files_of_meters(site: &Site, messages: &mut Messages) -> BTreeMap<PathBuf, Vec<Vec<usize>>> {
    let mut files: BTreeMap<PathBuf, Vec<Vec<usize>>> = BTreeMap::new();
    for (index, meter) in site.meters.iter().enumerate() {
        for path in matching_files(site, meter, messages) {
            let groups = files.entry(path).or_default();
            let same = groups
                .iter_mut()
                .find(|group| reads_alike(&site.meters[group[0]], meter));
            match same {
                Some(group) => group.push(index),
                None => groups.push(vec![index]),
            }
        }
    }
    files
}

fn reads_alike(a: &Meter, b: &Meter) -> bool {
    a.time == b.time
        && a.separator == b.separator
        && a.decimal == b.decimal
        && a.thousands == b.thousands
        && a.missing == b.missing
        && a.header == b.header
}

fn matching_files(site: &Site, meter: &Meter, messages: &mut Messages) -> Vec<PathBuf> {
    let folder = glob::Pattern::escape(&site.folder.to_string_lossy());
    let pattern = format!("{folder}/{}", meter.files);
    let mut paths: Vec<PathBuf> = match glob::glob(&pattern) {
        Ok(paths) => paths
            .filter_map(Result::ok)
            .filter(|path| path.is_file())
            .collect(),
        Err(error) => {
            messages.push(
                Message::error(
                    "glob",
                    format!(
                        "`{}` of meter `{}` is not a pattern: {error}",
                        meter.files, meter.id
                    ),
                )
                .at(
                    meter.files_at.clone(),
                    "expected a path, or a pattern such as `meters/main-*.csv`",
                ),
            );
            return Vec::new();
        }
    };
    paths.sort();
    let home = site.folder.canonicalize().ok();
    paths.retain(|path| {
        let inside = match (&home, path.canonicalize()) {
            (Some(home), Ok(real)) => real.starts_with(home),
            _ => true,
        };
        if !inside {
            messages.push(
                Message::error(
                    "outside-site",
                    format!(
                        "`{}` leads outside the site folder",
                        shown(&site.folder, path)
                    ),
                )
                .at(meter.files_at.clone(), "leads to it")
                .help("copy the log into the site folder"),
            );
        }
        inside
    });
    if paths.is_empty() {
        messages.push(
            Message::error(
                "no-log",
                format!(
                    "meter `{}` has no log: nothing matches `{}`",
                    meter.id, meter.files
                ),
            )
            .at(
                meter.files_at.clone(),
                "expected a path or pattern inside the site folder",
            )
            .help("check the name, and that the log lies there"),
        );
    }
    paths
}

/// What the files of one meter gave so far.
#[derive(Debug, Default)]
struct Gathered {
    /// Names of the files, in the order of reading.
    files: Vec<String>,
    forms: Vec<FileForm>,
    known: Option<Known>,
    /// What stands in the way of putting the last file to the others.
    differs: Option<Message>,
    part: Option<MeterPart>,
    columns: Vec<LoggedColumn>,
    counts: Counts,
}

impl Gathered {
    fn take(
        &mut self,
        form: &FileForm,
        known: Known,
        part: MeterPart,
        columns: Vec<LoggedColumn>,
        counts: &Counts,
    ) {
        let grid = known.grid;
        self.known.get_or_insert(known);
        let number = self.files.len();
        self.files.push(form.name.clone());
        self.forms.push(form.clone());
        let part = part.placed(|spot| spot.in_file(number));
        let counts = counts.clone().placed(|spot| spot.in_file(number));
        self.counts.merge(counts, 0);
        match &mut self.part {
            Some(known) if same_quantities(&self.columns, &columns) => known.merge(grid, part),
            Some(_) => {
                self.differs = Some(other_columns(
                    &self.files[0],
                    &self.columns,
                    &form.name,
                    &columns,
                ));
            }
            None => {
                self.part = Some(part);
                self.columns = columns;
            }
        }
    }

    fn finish(
        self,
        meter: usize,
        site: &Site,
        window: (i64, i64),
        messages: &mut Messages,
    ) -> Option<MeterLog> {
        let (grid, mut part) = (self.known?.grid, self.part?);
        part.settle(grid);
        let whole = part.intervals.span(|bin| grid.start_of_bin(bin));
        let lines = LineOddities::of(&part, &self.counts);
        let (starts, columns) = part.intervals.finish(|bin| grid.start_of_bin(bin), window);
        if starts.is_empty() {
            messages.push(empty_period(site, meter, whole));
            return None;
        }
        let coverage = gaps::coverage(&starts, grid.base_s);
        let clean = clean(
            site,
            &site.meters[meter],
            grid,
            &self.columns,
            starts,
            columns,
        );
        let mut quality: Vec<QualityEntry> = coverage.entries();
        quality.extend(foreign_characters(&self.forms));
        quality.extend(lines.entries(&self.files, &clean.table));
        quality.extend(clean.quality);
        Some(MeterLog {
            meter,
            table: clean.table,
            cadence_s: grid.cadence_s as u32,
            coverage,
            register_energy_kwh: clean.register_energy_kwh,
            register_step_kwh: clean.register_step_kwh,
            register_check: clean.register_check,
            quality,
            columns: self.columns,
            files: self.forms,
            rows: self.counts.rows,
            plain_rows: self.counts.fast,
        })
    }
}

/// Files whose characters had to be guessed.
fn foreign_characters(forms: &[FileForm]) -> Option<QualityEntry> {
    let foreign: Vec<&FileForm> = forms
        .iter()
        .filter(|form| form.encoding == Some(Encoding::Windows1252))
        .collect();
    let (first, last) = (foreign.first()?, foreign.last()?);
    Some(QualityEntry {
        kind: "encoding".to_owned(),
        count: foreign.len() as u64,
        first_file: Some(first.name.clone()),
        last_file: Some(last.name.clone()),
        note: "files that are not UTF-8; read as Windows-1252, of which Latin-1 is a part"
            .to_owned(),
        action: Some(Action::Kept),
        ..QualityEntry::default()
    })
}

fn same_quantities(a: &[LoggedColumn], b: &[LoggedColumn]) -> bool {
    let quantities = |columns: &[LoggedColumn]| -> Vec<Quantity> {
        columns.iter().map(|column| column.quantity).collect()
    };
    quantities(a) == quantities(b)
}

/// Files of one meter with other quantities.
fn other_columns(
    first: &str,
    known: &[LoggedColumn],
    file: &str,
    columns: &[LoggedColumn],
) -> Message {
    let lacks = |of: &[LoggedColumn], from: &[LoggedColumn]| -> Vec<String> {
        let missing = from
            .iter()
            .filter(|column| !of.iter().any(|other| other.quantity == column.quantity));
        missing
            .map(|column| format!("`{}`", column.quantity))
            .collect()
    };
    let (fewer, more) = (lacks(columns, known), lacks(known, columns));
    let mut differences = Vec::new();
    if !fewer.is_empty() {
        differences.push(format!("lacks {}", fewer.join(", ")));
    }
    if !more.is_empty() {
        differences.push(format!("has {} besides", more.join(", ")));
    }
    if differences.is_empty() {
        differences.push("has other parts of its quantities".to_owned());
    }
    Message::error(
        "files-differ",
        format!("`{file}` holds other quantities than `{first}`"),
    )
    .note(format!("it {}", differences.join(" and ")))
    .help("name the columns that all files have under `[meter.columns]`")
}

/// Says when the log has readings, since it has none in the window.
fn empty_period(site: &Site, meter: usize, whole: Option<(i64, i64)>) -> Message {
    let local = |at: i64| {
        let at = site.timezone.timestamp_opt(at, 0).single()?;
        Some(at.format("%Y-%m-%d").to_string())
    };
    let message = Message::error(
        "empty-period",
        format!(
            "meter `{}` has no reading in the period asked for",
            site.meters[meter].id
        ),
    );
    let message = match whole.and_then(|(first, last)| Some((local(first)?, local(last)?))) {
        Some((first, last)) => message.note(format!("its log has readings from {first} to {last}")),
        None => message,
    };
    message.help("check `--from` and `--to`: local dates, the second no longer looked at")
}
