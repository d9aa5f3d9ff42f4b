//! The result of `check`: what was read, in which format, and the problems found.

mod text;

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::Serialize;

pub use text::check_text;

use crate::quality::quality_table;
use demand::EnergyResult;
use message::Message;
use metering::{Encoding, FileForm, LoggedColumn, Logs, MeterLog, QualityEntry};
use site::{Site, Understood};

/// A measured current above its limit.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct ExceededLimit {
    /// `supply`, the board's or circuit's id, or the machine's name.
    pub at: String,
    /// L1, L2, L3 or N.
    pub conductor: &'static str,
    /// Largest interval mean of a meter, or the clamp-meter reading. (A)
    pub value_a: f64,
    /// The limit. (A)
    pub limit_a: f64,
    /// What has the limit: the supply, a board, a circuit with its device, a cable.
    pub limit_of: String,
    /// Local time of the round of clamp-meter readings; `None`: a meter's maximum.
    #[serde(serialize_with = "units::serial::local_option")]
    pub read_at: Option<DateTime<FixedOffset>>,
}

/// One meter as it was read.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct MeterCheck {
    /// The meter's id.
    pub id: String,
    /// What it measures.
    pub measures: String,
    /// Time between readings as logged. (s)
    pub cadence_s: u32,
    /// Interval of the analysis. (s)
    pub interval_s: u32,
    /// Intervals with readings.
    pub intervals: usize,
    /// Share of the time that has readings. (%)
    pub coverage_pct: f64,
    /// Quantity and column of the log.
    #[serde(serialize_with = "units::serial::pairs")]
    #[schemars(with = "std::collections::BTreeMap<String, String>")]
    pub columns: Vec<(String, String)>,
    /// Each column with its factor and the reason why it is taken for the quantity.
    pub mapping: Vec<Mapped>,
    /// How its files are written.
    pub files: Vec<CheckedFile>,
    /// Lines with readings.
    pub rows: u64,
    /// Rows that the fast reader could take.
    pub plain_rows: u64,
    /// Problems found in the data, and what was done about them.
    pub quality: Vec<QualityEntry>,
}

/// A column of a log and the quantity it was taken for.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Mapped {
    /// The quantity.
    pub quantity: String,
    /// Name of the column.
    pub column: String,
    /// The unit that the log names.
    pub unit: Option<String>,
    /// Factor to the unit of the quantity, the correction of current transformers included.
    pub scale: f64,
    /// `declared`, `name`, `obis` or `words`.
    pub reason: &'static str,
    /// The same in words.
    #[serde(skip)]
    pub why: &'static str,
}

/// The format of a file; `None` where it does not apply to that kind of file.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CheckedFile {
    /// Its name inside the site folder.
    pub file: String,
    /// UTF-8, UTF-16 or Windows-1252.
    pub encoding: Option<&'static str>,
    /// Packed with gzip?
    pub packed: bool,
    /// What separates its cells.
    pub separator: Option<char>,
    /// Its decimal sign.
    pub decimal: Option<char>,
    /// Line of its header, from 1.
    pub header_line: Option<usize>,
    /// Line of its row of units, from 1.
    pub units_line: Option<usize>,
    /// How its times are written.
    pub time_format: Option<String>,
    /// The format that it was recognised as, and why; `None` of a plain table.
    pub format: Option<String>,
    /// Which end of an interval its times mark, and why.
    pub stamp: String,
}

impl CheckedFile {
    fn new(form: &FileForm) -> CheckedFile {
        CheckedFile {
            file: form.name.clone(),
            encoding: form.encoding.map(Encoding::name),
            packed: form.packed,
            separator: form.separator,
            decimal: form.decimal,
            header_line: form.header_line,
            units_line: form.units_line,
            time_format: form.time_format.clone(),
            format: form.format.clone(),
            stamp: form.stamp.clone(),
        }
    }
}

/// How a table in words of the user's own was understood.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct UnderstoodTable {
    /// Its file, with the sheet.
    pub file: String,
    /// Header and the column that it was taken for, with its unit.
    #[serde(serialize_with = "units::serial::pairs")]
    #[schemars(with = "std::collections::BTreeMap<String, String>")]
    pub columns: Vec<(String, String)>,
    /// Words for phases and devices, and what they were taken for.
    #[serde(serialize_with = "units::serial::pairs")]
    #[schemars(with = "std::collections::BTreeMap<String, String>")]
    pub words: Vec<(String, String)>,
    /// Rows that are no machine or reading, with the reason.
    pub left_out: Vec<String>,
}

impl UnderstoodTable {
    fn new(table: &Understood) -> UnderstoodTable {
        UnderstoodTable {
            file: table.file.clone(),
            columns: table.columns.clone(),
            words: table.words.clone(),
            left_out: table.left_out.clone(),
        }
    }
}

/// The whole result of `check`.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CheckResult {
    /// The site's name.
    pub site: String,
    /// Counts of what is declared.
    pub boards: usize,
    /// Counts of what is declared.
    pub circuits: usize,
    /// Counts of what is declared.
    pub machines: usize,
    /// Machines whose phase may change.
    pub movable_machines: usize,
    /// One entry per meter with a log.
    pub meters: Vec<MeterCheck>,
    /// Columns of each file that no meter uses.
    #[serde(serialize_with = "units::serial::pairs")]
    #[schemars(with = "std::collections::BTreeMap<String, Vec<String>>")]
    pub unused_columns: Vec<(String, Vec<String>)>,
    /// How the machine list and the readings were understood, where they are not written in the declared columns.
    pub understood: Vec<UnderstoodTable>,
    /// Rounds of clamp-meter readings.
    pub rounds: usize,
    /// Warnings about the input.
    pub warnings: Vec<Message>,
    /// Measured currents above their limits.
    pub exceeded: Vec<ExceededLimit>,
}

impl CheckResult {
    /// Collects what was read and found.
    #[must_use]
    pub fn new(
        site: &Site,
        logs: &Logs,
        energy: &EnergyResult,
        warnings: Vec<Message>,
        exceeded: Vec<ExceededLimit>,
    ) -> CheckResult {
        let meters = logs
            .meters
            .iter()
            .map(|log| {
                let meter = &site.meters[log.meter];
                let quality = energy
                    .meters
                    .iter()
                    .find(|known| known.id == meter.id)
                    .map_or_else(|| log.quality.clone(), |known| known.quality.clone());
                MeterCheck {
                    id: meter.id.clone(),
                    measures: site.measured_name(meter.measures).to_owned(),
                    cadence_s: log.cadence_s,
                    interval_s: log.table.interval_s(),
                    intervals: log.table.len(),
                    coverage_pct: log.coverage.percent(),
                    columns: columns_of(log),
                    mapping: log.columns.iter().map(mapped).collect(),
                    files: log.files.iter().map(CheckedFile::new).collect(),
                    rows: log.rows,
                    plain_rows: log.plain_rows,
                    quality,
                }
            })
            .collect();
        CheckResult {
            site: site.name.clone(),
            boards: site.boards.len(),
            circuits: site.circuits.len(),
            machines: site.machines.len(),
            movable_machines: site
                .machines
                .iter()
                .filter(|machine| machine.movable)
                .count(),
            meters,
            unused_columns: logs.unused_columns.clone(),
            understood: [&site.understood, &logs.readings_understood]
                .into_iter()
                .filter(|table| !table.is_plain())
                .map(UnderstoodTable::new)
                .collect(),
            rounds: logs.rounds.len(),
            warnings,
            exceeded,
        }
    }
}

/// One row per meter and problem, as CSV; a meter without problems has a row too.
///
/// # Errors
///
/// Those of the CSV writer, which writing to memory does not cause.
pub fn check_csv(site: &str, result: &CheckResult) -> Result<String, csv::Error> {
    let rows = result.meters.iter().flat_map(|meter| {
        let nothing = meter.quality.is_empty().then_some(None);
        let entries = meter.quality.iter().map(Some).chain(nothing);
        entries.map(|entry| (meter.id.as_str(), meter.coverage_pct, entry))
    });
    quality_table(rows, chrono_tz::Tz::UTC).of_site(site).csv()
}

fn mapped(column: &LoggedColumn) -> Mapped {
    Mapped {
        quantity: column.quantity.name(),
        column: column.column.clone(),
        unit: column.unit.clone(),
        scale: column.scale,
        reason: column.reason.name(),
        why: column.reason.text(),
    }
}

/// Quantities and the columns that hold them; parts that add up are joined.
fn columns_of(log: &MeterLog) -> Vec<(String, String)> {
    let mut columns: Vec<(String, String)> = Vec::new();
    for column in &log.columns {
        let name = column.quantity.name();
        match columns.iter_mut().find(|(known, _)| *known == name) {
            Some((_, parts)) => {
                parts.push_str(" + ");
                parts.push_str(&column.column);
            }
            None => columns.push((name, column.column.clone())),
        }
    }
    columns
}
